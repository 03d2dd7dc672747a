"""The command on devices: who is let in over the network, and who no more."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated

import typer

from littoral.cli.choosing import AsJson, LogbookFolder
from littoral.cli.saying import aside, print_json, refusals, say


def devices(
    logbook: LogbookFolder,
    revoke: Annotated[
        list[str] | None, typer.Option(help="Let this device in no more: its name or id.", metavar="DEVICE")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """List the devices that may use a logbook's page over the network, or take their keys back."""
    from littoral.acts.keep_devices import device_as_json, list_devices, revoke_device

    with refusals():
        for asked in revoke or ():
            gone = revoke_device(logbook, asked, now=datetime.now(UTC))
            aside(f"{gone.name} is let in no more.")
        found = list_devices(logbook)
    if as_json:
        print_json([device_as_json(one) for one in found])
        return
    for one in found:
        rights = "looks and records" if one.may_write else "guest, only looks"
        state = "" if one.revoked_at is None else f"; taken back {one.revoked_at:%Y-%m-%d %H:%M} UTC"
        say(f"{one.id}  {one.name}: {rights}; paired {one.paired_at:%Y-%m-%d %H:%M} UTC{state}")
    if not found:
        say("No device is paired. `littoral open LOGBOOK --share` shows a code.")
