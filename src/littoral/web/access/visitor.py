"""Who asks: somebody at this computer, a paired device, or nobody known."""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, cast

from starlette.requests import Request

from littoral.logbook.devices import Device, Role
from littoral.web.access.doors import FORWARDING, Doors, is_loopback
from littoral.web.access.roles import RIGHTS, NotAllowedError, Right

COOKIE = "littoral-device"
SECURE_COOKIE = "__Host-littoral-device"
"""Behind TLS: with this prefix a browser takes it only Secure, from this very host (RFC 6265bis, 4.1.3.2)."""
HERE_COOKIE = "littoral-here"

Known = Callable[[str, str], Device | None]
"""Gives the device of an id and a key, None where it is not let in."""


@dataclass(frozen=True, slots=True)
class Visitor:
    """Who asks. `name` is the device's and stands in `who` of what it records; "" at this computer itself."""

    kind: Literal["here", "device", "nobody"]
    name: str = ""
    device: str = ""
    role: Role | None = None

    def may(self, right: Right) -> bool:
        """Tell whether the visitor's role holds a right."""
        return self.role is not None and right in RIGHTS[self.role]

    @property
    def may_write(self) -> bool:
        """Whether entries are taken from here."""
        return self.may("record")

    @property
    def may_look(self) -> bool:
        """Whether the logbook's pages are shown here."""
        return self.kind != "nobody"


HERE = Visitor("here", role="keeper")
NOBODY = Visitor("nobody")


def recognise(request: Request, host: str, doors: Doors, known: Known) -> Visitor:
    """Return who sends a request whose Host header `host` is one of the doors'; reads one small file for a device."""
    if is_here(request, host, doors):
        return HERE
    value = _one_cookie(request, device_cookie(doors))
    identity, _, key = value.partition(".")
    found = known(identity, key) if key else None
    if found is None:
        return NOBODY
    return Visitor("device", found.name, found.id, found.role)


def is_here(request: Request, host: str, doors: Doors) -> bool:
    """Tell whether a request comes from this computer's own browser."""
    if not from_here(request, host, doors):
        return False
    return not doors.behind_proxy or doors.is_here_key(_one_cookie(request, HERE_COOKIE))


def from_here(request: Request, host: str, doors: Doors) -> bool:
    """Tell whether a request came by loopback to a loopback name, and not through anything that forwards."""
    client = request.client
    if client is None or not is_loopback(client.host) or host not in doors.local:
        return False
    return not forwarded(request)


def forwarded(request: Request) -> bool:
    """Tell whether a request shows that something passed it on."""
    return any(name in request.headers for name in FORWARDING)


def device_cookie(doors: Doors) -> str:
    """Return the name of the cookie that holds a device's key."""
    return SECURE_COOKIE if doors.behind_proxy else COOKIE


def token_of(start_token: str, visitor: Visitor) -> str:
    """Return the token that a visitor's forms carry; another one's is of no use to it."""
    if visitor.kind == "here":
        return start_token
    said = f"{visitor.kind}/{visitor.role}/{visitor.device}".encode()
    return hmac.new(start_token.encode(), said, hashlib.sha256).hexdigest()


def visitor_of(request: Request) -> Visitor:
    """Return who sent a request that the guard let through."""
    return cast(Visitor, request.scope["littoral.visitor"])


def need(request: Request, right: Right) -> None:
    """Raise NotAllowedError where the visitor lacks a right that only what was sent shows to be needed."""
    visitor = visitor_of(request)
    if not visitor.may(right):
        raise NotAllowedError(visitor.role, right)


def form_token(request: Request) -> str:
    """Return the token that the forms of the answer to a request must carry."""
    return cast(str, request.scope["littoral.token"])


def _one_cookie(request: Request, name: str) -> str:
    """Return a cookie's value, "" where there is none or more than one: two may be somebody's trick."""
    pairs = (part.strip().partition("=") for line in request.headers.getlist("cookie") for part in line.split(";"))
    values = [value for key, _, value in pairs if key == name]
    return values[0] if len(values) == 1 else ""
