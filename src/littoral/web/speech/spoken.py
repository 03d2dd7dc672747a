"""Pure ASGI around all pages: finds how the visitor wants to be spoken to, before anything is said.

The first of these that says something holds: the visitor's own cookie; what was chosen for the logbook; the browser's
Accept-Language, which gives a language and no units. What programs read is always English and metric.
"""

from __future__ import annotations

import json
from pathlib import Path
from urllib.parse import quote, unquote

from starlette.requests import Request
from starlette.types import ASGIApp, Receive, Scope, Send

from littoral.logbook.spoken import has_manner, read_manner
from littoral.speech.manner import PLAIN, Manner, changed, different, language_of_header, speaking

COOKIE = "littoral-speech"
COOKIE_LASTS_S = 400 * 24 * 3600
LONGEST_COOKIE = 600
FOR_PROGRAMS = (
    "findings.json",
    "history.json",
    "design.json",
    "again.json",
    ".schema.json",
    "series.json",
    "colour.json",
    ".toml",
    ".csv",
)


def for_programs(path: str) -> bool:
    """Tell whether a program reads what is at a path: it is then English and metric, whoever asks."""
    return path.startswith(("/api/", "/static/")) or "/published/" in path or path.endswith(FOR_PROGRAMS)


class Spoken:
    """Puts the visitor's manner in force for each request."""

    def __init__(self, app: ASGIApp, *, folder: Path) -> None:
        self.app = app
        self.folder = folder

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one connection in its visitor's manner."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        chosen = PLAIN if for_programs(scope["path"]) else wanted(Request(scope), self.folder)
        with speaking(chosen):
            await self.app(scope, receive, send)


def wanted(request: Request, folder: Path) -> Manner:
    """Return how the visitor wants to be spoken to."""
    own = cookie_of(request)
    if own is not None:
        return own
    if has_manner(folder):
        return read_manner(folder)
    language = language_of_header(request.headers.get("accept-language", ""))
    return changed(PLAIN, {"language": language or "en"})


def cookie_of(request: Request) -> Manner | None:
    """Return the manner in the visitor's cookie; None without one, or with one that cannot be read."""
    text = request.cookies.get(COOKIE, "")
    if not text or len(text) > LONGEST_COOKIE:
        return None
    try:
        said = json.loads(unquote(text))
    except ValueError:
        return None
    if not isinstance(said, dict):
        return None
    return changed(PLAIN, {str(name): str(value) for name, value in said.items()})


def cookie_text(chosen: Manner) -> str:
    """Return what a cookie holds of a manner."""
    return quote(json.dumps({"language": chosen.language, **different(chosen)}), safe="")
