"""Opening the page to the local network or a reverse proxy: on which addresses, under which names, and what to say."""

from __future__ import annotations

import ipaddress
import socket
from collections.abc import Sequence

from littoral.errors import LittoralError
from littoral.web.access.codes import Codes
from littoral.web.access.doors import Doors, doors_of
from littoral.web.access.pages import pairing_address
from littoral.web.access.qr_code import qr_lines
from littoral.web.access.share import Share
from littoral.web.access.words import protected_words

NOWHERE = "192.0.2.1"
"""An address that stands for none (RFC 5737, TEST-NET-1): choosing a way to it sends nothing."""


class NotLocalError(LittoralError):
    """The page is not opened to this address: it is no address of a local network, or there is none."""

    def __init__(self, address: str) -> None:
        self.address = address
        what = f"{address} is no address of a local network" if address else "this computer is in no local network"
        super().__init__(
            f"{what}, so the page is not opened to it. Name one of this computer's private addresses "
            "(--share-on 192.168.1.20), or use --behind-proxy for the internet."
        )


def shared_addresses(share: Share | None) -> tuple[str, ...]:
    """Return the addresses to listen on besides loopback: none without sharing or behind a proxy. NotLocalError."""
    if share is None or share.proxy:
        return ()
    address = share.address.strip() or _own_address()
    try:
        found = ipaddress.ip_address(address)
    except ValueError:
        raise NotLocalError(address) from None
    if not found.is_private or found.is_loopback or found.is_unspecified or found.is_multicast or found.is_link_local:
        raise NotLocalError(address)
    return (str(found),)


def _own_address() -> str:
    """Return the address that this computer would use towards others, "" where it is in no network."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        try:
            asking.connect((NOWHERE, 9))  # of a datagram socket: this picks the way and sends nothing
            return str(asking.getsockname()[0])
        except OSError:
            return ""


def opened_doors(port: int, share: Share | None, addresses: Sequence[str]) -> Doors:
    """Return the doors of a page that listens on `addresses` besides loopback. WrongNameError."""
    if share is None:
        return doors_of(port)
    return doors_of(port, addresses=addresses, names=share.names, proxy=share.proxy)


def sharing_words(doors: Doors, codes: Codes, *, here: str) -> str:
    """Return what the terminal shows: the address, a first code, and what this protects and what not."""
    code = codes.make(role="keeper")
    address = pairing_address(doors, code)
    way = "through the reverse proxy" if doors.behind_proxy else "in the local network"
    lines = [
        f"Littoral is at {here} on this computer, and {way} at {doors.pairing_origin} (Ctrl-C ends it)",
        "",
        qr_lines(address).rstrip("\n"),
        f"To pair a phone, point its camera at this, or open {doors.pairing_origin}/pair there",
        f"and type {code.shown} (once, within five minutes). It lets a keeper in.",
        "Helpers, readers and all devices: /devices here.",
        "",
        *(f"{heading}: {words}" for heading, words in protected_words(doors)),
    ]
    return "\n".join(line for line in lines)
