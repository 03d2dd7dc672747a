"""Reading the body of a form: bounded in bytes, time and fields, and only in the two ways that browsers send one."""

from __future__ import annotations

import asyncio
import re
from dataclasses import dataclass
from urllib.parse import parse_qs

from python_multipart.exceptions import FormParserError
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.types import Message, Receive, Scope

from littoral.web.limits import (
    MAX_BODY_BYTES,
    MAX_FIELDS,
    MAX_INTAKE_BYTES,
    MAX_LENGTH_DIGITS,
    MAX_PHOTO_BYTES,
    MAX_POOL_BYTES,
    MAX_POOL_FIELDS,
    MAX_POOL_FILES,
    MAX_UPLOAD_BYTES,
    MAX_UPLOAD_FIELDS,
    PHOTO_PATIENCE_S,
)
from littoral.web.uploads import read_upload

UPLOADS = (re.compile(r"/trial/[^/]+/import"), re.compile(r"/growth-test"))
"""The paths to which a form may bring a file; everywhere else there are plain forms only."""
PLAIN = "application/x-www-form-urlencoded"
MULTIPART = "multipart/form-data"
JSON = "application/json"
PHOTOS = "/api/photos"
MANY_PHOTOS = re.compile(r"/api/trials/[^/]+/photos")
"""The path that takes the files of a folder one by one; what is no photo gets its row too, so any bytes may come."""
ANY_BYTES = "application/octet-stream"
POOL = "/pool"
IMAGES = ("image/jpeg", "image/png", "image/tiff", "image/webp", "image/heic", "image/heif")
"""What the image reader reads; the bytes are looked at besides."""
TOKEN_HEADER = "x-littoral-token"
"""Where a request of the API carries its token; a page elsewhere cannot set it without being asked for leave first."""


class Refusal(PlainTextResponse):
    """A refusal in plain words; `what` and `right` are kept for whoever shows it as a page."""

    def __init__(self, status: int, what: str, right: str) -> None:
        self.what, self.right = what, right
        super().__init__(f"Refused ({status}). {what}\n{right}\n", status_code=status)


def refuse(status: int, what: str, right: str) -> Response:
    """Return a refusal in plain words."""
    return Refusal(status, what, right)


@dataclass(frozen=True, slots=True)
class Allowed:
    """What a path takes: how many bytes, how many fields, and whether files.

    `kinds` are the only content types of a path that takes no form; `patience_s` is how long its body may take.
    """

    max_bytes: int
    max_fields: int
    files: bool
    max_files: int = 1
    kinds: tuple[str, ...] = ()
    patience_s: float | None = None


def allowed_at(path: str) -> Allowed:
    """Return what a form sent to this path may bring."""
    if any(pattern.fullmatch(path) for pattern in UPLOADS):
        return Allowed(MAX_UPLOAD_BYTES, MAX_UPLOAD_FIELDS, files=True)
    if path == POOL:
        return Allowed(MAX_POOL_BYTES, MAX_POOL_FIELDS, files=True, max_files=MAX_POOL_FILES)
    if path == PHOTOS:
        return Allowed(MAX_PHOTO_BYTES, 0, files=False, kinds=IMAGES, patience_s=PHOTO_PATIENCE_S)
    if MANY_PHOTOS.fullmatch(path):
        return Allowed(MAX_INTAKE_BYTES, 0, files=False, kinds=(*IMAGES, ANY_BYTES), patience_s=PHOTO_PATIENCE_S)
    return Allowed(MAX_BODY_BYTES, MAX_FIELDS, files=False, kinds=(JSON,) if path.startswith("/api/") else ())


