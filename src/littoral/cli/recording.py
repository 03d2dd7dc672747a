"""The commands that record: one for each act, all with the same circumstances."""

from __future__ import annotations

import importlib
import inspect
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from littoral.cli.choosing import AsJson, LogbookFolder, TrialKey
from littoral.cli.saying import aside, print_json, refusals, say

if TYPE_CHECKING:
    from littoral.acts.recorded import Recorded


@dataclass(frozen=True, slots=True)
class Word:
    """One word of a command: how it is called in the help, what it is, and whether it may be left out."""

    name: str
    help: str
    optional: bool = False


@dataclass(frozen=True, slots=True)
class Act:
    """One command: its name, the act as module.function of `littoral.acts`, its words, and what it always says."""

    name: str
    act: str
    help: str
    words: tuple[Word, ...]
    says: tuple[tuple[str, str], ...] = ()


_TANK = Word("tank", "Short name of the tank.")
_ITEM = Word("item", "Name of what was planned, as `littoral today LOGBOOK` shows it.")
ACTS = (
    Act("planned", "record_planned.record_planned", "Record something planned as done just as planned.", (_ITEM,)),
    Act(
        "done",
        "record_planned.record_done",
        "Record something planned as done with another amount; of a test, its reading.",
        (_ITEM, Word("amount", "How much, with its unit.")),
    ),
    Act("doubled", "record_planned.record_doubled", "Record that a planned dose was given twice over.", (_ITEM,)),
    Act(
        "late",
        "record_planned.record_late",
        "Record that a dose of an earlier day was given late.",
        (_ITEM, Word("amount", "How much; as planned unless given.", optional=True)),
    ),
    Act(
        "missed",
        "record_planned.record_missed",
        "Record that something planned was not done and will not be.",
        (_ITEM,),
    ),
    Act(
        "skip",
        "record_planned.skip_overdue",
        "Let go of all that earlier days left open, in one tank or all.",
        (Word("tank", "Short name of the tank; all tanks unless given.", optional=True),),
    ),
    Act(
        "dose",
        "record_entry.record_dose",
        "Record a dose.",
        (
            _TANK,
            Word("bottle", "Short name of the bottle."),
            Word("amount", '"5 mL", "2 strokes", "8 drops", "0.5 g".'),
        ),
    ),
    Act(
        "change",
        "record_entry.record_change",
        "Record a water change.",
        (_TANK, Word("amount", '"40 %" of the net volume, or "20 L".')),
    ),
    Act(
        "top-up",
        "record_entry.record_top_up",
        "Record water added against evaporation.",
        (_TANK, Word("amount", '"1.4 L".')),
    ),
    Act(
        "trim",
        "record_entry.record_trim",
        "Record a trim.",
        (
            _TANK,
            Word("stand", "Short name of the stand; the whole tank unless given.", optional=True),
            Word("amount", '"to 9 cm, 14 g, 6 min", or some of these.', optional=True),
        ),
    ),
    Act(
        "reading",
        "record_entry.record_reading",
        "Record a reading of a nutrient, temperature, pH, conductivity, KH, GH, PAR, CO2 bubbles or hours of light.",
        (_TANK, Word("what", "What was read: nitrate, temperature, ph…"), Word("amount", '"10 mg/L (7.5-15), card".')),
    ),
    Act(
        "score",
        "record_entry.record_score",
        "Record a condition judged by eye.",
        (_TANK, Word("scale", '"algae", "plants", or of one stand "plants red-stem".'), Word("step", "0 to 4.")),
    ),
    *(
        Act(
            group,
            "record_entry.record_living",
            f"Record {group} that came or went.",
            (_TANK, Word("what", "Which."), Word("amount", '"5 added", "2 removed", "1 died".')),
            (("group", group),),
        )
        for group in ("animals", "plants")
    ),
    Act(
        "equipment",
        "record_entry.record_equipment",
        "Record a change of equipment.",
        (_TANK, Word("what", "Filter, lamp, heater…"), Word("change", "What was done or set.")),
    ),
    Act("note", "record_entry.record_note", "Record a note.", (_TANK, Word("text", "The note."))),
    Act(
        "care",
        "record_entry.record_care",
        "Record time of care.",
        (_TANK, Word("amount", '"12 min".'), Word("what", "What was done.", optional=True)),
    ),
)

record = typer.Typer(
    name="record",
    help="Record what was done: planned or not, as planned or otherwise.",
    no_args_is_help=True,
    rich_markup_mode=None,
)

_CIRCUMSTANCES: dict[str, tuple[Any, Any]] = {
    "trial": (TrialKey, None),
    "when": (
        Annotated[str, typer.Option(help="18:30, 2026-03-08, 2026-03-08 18:30 or yesterday; now unless given.")],
        "",
    ),
    "zone": (Annotated[str, typer.Option(help="Time zone of that clock; the trial's unless given.")], ""),
    "who": (Annotated[str, typer.Option(help="Who did it.")], ""),
    "note": (Annotated[str, typer.Option(help="Anything worth keeping.")], ""),
    "id": (
        Annotated[str | None, typer.Option("--id", help="A UUID of your own: the same one twice records once.")],
        None,
    ),
}


def say_recorded(act: Callable[[], Recorded], *, as_json: bool) -> None:
    """Do an act and print what it left in the logbook, each entry with its id."""
    with refusals():
        recorded = act()
    if as_json:
        print_json(recorded.as_json())
        return
    for entry, words in zip(recorded.entries, recorded.words, strict=True):
        say(f"{words}   [{entry.id}]")
    for remark in recorded.remarks:
        aside(remark)
    if not recorded.entries:
        say("nothing is open")
    elif recorded.new == 0:
        aside("was recorded already; nothing was added")


def _command(act: Act) -> Callable[..., None]:
    """Make the function of a command: its signature is what the command line reads."""

    def run(logbook: Path, as_json: bool, **given: Any) -> None:
        from littoral.acts.told import Told

        told = Told(**{name: given.pop(name) for name in _CIRCUMSTANCES})
        module, _, function = act.act.partition(".")
        do = getattr(importlib.import_module(f"littoral.acts.{module}"), function)
        say_recorded(lambda: do(logbook, **dict(act.says), **given, told=told), as_json=as_json)

    parameters = [_parameter("logbook", LogbookFolder, inspect.Parameter.empty)]
    for word in act.words:
        missing: Any = inspect.Parameter.empty
        if word.optional:
            missing = None if act.name == "skip" else ""  # skip means all tanks then, not a tank without a name
        argument = typer.Argument(help=word.help, metavar=word.name.upper())
        kind: Any = Annotated[str | None, argument] if missing is None else Annotated[str, argument]
        parameters.append(_parameter(word.name, kind, missing))
    own = {word.name for word in act.words}
    parameters += [_parameter(name, *one) for name, one in _CIRCUMSTANCES.items() if name not in own]
    parameters.append(_parameter("as_json", AsJson, False))
    run.__doc__ = act.help
    run.__name__ = f"record_{act.name.replace('-', '_')}"
    run.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
    run.__annotations__ = {one.name: one.annotation for one in parameters}
    return run


def _parameter(name: str, kind: Any, default: Any) -> inspect.Parameter:
    return inspect.Parameter(name, inspect.Parameter.KEYWORD_ONLY, default=default, annotation=kind)


for _act in ACTS:
    record.command(_act.name)(_command(_act))
