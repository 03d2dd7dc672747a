"""What sharing protects and what it does not, in plain words, and moments as a person says them."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from littoral.web.access.doors import Doors
from littoral.web.words import long_date

ALONE = (
    ("Protected", "Only this computer can reach the page. Other web pages open in the same browser cannot use it."),
    ("Not protected", "Whoever can use this computer under your name can read and change the logbook."),
)
PLAIN_NETWORK = (
    (
        "Protected",
        "A device gets in only with a code that you show, once and for five minutes. Each has a key of its own, which "
        "you can take back. Readers change nothing, helpers record. Web pages open in the same browser cannot use it.",
    ),
    (
        "Not protected",
        "Nothing is encrypted on its way. Someone who listens on the same network, or runs it, can read everything you "
        "see, copy a device’s key and then act as that device, or change what you see. Use it only on a network whose "
        "people you trust, never on a public or open one.",
    ),
    (
        "If in doubt",
        "Take devices back, and share again when you are at home. For a network you do not trust, put a reverse proxy "
        "with TLS in front (--behind-proxy).",
    ),
)
BEHIND_TLS = (
    (
        "Protected",
        "The reverse proxy encrypts the way to it, and its certificate tells devices that it is the right one. Keys "
        "travel only so. A device gets in only with a code that you show, and you can take its key back.",
    ),
    (
        "Not protected",
        "Whoever runs the proxy's computer sees everything. How well TLS is set up there is not for this page to know. "
        "Wrong codes are counted for all visitors together.",
    ),
)


def protected_words(doors: Doors) -> tuple[tuple[str, str], ...]:
    """Return headings and what is, and is not, protected as the page is open now."""
    if doors.behind_proxy:
        return BEHIND_TLS
    return PLAIN_NETWORK if doors.shared else ALONE


def moment_words(at: datetime, zone: str) -> str:
    """Return a moment by the clocks of a zone: "Thursday 19 March 2026, 18:30"."""
    shown = at.astimezone(ZoneInfo(zone))
    return f"{long_date(shown.date())}, {shown:%H:%M}"
