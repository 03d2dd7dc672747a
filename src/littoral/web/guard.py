"""The guard in front of every page: who may ask, how much, and what a browser may do with the answer.

A page on localhost is reachable from every web page open in the same browser, by plain links and forms and, after DNS
rebinding, by script. So: an exact list of Host headers with the port; on every change a matching Origin, a
Sec-Fetch-Site of our own and a token made anew at each start (the token alone would fall to rebinding, since the
foreign page could then read it); bounded bodies; and a content policy that runs no script but our own files. Whoever
does not sit at this computer is asked for the key of a paired device besides, and each address for the right that
`web.access.rules` says it needs.
"""

from __future__ import annotations

import asyncio
import hmac
import secrets
from collections.abc import Callable, Sequence

from starlette.requests import Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.routing import BaseRoute
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from littoral.acts.who_recorded import is_own
from littoral.errors import LittoralError
from littoral.web.access.doors import Doors
from littoral.web.access.roles import NotAllowedError, NotYoursError, Right
from littoral.web.access.rules import rule_for
from littoral.web.access.visitor import Known, Visitor, forwarded, from_here, recognise, token_of
from littoral.web.bodies import Refusal, allowed_at, bounded_body, refusal_of_head, refuse, replay, tokens_in
from littoral.web.care.problems import problem, problem_of
from littoral.web.limits import BODY_PATIENCE_S, MAX_RANGE_CHARS, MAX_TARGET_BYTES
from littoral.web.refusal_page import TODAY, TRIALS, refusal_page

CONTENT_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "media-src 'self'",
        "connect-src 'self'",
        "manifest-src 'self'",
        "worker-src 'self'",
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
READING = frozenset({"GET", "HEAD"})
Whose = Callable[[str], str | None]
"""Gives who recorded the entry of an id, None where there is no such entry."""


def new_token() -> str:
    """Return the token of this start: 256 random bits, to be carried by every form."""
    return secrets.token_urlsafe(32)


def _nobodys(_identity: str) -> None:
    return None


def _nobody_known(_identity: str, _key: str) -> None:
    return None


