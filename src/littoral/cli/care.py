"""Commands at the bench: today's list, undoing, correcting, the calendar, the audit."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from littoral.cli.choosing import AsJson, LogbookFolder, OwnOrFolder, TrialKey
from littoral.cli.recording import say_recorded
from littoral.cli.saying import aside, print_json, refusals, say

Who = Annotated[str, typer.Option(help="Who does it.")]
EntryId = Annotated[str, typer.Argument(help="The entry's id, as shown when it was recorded.", metavar="ID")]


def today(
    logbook: OwnOrFolder = None,
    trial: TrialKey = None,
    day: Annotated[str | None, typer.Option(help="Another date, YYYY-MM-DD.")] = None,
    as_json: AsJson = False,
) -> None:
    """List what is due today in each tank, what is done, and what earlier days left open."""
    from littoral.acts.own_logbook import named_or_own
    from littoral.acts.see_today import see_today
    from littoral.cli.care_tables import today_text

    with refusals():
        found = see_today(named_or_own(logbook), trial=trial, day=None if day is None else _date("--day", day))
    if as_json:
        print_json(found.as_json())
        return
    for remark in found.remarks:
        aside(remark)
    say(today_text(found))


def undo(
    logbook: LogbookFolder,
    entry: EntryId,
    reason: Annotated[str, typer.Option(help="Why.")] = "",
    who: Who = "",
    as_json: AsJson = False,
) -> None:
    """Undo an entry: what it had corrected holds again, otherwise it is withdrawn. Both stay in the logbook."""
    from littoral.acts.change_entry import undo_entry

    say_recorded(lambda: undo_entry(logbook, entry, reason=reason, who=who), as_json=as_json)


def correct(
    logbook: LogbookFolder,
    entry: EntryId,
    what: Annotated[str | None, typer.Option(help="Another bottle, stand or thing read.")] = None,
    amount: Annotated[str | None, typer.Option(help="Another amount, with its unit.")] = None,
    note: Annotated[str | None, typer.Option(help="Another note.")] = None,
    when: Annotated[str | None, typer.Option(help="Another time: 18:30, or 2026-03-08 18:30.")] = None,
    tank: Annotated[str | None, typer.Option(help="Another tank.")] = None,
    who: Who = "",
    as_json: AsJson = False,
) -> None:
    """Correct some of an entry; the rest stays. The old one stays in the logbook too."""
    from littoral.acts.change_entry import correct_entry

    say_recorded(
        lambda: correct_entry(logbook, entry, what=what, amount=amount, note=note, when=when, tank=tank, who=who),
        as_json=as_json,
    )


def calendar(
    logbook: LogbookFolder,
    tank: Annotated[list[str] | None, typer.Option(help="Short name of a tank; all unless given.")] = None,
    trial: TrialKey = None,
    out: Annotated[Path | None, typer.Option(help="Write to this file instead of printing.", metavar="FILE")] = None,
) -> None:
    """Print the plan of care as an iCalendar file (RFC 5545), with reminders."""
    from littoral.acts.give_calendar import give_calendar

    with refusals():
        data = give_calendar(logbook, trial=trial, tanks=tuple(tank or ()), out=out)
    if out is None:
        sys.stdout.buffer.write(data)
    else:
        say(f"wrote {out}")


def bench_card(
    logbook: LogbookFolder,
    out: Annotated[Path, typer.Option(help="The PDF to write.", metavar="FILE")] = Path("bench-card.pdf"),
    tank: Annotated[list[str] | None, typer.Option(help="Short name of a tank; all unless given.")] = None,
    first: Annotated[str | None, typer.Option(help="First day, YYYY-MM-DD; today unless given.")] = None,
    address: Annotated[
        str, typer.Option(help="Where the page is reached, such as http://192.168.1.20:8765; codes lead there.")
    ] = "",
    paper: Annotated[str, typer.Option(help="a4 or letter.")] = "a4",
    trial: TrialKey = None,
) -> None:
    """Write a card to print for the bench: a fortnight's plan of each tank with boxes to tick, and codes to scan."""
    from littoral.acts.give_bench_card import give_bench_card

    with refusals():
        give_bench_card(
            logbook,
            trial=trial,
            tanks=tuple(tank or ()),
            first=None if first is None else _date("--first", first),
            address=address,
            paper=paper,
            out=out,
        )
    say(f"wrote {out}")
    if not address:
        aside("It has no codes to scan: --address says where the page is reached.")


def audit(logbook: LogbookFolder, trial: TrialKey = None, as_json: AsJson = False) -> None:
    """Check whether care was the same in both arms: volume, light, temperature, CO2, water changes, trims."""
    from littoral.acts.audit_care import audit_care
    from littoral.cli.care_tables import audit_text

    with refusals():
        found = audit_care(logbook, trial)
    if as_json:
        print_json(found.as_json())
    else:
        say(audit_text(found))


def _date(option: str, written: str) -> date:
    from littoral.errors import Fault, FaultsError
    from littoral.trial.written.moments import read_date
    from littoral.trial.written.report import WrongValueError

    try:
        return read_date(written)
    except WrongValueError as error:
        raise FaultsError([Fault(error.what, error.right, option)]) from None
