"""How the page is shared, as asked for: nothing heavy is imported here, since the command line starts with it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Share:
    """Open the page to paired devices: in the local network, on `address` ("": this computer's own there), under
    further `names`; or behind a reverse proxy on this computer, whose https address is `proxy`.
    """

    address: str = ""
    names: tuple[str, ...] = ()
    proxy: str = ""