def refusal_of_head(request: Request) -> Response | None:
    """Return the answer to a form whose head shows already that it is not taken, or None."""
    allowed = allowed_at(request.scope["path"])
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if allowed.kinds:
        if kind not in allowed.kinds:
            named = "JSON is" if allowed.kinds == (JSON,) else "photos are"
            return refuse(415, f"Only {named} taken here.", f"Send it as {' or '.join(allowed.kinds)}.")
    elif kind != PLAIN and not (allowed.files and kind == MULTIPART):
        return refuse(415, "Only plain forms are taken.", f"Send it as {PLAIN}.")
    if len(request.headers.getlist("content-length")) > 1 or len(request.headers.getlist("content-type")) > 1:
        return refuse(400, "The request says twice how long it is or what it is.", "Send each header once.")
    length = request.headers.get("content-length", "0")
    if not length.isdecimal():
        return refuse(400, "The Content-Length header is not a number.", "Send the true length of the body.")
    # where files may come, a form without any is as small as everywhere else
    most = MAX_BODY_BYTES if kind == PLAIN and allowed.max_files > 1 else allowed.max_bytes
    # Python reads no number of thousands of digits, and none so long is a length that is taken
    if len(length) > MAX_LENGTH_DIGITS or int(length) > most:
        return too_large(most)
    return None


def too_large(max_bytes: int) -> Response:
    """Return the refusal of a body over its limit."""
    return refuse(
        413, f"The body is larger than {max_bytes} bytes.", "Send less at once: a smaller file, or less text."
    )


async def bounded_body(receive: Receive, max_bytes: int, *, patience_s: float) -> bytes | Response:
    """Read a whole body; a refusal as soon as it passes the limit, whatever its head promised, or takes too long."""
    parts: list[bytes] = []
    size = 0
    try:
        async with asyncio.timeout(patience_s):
            more = True
            while more:
                message = await receive()
                if message["type"] == "http.disconnect":
                    return refuse(400, "The request broke off.", "Send it again.")
                part = message.get("body", b"")
                size += len(part)
                if size > max_bytes:
                    return too_large(max_bytes)
                parts.append(part)
                more = message.get("more_body", False)
    except TimeoutError:
        return refuse(408, f"The body did not arrive within {patience_s:.0f} seconds.", "Send it again.")
    return b"".join(parts)


async def tokens_in(scope: Scope, body: bytes) -> list[str] | Response:
    """Return every `token` of a form's body (or of the API's header), or a refusal of a body that is no form."""
    request = Request(scope)
    if request.scope["path"].startswith("/api/"):
        return request.headers.getlist(TOKEN_HEADER)
    allowed = allowed_at(request.scope["path"])
    if request.headers.get("content-type", "").partition(";")[0].strip().lower() == MULTIPART:
        return await _tokens_of_parts(scope, body, allowed)
    try:
        found = parse_qs(body.decode("ascii"), max_num_fields=allowed.max_fields, separator="&")
    except UnicodeDecodeError:
        return refuse(400, "The body is not a form.", "Send the form from littoral's own page.")
    except ValueError:
        what = f"The form has more than {allowed.max_fields} fields."
        return refuse(413, what, "Send the form from littoral's own page.")
    return found.get("token", [])


async def _tokens_of_parts(scope: Scope, body: bytes, allowed: Allowed) -> list[str] | Response:
    try:
        if allowed.max_files > 1:  # kept in memory, as the page that reads it again does
            pooled = await read_upload(Request(scope).headers, body)
            if pooled is None:
                return refuse(400, "The form cannot be read.", "Send the form from littoral's own page.")
            return [pooled.fields[name] for name in ("token",) if name in pooled.fields]
        sent = Request(scope, replay(body))
        async with sent.form(max_files=allowed.max_files, max_fields=allowed.max_fields) as form:
            return [value for value in form.getlist("token") if not isinstance(value, UploadFile)]
    except (HTTPException, FormParserError, KeyError, ValueError, LookupError) as error:
        detail = error.detail if isinstance(error, HTTPException) else "its parts cannot be told apart"
        return refuse(400, f"The form cannot be read ({detail}).", "Send the form from littoral's own page.")


def replay(body: bytes) -> Receive:
    """Return a receive channel that gives an already read body once."""
    waiting = [body]

    async def receive() -> Message:
        if waiting:
            return {"type": "http.request", "body": waiting.pop(), "more_body": False}
        return {"type": "http.disconnect"}

    return receive
