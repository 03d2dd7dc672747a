"""Of the table [design]: blocks of tanks, and the days that the start was drawn from."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from littoral.trial.model import Arm
from littoral.trial.plan import PlanKind, draw_start
from littoral.trial.written.amounts import amount
from littoral.trial.written.report import WrongValueError, suggest
from littoral.trial.written.table import Table
from littoral.trial.written.values import KEY_RULE, is_key, show_value, texts, whole_number

_FROM_TO = re.compile(r"\s*(?P<first>[0-9]{1,4})\s+to\s+(?P<last>[0-9]{1,4})\s+days\s*", re.ASCII)
MOST_STARTS = 366

Blocks = tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class Start:
    """The days since day 0 that a start was drawn from, ascending, and the number that repeats the draw."""

    drawn_from: tuple[float, ...] = ()
    seed: int | None = None


def read_blocks(table: Table, kind: PlanKind, arms: Sequence[Arm]) -> Blocks:
    """Read `blocks`: every tank of the first two arms in one block, and both arms in every block."""
    if "blocks" not in table:
        return ()
    if kind != "parallel":
        what = f'is given, but `kind` is "{kind}".'
        table.wrong("blocks", what, 'Write `kind = "parallel"`; tanks in pairs are blocks of two already.')
        return ()
    said = table.report.said
    home = {tank: place for place, arm in enumerate(arms[:2]) for tank in arm.tanks}
    found: list[tuple[str, tuple[str, ...]]] = []
    taken: dict[str, str] = {}
    for name, value in table.plain("blocks").items():
        if not is_key(name):
            table.wrong("blocks", f'has "{name}" as the short name of a block.', KEY_RULE)
            continue
        try:
            tanks = _tanks_of(value, home, taken, name)
        except WrongValueError as error:
            table.wrong("blocks", error.what, error.right, name)
            continue
        taken.update(dict.fromkeys(tanks, name))
        found.append((name, tanks))
    if table.report.said == said and (alone := [tank for tank in home if tank not in taken]):
        table.wrong("blocks", f'leaves "{alone[0]}" out.', "Name every tank of both arms in one block.")
    return tuple(found) if table.report.said == said else ()


def _tanks_of(value: Any, home: dict[str, int], taken: dict[str, str], name: str) -> tuple[str, ...]:
    tanks = texts(value)
    for tank in tanks:
        if tank not in home:
            raise WrongValueError(f'names "{tank}".', suggest(tank, home, "tanks"))
        if tank in taken:
            raise WrongValueError(f'names "{tank}", which stands in "{taken[tank]}".', "A tank is in one block only.")
    if len({home[tank] for tank in tanks}) < 2:
        right = "A block tells something only where tanks of both arms stand in it: join it with another."
        raise WrongValueError(f'has no tanks of both arms in "{name}".', right)
    return tanks


def read_start(root: Table, table: Table, kind: PlanKind, *, baseline_days: float, length_days: float) -> Start:
    """Read `start_drawn_from` and `start_seed`; the trial's baseline is the day that was drawn."""
    seed = table.optional("start_seed", whole_number, None)
    if "start_drawn_from" not in table:
        if "start_seed" in table:
            table.wrong("start_seed", "is given, but `start_drawn_from` is not.", "Add the days, or leave it out.")
        return Start()
    if kind == "crossover":
        table.wrong("start_drawn_from", 'is given, but `kind` is "crossover".', "There, the order is drawn: `order`.")
        return Start()
    none: tuple[float, ...] = ()
    days = table.optional("start_drawn_from", _days(length_days), none)
    if not days or root.report.is_wrong(("trial", "baseline")):
        return Start()
    if baseline_days not in days:
        what = f"does not hold day {baseline_days:g}, on which the regimes begin."
        table.wrong("start_drawn_from", what, "The baseline of the trial ends on the day that was drawn.")
        return Start()
    if seed is not None and (drawn := draw_start(days, seed=seed)) != baseline_days:
        what = f"draws day {drawn:g}, but the regimes begin on day {baseline_days:g}."
        table.wrong(
            "start_seed", what, f'Write `baseline = {{ length = "{drawn:g} days" … }}`, or leave `start_seed` out.'
        )
        return Start()
    return Start(days, seed)


def _days(length_days: float) -> Callable[[Any], tuple[float, ...]]:
    def parse(value: Any) -> tuple[float, ...]:
        if isinstance(value, str) and (span := _FROM_TO.fullmatch(value)):
            first, last = int(span["first"]), int(span["last"])
            if last - first > MOST_STARTS:
                raise WrongValueError(f"is {show_value(value)}.", f"At most {MOST_STARTS} days are read.")
            found = tuple(float(day) for day in range(first, last + 1))
        elif isinstance(value, list):
            found = tuple(sorted({amount("duration", above_zero=True)(one) for one in texts(value)}))
        else:
            raise WrongValueError(f"is {show_value(value)}.", 'Write `"10 to 30 days"`, or `["10 days", "12 days"]`.')
        if len(found) < 2:
            raise WrongValueError("names fewer than two days.", "A draw needs two or more; 20 can tell something.")
        if found[0] <= 0 or found[-1] >= length_days:
            raise WrongValueError("names a day outside the trial.", "Both sides of each day need photos.")
        return found

    return parse
