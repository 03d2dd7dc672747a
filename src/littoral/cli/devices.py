"""The command on devices: who is let in over the network, as what, and who no more."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated, Literal

import typer

from littoral.cli.choosing import AsJson, LogbookFolder
from littoral.cli.saying import aside, print_json, refusals, say


def devices(
    logbook: LogbookFolder,
    invite: Annotated[
        Literal["keeper", "helper", "reader"] | None,
        typer.Option(help="Show a code for the page: a keeper does everything, a helper records, a reader looks."),
    ] = None,
    revoke: Annotated[
        list[str] | None, typer.Option(help="Let this device in no more: its name or id.", metavar="DEVICE")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """List the devices that may use a logbook's page over the network, invite another, or take keys back."""
    from littoral.acts.keep_devices import device_as_json, list_devices, revoke_device
    from littoral.web.access.roles import ROLE_WORDS

    with refusals():
        for asked in revoke or ():
            gone = revoke_device(logbook, asked, now=datetime.now(UTC))
            aside(f"{gone.name} is let in no more.")
        if invite is not None:
            _invite(logbook, invite)
            return
        found = list_devices(logbook)
    if as_json:
        print_json([device_as_json(one) for one in found])
        return
    for one in found:
        state = "" if one.revoked_at is None else f"; taken back {one.revoked_at:%Y-%m-%d %H:%M} UTC"
        paired = f"paired {one.paired_at:%Y-%m-%d %H:%M} UTC"
        say(f"{one.id}  {one.name}: {one.role}, {ROLE_WORDS[one.role]}; {paired}{state}")
    if not found:
        say("No device is paired. `littoral open LOGBOOK --share` shows a code.")


def _invite(logbook: LogbookFolder, role: Literal["keeper", "helper", "reader"]) -> None:
    from littoral.acts.keep_devices import invite as open_code
    from littoral.web.access.codes import new_code
    from littoral.web.access.limits import CODE_LASTS_S

    code = new_code()
    open_code(logbook, code, role=role, now=datetime.now(UTC), lasts_s=CODE_LASTS_S)
    half = len(code) // 2
    say(f"{code[:half]} {code[half:]}")
    aside(f"It lets one {role} in, once, within {CODE_LASTS_S / 60:.0f} minutes: type it at /pair of the shared page.")
