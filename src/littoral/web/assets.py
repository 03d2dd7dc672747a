"""The page's own files and the chart script: a fixed list, read once, never looked up by a name from outside."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import cache
from importlib import resources

from littoral.publish.look import dark_css

TYPES = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
}

EXPOSED = "window.vegaEmbed = vegaEmbed;"
"""All that the page needs of the bundle."""


@dataclass(frozen=True, slots=True)
class Asset:
    """One static file: its bytes, its type, and a tag that changes with its content."""

    content: bytes
    media_type: str
    etag: str


def _asset(content: bytes, media_type: str) -> Asset:
    return Asset(content, media_type, f'"{hashlib.sha256(content).hexdigest()[:20]}"')


DRAWN_CSS = "drawn.css"
"""The name under which the dark colours of charts inside a page are served; no file, but made from the palette."""


@cache
def own_assets() -> dict[str, Asset]:
    """Return every file of the package's `static` folder by name."""
    folder = resources.files("littoral.web") / "static"
    found = ((file.name, file.read_bytes()) for file in folder.iterdir() if file.is_file())
    assets = {
        name: _asset(content, TYPES[name[name.rindex(".") :]])
        for name, content in found
        if name[name.rindex(".") :] in TYPES
    }
    dark = "@media screen and (prefers-color-scheme: dark) {\n" + dark_css(".drawn-here") + "\n}\n"
    return assets | {DRAWN_CSS: _asset(dark.encode(), TYPES[".css"])}


@cache
def chart_script() -> Asset | None:
    """Return Vega, Vega-Lite and Vega-Embed as one script, out of the installed renderer; None where it is missing."""
    try:
        import vl_convert
    except ImportError:
        return None
    return _asset(vl_convert.javascript_bundle(EXPOSED).encode(), TYPES[".js"])
