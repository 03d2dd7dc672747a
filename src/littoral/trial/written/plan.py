"""The table [design]: how the regimes are swapped, which tanks are pairs, and what was settled before the start."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any, cast, get_args

from littoral.trial.model import Arm, Tank
from littoral.trial.plan import OrderMade, Plan, PlanKind, alternating, draw_order
from littoral.trial.written.amounts import amount
from littoral.trial.written.lots import read_blocks, read_start
from littoral.trial.written.report import WrongValueError, suggest
from littoral.trial.written.table import Key, Table
from littoral.trial.written.values import one_of, show_value, text, texts, whole_number

DESIGN_KEYS = {
    "kind": Key('"crossover"', '"parallel", "crossover" or "pairs"', required=True),
    "period": Key('"3 weeks"', "crossover: how long until the regimes may be swapped"),
    "washout": Key('"1 week"', "crossover: first part of each period that is not compared; none unless given"),
    "order": Key('"drawn by lot"', 'crossover: "alternating", "drawn by lot", or a list of "as written" and "swapped"'),
    "seed": Key("20260302", "crossover: number that the drawn order comes from"),
    "half_life": Key('"2 days"', "crossover: how long what was dosed takes to fall by half; reckoned unless given"),
    "pairs": Key('[["left", "right"]]', "tanks that belong together: one of the first arm, one of the second"),
    "paired_by": Key('"place on the bench"', "what the tanks of a pair share"),
    "looks": Key('["4 weeks"]', "when results are looked at before the end, from day 0"),
    "stopping": Key('"if fish gasp, in all tanks"', "when the trial is broken off"),
    "trimming": Key('"at 25 cm, to 10 cm"', "when and how far plants are cut, in all tanks alike"),
    "spread": Key('"10 %"', "assumed spread between tanks kept alike (coefficient of variation)"),
    "blocks": Key('{ window = ["a", "b"], wall = ["c", "d"] }', "parallel: tanks that share a place or light, by name"),
    "blocked_by": Key('"distance from the window"', "what the tanks of a block share"),
    "start_drawn_from": Key('"10 to 30 days"', "days since day 0, one of which was drawn for the regimes to begin"),
    "start_seed": Key("20260302", "number that the drawn start comes from"),
}
OF_A_CROSSOVER = ("period", "washout", "order", "seed", "half_life")
WORDS = {"as written": False, "swapped": True}
MOST_PERIODS = 200


def read_plan(
    root: Table, arms: Sequence[Arm], tanks: Mapping[str, Tank], *, baseline_days: float, length_days: float
) -> Plan:
    """Read `[design]`; without it the trial is parallel. `baseline_days` and `length_days` bound the periods."""
    table = root.table("design", DESIGN_KEYS, "the design")
    if table is None:
        return Plan()
    kind = cast(PlanKind, table.required("kind", one_of(get_args(PlanKind), "kinds of design"), "parallel"))
    known = not table.report.is_wrong((*table.path, "kind")) and "kind" in table
    whole = not root.report.is_wrong(("arms",)) and len(arms) > 1
    if kind != "crossover" and known:
        for key in OF_A_CROSSOVER:
            if key in table:
                table.wrong(key, f'belongs to a crossover, but `kind` is "{kind}".', "Leave it out, or change `kind`.")
    swapped: tuple[bool, ...] = ()
    period = washout = 0.0
    made: OrderMade = "written"
    seed: int | None = None
    if kind == "crossover":
        period = table.required("period", _whole_days, 1.0)
        washout = table.optional("washout", amount("duration"), 0.0)
        count = _count(root, table, period, baseline_days=baseline_days, length_days=length_days)
        seed = table.optional("seed", whole_number, None)
        made, swapped = _order(table, count, seed)
        if "period" in table and washout >= period and not table.report.is_wrong((*table.path, "period")):
            table.wrong("washout", "is as long as a period.", "Leave days to be compared: lengthen the period.")
        if whole:
            _check_arms(table, arms, tanks)
    start = read_start(root, table, kind, baseline_days=baseline_days, length_days=length_days)
    return Plan(
        kind=kind,
        period_days=period,
        washout_days=washout,
        swapped=swapped,
        order=made,
        order_seed=seed,
        half_life_days=table.optional("half_life", amount("duration", above_zero=True), None),
        pairs=_pairs(table, kind, arms) if whole and known else (),
        paired_by=table.optional("paired_by", text, ""),
        looks_days=table.optional("looks", _looks(length_days), ()),
        stopping=table.optional("stopping", text, ""),
        trimming=table.optional("trimming", text, ""),
        spread=table.optional("spread", amount("fraction", above_zero=True), None),
        blocks=read_blocks(table, kind, arms) if whole and known else (),
        blocked_by=table.optional("blocked_by", text, ""),
        start_drawn_from=start.drawn_from,
        start_seed=start.seed,
    )


def _count(root: Table, table: Table, period: float, *, baseline_days: float, length_days: float) -> int:
    """Return how many periods there are: 0 where that is not known, because a length is wrong or does not fit."""
    around = root.report.is_wrong(("trial", "length")) or root.report.is_wrong(("trial", "baseline"))
    if around or not math.isfinite(length_days) or "period" not in table:
        return 0
    if table.report.is_wrong((*table.path, "period")):
        return 0
    days = length_days - baseline_days
    count = round(days / period)
    if count < 2 or abs(count * period - days) > 1e-9:
        what = f"is {period:g} days, but after the baseline the trial has {days:g} days."
        table.wrong("period", what, "Make the trial's length the baseline and 2 or more whole periods.")
        return 0
    if count > MOST_PERIODS:
        table.wrong("period", f"would come {count} times.", f"At most {MOST_PERIODS} periods are read.")
        return 0
    return count


def _order(table: Table, count: int, seed: int | None) -> tuple[OrderMade, tuple[bool, ...]]:
    stand_in = alternating(max(count, 2))
    if "order" not in table:
        if "seed" in table:
            table.wrong("seed", "is given, but `order` is not.", 'Write `order = "drawn by lot"`, or leave it out.')
        return "alternating", stand_in
    if isinstance(table.optional("order", lambda value: value, None), list):
        none: tuple[bool, ...] = ()
        words = table.optional("order", _written_order, none)
        if words and count and len(words) != count:
            table.wrong("order", f"names {len(words)} periods, but there are {count}.", "Name each period once.")
        elif words and len(set(words)) == 1:
            table.wrong(
                "order", "never swaps the regimes.", 'Write "as written" for some periods, "swapped" for others.'
            )
        return "written", words or stand_in
    made = cast(OrderMade, table.optional("order", one_of(("alternating", "drawn by lot"), "orders"), "alternating"))
    if made == "drawn by lot":
        if seed is None and not table.report.is_wrong((*table.path, "seed")):
            right = "Add `seed = 20260302`, any whole number: it repeats the draw, so that anyone can check it."
            table.wrong("order", "is drawn by lot, but no `seed` is kept.", right)
        elif count % 2:
            right = "A draw gives each two neighbouring periods one of each: make them even, or write the order down."
            table.wrong("order", f"cannot be drawn for {count} periods.", right)
        elif count and seed is not None:
            return made, draw_order(count, seed=seed)
    elif "seed" in table:
        table.wrong("seed", 'is given, but `order` is not "drawn by lot".', "Leave it out.")
    return made, stand_in


def _written_order(value: Any) -> tuple[bool, ...]:
    found: list[bool] = []
    for entry in value:
        word = text(entry)
        if word not in WORDS:
            raise WrongValueError(f"names {show_value(word)}.", suggest(word, WORDS, "words for a period"))
        found.append(WORDS[word])
    if not found:
        raise WrongValueError("is an empty list.")
    return tuple(found)


def _check_arms(table: Table, arms: Sequence[Arm], tanks: Mapping[str, Tank]) -> None:
    if len(arms) > 2:
        table.wrong(
            "kind", f'is "crossover", but the trial has {len(arms)} arms.', "Two arms swap; leave the rest out."
        )
    elif len(arms[0].tanks) != len(arms[1].tanks):
        what = f'is "crossover", but the arms have {len(arms[0].tanks)} and {len(arms[1].tanks)} tanks.'
        table.wrong("kind", what, "Each tank swaps with one of the other arm: give both arms as many.")
    elif any(arm.regime for arm in arms):
        for tank in (*arms[0].tanks, *arms[1].tanks):
            if tank in tanks and tanks[tank].vessel is None:
                what = f'is "crossover", but tank "{tank}" has no `glass`, so its water is not known.'
                table.wrong("kind", what, f"Describe the glass in [tanks.{tank}]: every tank gets both regimes.")


def _pairs(table: Table, kind: PlanKind, arms: Sequence[Arm]) -> tuple[tuple[str, str], ...]:
    if "pairs" not in table:
        if kind == "pairs":
            table.wrong("kind", 'is "pairs", but no `pairs` are named.', 'Add `pairs = [["left", "right"], …]`.')
        return ()
    if kind == "parallel":
        table.wrong("pairs", 'is given, but `kind` is "parallel".', 'Write `kind = "pairs"`.')
        return ()
    home = {tank: place for place, arm in enumerate(arms[:2]) for tank in arm.tanks}

    def parse(value: Any) -> tuple[tuple[str, str], ...]:
        if not isinstance(value, list):
            raise WrongValueError(f"is {show_value(value)}, not a list.")
        pairs: list[tuple[str, str]] = []
        for number, entry in enumerate(value, start=1):
            named = texts(entry)
            if len(named) != 2:
                raise WrongValueError(f"has {len(named)} tanks in pair {number}.", "A pair is two tanks.")
            for tank in named:
                if tank not in home:
                    raise WrongValueError(f'names "{tank}" in pair {number}.', suggest(tank, home, "tanks"))
                if any(tank in pair for pair in pairs):
                    raise WrongValueError(f'names "{tank}" in two pairs.', "A tank is in one pair only.")
            if home[named[0]] == home[named[1]]:
                right = "A pair has one tank of the first arm and one of the second."
                raise WrongValueError(f"has two tanks of one arm in pair {number}.", right)
            first, second = sorted(named, key=lambda tank: home[tank])
            pairs.append((first, second))
        alone = [tank for tank in home if not any(tank in pair for pair in pairs)]
        if alone:
            raise WrongValueError(f'leaves "{alone[0]}" without a partner.', "Name every tank in one pair.")
        return tuple(pairs)

    return table.optional("pairs", parse, ())


def _looks(length_days: float) -> Callable[[Any], tuple[float, ...]]:
    def parse(value: Any) -> tuple[float, ...]:
        found = tuple(amount("duration", above_zero=True)(one) for one in texts(value))
        if any(day >= length_days for day in found):
            raise WrongValueError("names a look at or after the end.", "A look is before the trial is over.")
        return tuple(sorted(found))

    return parse


def _whole_days(value: Any) -> float:
    days = amount("duration", above_zero=True)(value)
    if days < 1 or abs(days - round(days)) > 1e-9:
        raise WrongValueError(f"is {show_value(value)}, not whole days.", "Regimes are by the day: round it.")
    return float(round(days))
