"""The trial file as a whole: TOML text in; a trial, or all its faults, out."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from typing import Any, cast, get_args
from zoneinfo import ZoneInfo, available_timezones

from littoral.errors import Fault
from littoral.trial.model import DosesNoted, Trial
from littoral.trial.written.amounts import amount
from littoral.trial.written.bands import BAND_KEYS, BAND_NUTRIENT_KEYS, read_bands
from littoral.trial.written.bottles import BOTTLE_KEYS, LABEL_KEYS, read_bottles
from littoral.trial.written.decimal_marks import check_whole_file
from littoral.trial.written.document import read_document
from littoral.trial.written.methods import METHOD_KEYS, read_methods
from littoral.trial.written.plan import DESIGN_KEYS, read_plan
from littoral.trial.written.questions import ARM_KEYS, QUESTION_KEYS, read_arms, read_questions
from littoral.trial.written.regimes import CHANGE_KEYS, DOSE_KEYS, REGIME_KEYS, read_regimes
from littoral.trial.written.report import Report, WrongValueError, nearest
from littoral.trial.written.schedule import SCHEDULE_SECTIONS, read_same_care, read_schedule
from littoral.trial.written.table import Key, Keys, Table
from littoral.trial.written.tanks import (
    SOURCE_KEYS,
    STONE_KEYS,
    SUBSTRATE_KEYS,
    TANK_KEYS,
    UPTAKE_KEYS,
    read_source,
    read_tanks,
)
from littoral.trial.written.values import day, one_of, short_name, show_value, text, texts, whole_number
from littoral.trial.written.views import PANE_KEYS, REGION_KEYS, STAND_KEYS, VIEW_KEYS, read_stands, read_views

FORMAT = 1

ROOT_KEYS = {
    "format": Key("1", "version of this format; always the first key", required=True),
    "trial": Key("{ … }", "the table [trial]: what is compared, from when, how long", required=True),
    "source": Key("{ … }", "the table [source]: the water used for changes"),
    "tanks": Key("{ … }", "a table [tanks.…] for each tank", required=True),
    "bottles": Key("{ … }", "a table [bottles.…] for each bottle, stock solution or dry salt"),
    "regimes": Key("{ … }", "a table [regimes.…] for each pattern of doses and water changes"),
    "arms": Key("{ … }", "a table [arms.…] for each arm", required=True),
    "design": Key("{ … }", "the table [design]: swaps of the regimes, pairs of tanks, rules set beforehand"),
    "stands": Key("{ … }", "a table [stands.…] for each kind of plant in one place"),
    "views": Key("{ … }", "a table [views.…] for each camera position"),
    "bands": Key("{ … }", "the table [bands]: where levels should stay"),
    "methods": Key("{ … }", "a table [methods.…] for each way to test the water"),
    "schedule": Key("{ … }", "the table [schedule]: tests, trims and photos, and times of day; none unless given"),
    "same_care": Key("{ … }", "the table [same_care]: margins within which care counts as the same"),
    "questions": Key("[[questions]]", "a table [[questions]] for each question", required=True),
}
TRIAL_KEYS = {
    "key": Key('"sparing-or-full"', "short name of the trial", required=True),
    "title": Key('"Sparing or full feeding"', "title shown", required=True),
    "factor": Key('"feeding regime"', "the one thing that differs between the arms", required=True),
    "start": Key("2026-03-02", "day 0, without quotation marks", required=True),
    "zone": Key('"Europe/Berlin"', "time zone in which days begin, as in the IANA list", required=True),
    "length": Key('"8 weeks"', "from day 0 to the end", required=True),
    "baseline": Key('{ length = "2 weeks", regime = "sparing" }', "time before the arms differ; none unless given"),
    "draw": Key('{ how = "coin", seed = 7 }', "how the tanks were drawn by lot"),
    "doses_noted": Key(
        '"exceptions"', 'whether entries note "all" doses, or only "exceptions" from the plan; "all" unless given'
    ),
    "held_equal": Key('["light 8 h a day"]', "what is kept the same in all tanks"),
    "currency": Key('"EUR"', "three letters; EUR unless given"),
    "photos_are": Key('"rendered demo"', '"photographs" unless given; "rendered demo" is shown on every page'),
}
BASELINE_KEYS = {
    "length": Key('"2 weeks"', "how long", required=True),
    "regime": Key('"sparing"', "regime of every tank until then; nothing is dosed unless given"),
}
DRAW_KEYS = {
    "how": Key('"coin, heads: the left tank gets the full regime"', "what was done", required=True),
    "seed": Key("20260301", "number that repeats a draw by the computer"),
}

SECTIONS: dict[str, Keys] = {
    "the file": ROOT_KEYS,
    "[trial]": TRIAL_KEYS,
    "baseline": BASELINE_KEYS,
    "draw": DRAW_KEYS,
    "[source]": SOURCE_KEYS,
    "[tanks.…]": TANK_KEYS,
    "substrate": SUBSTRATE_KEYS,
    "stone": STONE_KEYS,
    "uptake": UPTAKE_KEYS,
    "[bottles.…]": BOTTLE_KEYS,
    "label": LABEL_KEYS,
    "[regimes.…]": REGIME_KEYS,
    "doses": DOSE_KEYS,
    "changes": CHANGE_KEYS,
    "[arms.…]": ARM_KEYS,
    "[bands]": BAND_NUTRIENT_KEYS,
    "band": BAND_KEYS,
    "[methods.…]": METHOD_KEYS,
    "[design]": DESIGN_KEYS,
    "[stands.…]": STAND_KEYS,
    "[views.…]": VIEW_KEYS,
    "[views.….tanks.…]": PANE_KEYS,
    "regions": REGION_KEYS,
    **SCHEDULE_SECTIONS,
    "[[questions]]": QUESTION_KEYS,
}
"""Every key the reader knows, by section; the reference page is tested against this."""


def read_trial(text: str, *, where: str) -> tuple[Trial | None, tuple[Fault, ...]]:
    """Read a trial file. `where` names it in faults; with any fault the trial is None.

    All mistakes are reported at once, each with its line, what is wrong and what would be right.
    """
    document = read_document(text, where=where)
    if document.values is None:
        return None, document.faults
    report = Report(where, document.lines, document.unread)
    for fault in document.faults:
        report.add_at(fault.line, fault.what, fault.right)
    root = Table(document.values, (), keys=ROOT_KEYS, kind="the file", report=report)
    trial = _trial(root)
    check_whole_file(document.values, report)
    return (None if report.faults else trial), report.faults


def _trial(root: Table) -> Trial:
    root.required("format", _format, FORMAT)
    tanks = read_tanks(root)
    bottles = read_bottles(root)
    regimes = read_regimes(root, bottles)
    arms = read_arms(root, tanks, regimes)
    stands = read_stands(root, tanks)
    views = read_views(root, tanks, stands)
    head = root.table("trial", TRIAL_KEYS, "the trial")
    if head is None:
        if not root.report.is_wrong(("trial",)):
            root.wrong_at((), "The file has no [trial].", f"Add it with {', '.join(_required(TRIAL_KEYS))}.")
        head = Table({}, ("trial",), keys=TRIAL_KEYS, kind="the trial", report=Report("", {}))
    days = amount("duration", above_zero=True)
    length = head.required("length", _whole_days(days) if bottles or regimes else days, float("inf"))
    baseline = head.table("baseline", BASELINE_KEYS, "the baseline")
    baseline_days = baseline.required("length", _whole_days(amount("duration")), 0.0) if baseline else 0.0
    if baseline_days >= length:
        what = f"is {baseline_days:g} days long, but the trial only {length:g}."
        head.wrong(
            "baseline", what, "The regimes can only differ after the baseline: shorten it, or lengthen the trial."
        )
    draw = head.table("draw", DRAW_KEYS, "the draw")
    return Trial(
        key=head.required("key", short_name, ""),
        title=head.required("title", text, ""),
        factor=head.required("factor", text, ""),
        start=head.required("start", day("start"), date(2000, 1, 1)),
        zone=head.required("zone", _zone, "UTC"),
        baseline_days=baseline_days,
        length_days=length,
        arms=arms,
        questions=read_questions(root, [arm.key for arm in arms], views, stands),
        tanks=tanks,
        stands=stands,
        views=views,
        bottles=bottles,
        regimes=regimes,
        source=read_source(root),
        baseline_regime=baseline.optional("regime", one_of(regimes, "regimes"), None) if baseline else None,
        held_equal=head.optional("held_equal", texts, ()),
        drawn=draw.required("how", text, "") if draw else "",
        draw_seed=draw.optional("seed", whole_number, None) if draw else None,
        currency=head.optional("currency", _currency, "EUR"),
        rendered=head.optional("photos_are", one_of(("photographs", "rendered demo"), "kinds of photos"), "")
        == "rendered demo",
        doses_noted=head.optional("doses_noted", _doses_noted, "all"),
        bands=read_bands(root),
        methods=read_methods(root),
        schedule=read_schedule(root, tanks, stands),
        same_care=read_same_care(root),
        plan=read_plan(root, arms, tanks, baseline_days=baseline_days, length_days=length),
    )


def _required(keys: Keys) -> list[str]:
    return [f"`{name}`" for name, key in keys.items() if key.required]


def _format(value: Any) -> int:
    if value != FORMAT or isinstance(value, bool):
        raise WrongValueError(f"is {show_value(value)}.", f"This version of Littoral reads `format = {FORMAT}`.")
    return FORMAT


def _doses_noted(value: Any) -> DosesNoted:
    return cast("DosesNoted", one_of(get_args(DosesNoted), "ways of noting")(value))


def _whole_days(parse: Callable[[Any], float]) -> Callable[[Any], float]:
    """Make a parser that also refuses a part of a day: a regime plans by the day, so it begins and ends with one."""

    def whole(value: Any) -> float:
        days = parse(value)
        if abs(days - round(days)) > 1e-9:
            raise WrongValueError(f"is {show_value(value)}, not whole days.", "Regimes are by the day: round it.")
        return float(round(days))

    return whole


def _zone(value: Any) -> str:
    name = text(value)
    try:
        ZoneInfo(name)
    except (LookupError, ValueError, OSError):
        meant = nearest(name, available_timezones())
        right = 'Write a place as in the IANA list, such as "Europe/Berlin", or "UTC".'
        right = f'Did you mean "{meant}"? {right}' if meant else right
        raise WrongValueError(f"is {show_value(value)}, which is not a time zone.", right) from None
    return name


def _currency(value: Any) -> str:
    code = text(value)
    if re.fullmatch("[A-Z]{3}", code) is None:
        raise WrongValueError(
            f"is {show_value(value)}.", 'Write the three capital letters of the currency, such as "EUR".'
        )
    return code
