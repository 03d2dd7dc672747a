"""The time zone that this computer's clock is set to, for a trial that names none."""

from __future__ import annotations

import os
from pathlib import Path
from zoneinfo import available_timezones

LOCALTIME = Path("/etc/localtime")
UNKNOWN = "UTC"


def machine_zone() -> str:
    """Return this computer's IANA zone, "UTC" where it cannot be told (Windows names its zones in another way)."""
    return zone_named(os.environ.get("TZ", ""), os.path.realpath(LOCALTIME))


def zone_named(variable: str, clock_file: str) -> str:
    """Return the zone that the variable TZ names (POSIX allows a colon before it), else the file behind the clock.

    Both lead to a name of the IANA database: "Europe/Berlin", or the end of "/usr/share/zoneinfo/Europe/Berlin".
    """
    known = available_timezones()
    for path in (variable.removeprefix(":"), clock_file):
        name = path.rpartition("zoneinfo/")[2]
        if name in known:
            return name
    return UNKNOWN
