"""The guard in front of every page: who may ask, how much, and what a browser may do with the answer.

A page on localhost is reachable from every web page open in the same browser, by plain links and forms and, after DNS
rebinding, by script. So: an exact list of Host headers with the port; on every change a matching Origin, a
Sec-Fetch-Site of our own and a token made anew at each start (the token alone would fall to rebinding, since the
foreign page could then read it); bounded bodies; and a content policy that runs no script but our own files.
"""

from __future__ import annotations

import hmac
import secrets
from urllib.parse import parse_qs

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from littoral.web.limits import MAX_BODY_BYTES, MAX_FIELDS, MAX_LENGTH_DIGITS, MAX_TARGET_BYTES
from littoral.web.uploads import UPLOAD_TYPE, body_limit, read_upload

CONTENT_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "media-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
"""No inline script, no inline style, no evaluated text, nothing from elsewhere. Vega needs no more: it runs in its
expression-interpreter mode and sets styles through the object model, which this policy does not touch."""

HEADERS = {
    "content-security-policy": CONTENT_POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
}
PLAIN_FORM = "application/x-www-form-urlencoded"
READING = frozenset({"GET", "HEAD"})


def allowed_hosts(port: int) -> frozenset[str]:
    """Return the Host headers that mean this very page: three loopback names, each with `port`."""
    names = ("127.0.0.1", "localhost", "[::1]")
    hosts = {f"{name}:{port}" for name in names}
    # A browser leaves the port out where it is the scheme's own.
    return frozenset(hosts | set(names)) if port == 80 else frozenset(hosts)


def new_token() -> str:
    """Return the token of this start: 256 random bits, to be carried by every form."""
    return secrets.token_urlsafe(32)


class Guard:
    """Pure ASGI: refuses what must not come in, adds the headers that every answer carries."""

    def __init__(self, app: ASGIApp, *, port: int, token: str) -> None:
        self.app = app
        self.token = token
        self.hosts = allowed_hosts(port)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one connection; anything but HTTP (websockets) is left unanswered, there is none here."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return

        async def send_guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                own = {name for name, _ in message["headers"]}
                added = ((name.encode(), value.encode()) for name, value in HEADERS.items())
                message["headers"] = [*message["headers"], *(pair for pair in added if pair[0] not in own)]
            await send(message)

        request = Request(scope)
        refusal = self._refusal(request)
        if refusal is None and request.method not in READING:
            limit = _limit(request)
            body = await _bounded_body(receive, limit)
            if body is None:
                refusal = _too_large(limit)
            elif not await self._carries_token(request, body):
                refusal = _refuse(
                    403,
                    "This form does not carry the token of the running page.",
                    "Go back, reload the page and send it again; the token changes at every start of littoral.",
                )
            else:
                receive = _replay(body)
        answer: ASGIApp = self.app if refusal is None else refusal
        await answer(scope, receive, send_guarded)

    def _refusal(self, request: Request) -> Response | None:
        """Return the answer to a request that must not reach a page, or None; reads only its head."""
        if len(request.scope.get("raw_path", b"")) + len(request.scope["query_string"]) > MAX_TARGET_BYTES:
            return _refuse(
                414, f"The address is longer than {MAX_TARGET_BYTES} bytes.", "Follow the links of the page."
            )
        hosts = request.headers.getlist("host")
        if len(hosts) != 1:
            return _refuse(400, "The request has no Host header, or several.", "Open the address littoral printed.")
        if hosts[0].lower() not in self.hosts:
            return _refuse(
                421,
                f"This page answers only to {', '.join(sorted(self.hosts))}.",
                "Open one of these addresses on the computer where littoral runs.",
            )
        if request.method in READING:
            return None
        if request.method != "POST":
            return _refuse(405, f"{request.method} is not a thing this page does.", "Use GET or POST.")
        if request.headers.get("origin") != f"http://{hosts[0].lower()}":
            return _refuse(403, "The request comes from another page.", "Send the form from littoral's own page.")
        if request.headers.get("sec-fetch-site", "same-origin") != "same-origin":
            return _refuse(403, "The browser says another site sent this.", "Send the form from littoral's own page.")
        if _content_type(request) != PLAIN_FORM and not _takes_files(request):
            return _refuse(415, "Only plain forms are taken.", "Send it as application/x-www-form-urlencoded.")
        length = request.headers.get("content-length", "0")
        if not length.isdecimal():
            return _refuse(400, "The Content-Length header is not a number.", "Send the true length of the body.")
        # Python reads no number of thousands of digits, and none so long is a length that is taken
        limit = _limit(request)
        return _too_large(limit) if len(length) > MAX_LENGTH_DIGITS or int(length) > limit else None

    async def _carries_token(self, request: Request, body: bytes) -> bool:
        if _takes_files(request):
            sent = await read_upload(request.headers, body)
            return sent is not None and hmac.compare_digest(
                sent.fields.get("token", "").encode(errors="replace"), self.token.encode()
            )
        try:
            given = parse_qs(body.decode("ascii"), max_num_fields=MAX_FIELDS).get("token", [])
        except ValueError:  # not ASCII, or more fields than any form here has
            return False
        return len(given) == 1 and hmac.compare_digest(given[0].encode(), self.token.encode())


def _refuse(status: int, what: str, right: str) -> Response:
    return PlainTextResponse(f"Refused ({status}). {what}\n{right}\n", status_code=status)


def _too_large(limit: int) -> Response:
    right = "Shorten the text in the form." if limit == MAX_BODY_BYTES else "Send fewer or smaller files."
    return _refuse(413, f"The body is larger than {limit} bytes.", right)


def _content_type(request: Request) -> str:
    return request.headers.get("content-type", "").partition(";")[0].strip().lower()


def _takes_files(request: Request) -> bool:
    """Tell whether this is a form with files, at an address that takes one."""
    return _content_type(request) == UPLOAD_TYPE and body_limit(request.url.path) is not None


def _limit(request: Request) -> int:
    return (body_limit(request.url.path) or MAX_BODY_BYTES) if _takes_files(request) else MAX_BODY_BYTES


async def _bounded_body(receive: Receive, limit: int) -> bytes | None:
    """Read the whole body, or return None as soon as it passes the limit, whatever its head promised."""
    parts: list[bytes] = []
    size = 0
    more = True
    while more:
        message = await receive()
        if message["type"] == "http.disconnect":
            break
        part = message.get("body", b"")
        size += len(part)
        if size > limit:
            return None
        parts.append(part)
        more = message.get("more_body", False)
    return b"".join(parts)


def _replay(body: bytes) -> Receive:
    """Return a receive channel that gives an already read body once."""
    waiting = [body]

    async def receive() -> Message:
        if waiting:
            return {"type": "http.request", "body": waiting.pop(), "more_body": False}
        return {"type": "http.disconnect"}

    return receive