class Guard:
    """Pure ASGI: refuses what must not come in, adds the headers that every answer carries."""

    def __init__(
        self,
        app: ASGIApp,
        *,
        doors: Doors,
        token: str,
        routes: Sequence[BaseRoute],
        known: Known = _nobody_known,
        whose: Whose = _nobodys,
        patience_s: float = BODY_PATIENCE_S,
    ) -> None:
        self.app = app
        self.token = token
        self.doors = doors
        self.known = known
        self.routes = routes
        self.whose = whose
        self.patience_s = patience_s

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

        answer, receive = await self._answer(scope, receive)
        if isinstance(answer, Refusal):
            answer = _shown(answer, Request(scope))
        await answer(scope, receive, send_guarded)

    async def _answer(self, scope: Scope, receive: Receive) -> tuple[ASGIApp, Receive]:
        """Return what answers a request, the application or a refusal, and the channel that it reads the body from."""
        request = Request(scope)
        refusal = self._refusal_of_address(request)
        if refusal is not None:
            return refusal, receive
        host = request.headers["host"].lower()
        visitor = recognise(request, host, self.doors, self.known)
        scope["littoral.visitor"] = visitor
        scope["littoral.token"] = expected = token_of(self.token, visitor)
        refusal = await self._refusal_of_visitor(request, host, visitor) or self._refusal_of_head(request, host)
        if refusal is not None:
            return refusal, receive
        if request.method in READING:
            return self.app, receive
        allowed = allowed_at(request.scope["path"])
        body = await bounded_body(receive, allowed.max_bytes, patience_s=allowed.patience_s or self.patience_s)
        if isinstance(body, Response):
            return body, receive
        tokens = await tokens_in(scope, body)
        if isinstance(tokens, Response):
            return tokens, receive
        if len(tokens) != 1 or not hmac.compare_digest(tokens[0].encode("utf-8", "replace"), expected.encode()):
            right = "Go back, copy what you wrote, reload the page and send it again."
            return refuse(403, "This form is from before Littoral was last started.", right), receive
        return self.app, replay(body)

    def _refusal_of_address(self, request: Request) -> Response | None:
        """Return the answer to a request that does not mean this page, or None."""
        if len(request.scope.get("raw_path", b"")) + len(request.scope["query_string"]) > MAX_TARGET_BYTES:
            return refuse(414, f"The address is longer than {MAX_TARGET_BYTES} bytes.", "Follow the links of the page.")
        hosts = request.headers.getlist("host")
        if len(hosts) != 1:
            return refuse(400, "The request has no Host header, or several.", "Open the address littoral printed.")
        host = hosts[0].lower()
        if self.doors.origin_of(host) is None:
            return refuse(
                421,
                f"This page answers only to {', '.join(sorted({**self.doors.local, **self.doors.shared}))}.",
                "Open one of these addresses.",
            )
        if self.doors.behind_proxy or not forwarded(request):
            # A loopback name that comes from elsewhere is a trick of names, or a proxy that does not pass them on
            if host in self.doors.local and not from_here(request, host, self.doors):
                return refuse(421, "This address means the computer itself.", "Open the address littoral printed.")
            return None
        what = "The request came through a proxy, so who sent it cannot be told."
        return refuse(400, what, "Start littoral with --behind-proxy and the address that people open.")

    async def _refusal_of_visitor(self, request: Request, host: str, visitor: Visitor) -> Response | None:
        """Return the answer to whoever may not do what is asked, or None. The only place where that is decided."""
        rule, named = rule_for(self.routes, request.scope)
        if rule == "this computer":
            return None if from_here(request, host, self.doors) else _only_here()
        if rule == "anybody":
            return None
        if not visitor.may_look:
            if rule == "invite":
                return _only_here()
            if request.method in READING and "text/html" in request.headers.get("accept", ""):
                return RedirectResponse("/pair", 303)
            return refuse(401, "This device is not paired.", "Open /pair and type the code that the computer shows.")
        if rule is None:
            if visitor.role == "keeper":  # who may do everything; the tests find the address that lacks its rule
                return None
            return refuse(403, "Nobody has said who may do this.", "It is a mistake of ours: every address has a rule.")
        if not visitor.may(rule):
            return _not_allowed(request, visitor, rule)
        if rule == "mend" and visitor.role == "helper":
            try:
                who = await asyncio.to_thread(self.whose, str(named.get("id", "")))
            except LittoralError as error:  # the logbook cannot be read now
                return problem(problem_of(error)[0], str(error))
            if who is not None and not is_own(visitor.name, who):
                return _refused(request, str(NotYoursError(who)))
        return None

    def _refusal_of_head(self, request: Request, host: str) -> Response | None:
        """Return the answer to a request whose head shows that it must not reach a page, or None."""
        ranges = request.headers.getlist("range")
        if len(ranges) > 1 or any("," in one or len(one) > MAX_RANGE_CHARS for one in ranges):
            return refuse(416, "One stretch of a file is given at a time.", "Ask for one range, or the whole file.")
        if request.method in READING:
            return None
        if request.method != "POST":
            return refuse(405, f"{request.method} is not a thing this page does.", "Use GET or POST.")
        origins = request.headers.getlist("origin")
        if origins != [self.doors.origin_of(host)]:
            return refuse(403, "The request comes from another page.", "Send the form from littoral's own page.")
        if request.headers.get("sec-fetch-site", "same-origin") != "same-origin":
            return refuse(403, "The browser says another site sent this.", "Send the form from littoral's own page.")
        return refusal_of_head(request)


def _shown(refusal: Refusal, request: Request) -> Response:
    """Return a refusal as a page for a person at a door of ours; for a script, or at a wrong address, as it is."""
    visitor = request.scope.get("littoral.visitor")
    if visitor is None or "text/html" not in request.headers.get("accept", "") or _within(request.url.path, "/api"):
        return refusal
    ways = (TODAY, TRIALS) if visitor.may_look else (("/pair", "Pair this device"),)
    return refusal_page(refusal.status_code, refusal.what, right=refusal.right, ways=ways)


def _within(path: str, folder: str) -> bool:
    return path == folder or path.startswith(f"{folder}/")


def _only_here() -> Response:
    return refuse(403, "This page is shown only to keepers, and on the computer where littoral runs.", "Open it there.")


def _not_allowed(request: Request, visitor: Visitor, right: Right) -> Response:
    return _refused(request, str(NotAllowedError(visitor.role, right)))


def _refused(request: Request, said: str) -> Response:
    """Return a refusal in the shape that whoever asks reads: a page, plain words, or the API's problems."""
    if request.scope["path"].startswith("/api/"):
        return problem("not allowed", said)
    if "text/html" in request.headers.get("accept", ""):
        return refusal_page(403, said)
    return PlainTextResponse(f"Refused (403). {said}\n", 403)
