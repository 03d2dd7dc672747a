"""The service worker's script, put together from our modules, and what it keeps for offline, with its version.

A worker of plain script runs in every browser; the modules that it shares with the pages lose their `import` and
`export` words here, and nothing else.
"""

from __future__ import annotations

import hashlib
import json
import re
from functools import cache

from littoral.web.assets import own_assets

PARTS = ("kept.js", "moments.js", "deliver.js", "worker.js")
SHELL = (
    "/offline",
    "/app.webmanifest",
    "/icon-192.png",
    "/static/mark.svg",
    "/static/page.css",
    "/static/parts.css",
    "/static/answers.css",
    "/static/phone.css",
    "/static/phone.js",
    "/static/kept.js",
    "/static/kept_list.js",
    "/static/moments.js",
    "/static/deliver.js",
    "/static/post.js",
    "/static/camera.js",
    "/static/care.css",
    "/static/today.js",
    "/static/entry.js",
)
"""What the pages at the tank need: Today, the forms, the camera."""
WORKER_POLICY = "default-src 'none'; connect-src 'self'"
"""The worker itself loads no script; it asks this page's own addresses and nothing else."""
_IMPORT = re.compile(r"^import .*;\n", re.MULTILINE)
_EXPORT = re.compile(r"^export ", re.MULTILINE)


def shell() -> tuple[str, ...]:
    """Return the addresses that are kept for offline, as far as they are there."""
    there = own_assets()
    return tuple(one for one in SHELL if not one.startswith("/static/") or one.removeprefix("/static/") in there)


@cache
def worker_script() -> bytes:
    """Return the service worker as one plain script; its bytes change whenever one of our own files does."""
    assets = own_assets()
    parts = [_EXPORT.sub("", _IMPORT.sub("", assets[name].content.decode())) for name in PARTS]
    tags = "".join(f"{name}{asset.etag}" for name, asset in sorted(assets.items()))
    version = hashlib.sha256(tags.encode()).hexdigest()[:16]
    head = f'const VERSION = "{version}";\nconst SHELL = {json.dumps(shell())};\n'
    return (head + "".join(parts)).encode()
