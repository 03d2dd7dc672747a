"""The doors of the page: which Host headers mean it, which Origin goes with each, and who is at this computer."""

from __future__ import annotations

import hmac
import ipaddress
import re
import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from urllib.parse import urlsplit

from littoral.errors import LittoralError

LOOPBACK = ("127.0.0.1", "localhost", "[::1]")
_NAME = re.compile(r"(?=.{1,253}\Z)[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?(\.[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?)*")
FORWARDING = ("forwarded", "via", "x-forwarded-for", "x-forwarded-host", "x-forwarded-proto", "x-real-ip")
"""Headers that a reverse proxy adds. Nothing in them is believed; they only show that a request came through one."""


class WrongNameError(LittoralError):
    """A host name or proxy address that cannot be one."""

    def __init__(self, written: str, right: str) -> None:
        self.written = written
        super().__init__(f'"{written[:100]}" cannot be used. {right}')


@dataclass(frozen=True, slots=True)
class Doors:
    """Host headers, each with the Origin that a form sent there must carry.

    `local` are this computer's own, `shared` those of the network or of the reverse proxy. With `behind_proxy`, every
    request comes from this computer, so that being here is shown by `here_key`, which the printed address carries.
    """

    local: Mapping[str, str]
    shared: Mapping[str, str] = field(default_factory=dict)
    behind_proxy: bool = False
    here_key: str = field(default_factory=lambda: secrets.token_urlsafe(32), repr=False)

    def origin_of(self, host: str) -> str | None:
        """Return the Origin that goes with a Host header, None for a host that is not ours."""
        return self.local.get(host) or self.shared.get(host)

    def is_here_key(self, given: str) -> bool:
        """Tell whether this is the key of this start."""
        return hmac.compare_digest(given.encode(), self.here_key.encode())

    @property
    def pairing_origin(self) -> str | None:
        """The address under which another device finds the page, None where none can."""
        return next(iter(self.shared.values()), None)


def doors_of(port: int, *, addresses: Sequence[str] = (), names: Sequence[str] = (), proxy: str = "") -> Doors:
    """Return the doors of a page on `port`: loopback, and `addresses` and `names` of the network, or a proxy's origin.

    WrongNameError. `proxy` is an https address without a path.
    """
    shared = dict.fromkeys((_host(address) for address in addresses), "")
    shared |= dict.fromkeys((_name(name) for name in names), "")
    with_port = {host: origin for name in shared for host, origin in _named(name, port)}
    if proxy:
        with_port |= _proxied(proxy)
    return Doors(
        {host: origin for name in LOOPBACK for host, origin in _named(name, port)}, with_port, behind_proxy=bool(proxy)
    )


def is_loopback(client: str) -> bool:
    """Tell whether a peer's address is this computer's loopback."""
    try:
        return ipaddress.ip_address(client).is_loopback
    except ValueError:
        return False


def _named(name: str, port: int) -> tuple[tuple[str, str], ...]:
    host = f"{name}:{port}"
    if port != 80:
        return ((host, f"http://{host}"),)
    # A browser leaves the port out where it is the scheme's own.
    return ((name, f"http://{name}"), (host, f"http://{name}"))


def _host(address: str) -> str:
    found = ipaddress.ip_address(address)
    return f"[{found.compressed}]" if found.version == 6 else str(found)


def _name(written: str) -> str:
    name = written.strip().lower()
    if _NAME.fullmatch(name) is None or name in LOOPBACK:
        raise WrongNameError(written, "Write a computer's name alone, such as tank-room.local.")
    return name


def _proxied(proxy: str) -> dict[str, str]:
    right = "Write the address that people open, such as https://tanks.example.org."
    try:
        parts = urlsplit(proxy.strip().rstrip("/"))
        port, name = parts.port, parts.hostname or ""
    except ValueError:
        raise WrongNameError(proxy, right) from None
    if parts.scheme != "https" or _NAME.fullmatch(name) is None or name in LOOPBACK or parts.path or parts.query:
        raise WrongNameError(proxy, right)
    if parts.username is not None or parts.fragment:
        raise WrongNameError(proxy, right)
    if port in (None, 443):
        return {name: f"https://{name}", f"{name}:443": f"https://{name}"}
    return {f"{name}:{port}": f"https://{name}:{port}"}
