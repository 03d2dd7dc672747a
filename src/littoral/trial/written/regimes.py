"""Regimes: doses by weekday or every so many days, in the keeper's own measure, and water changes."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from littoral.feeding.bottles import Bottle
from littoral.feeding.regimes import EveryDays, PlannedChange, PlannedDose, Regime, RegimeError, period_days
from littoral.quantities.amounts import AmountError, Counted, parse_counted
from littoral.trial.written.amounts import amount
from littoral.trial.written.report import WrongValueError, show_path
from littoral.trial.written.table import Key, Table
from littoral.trial.written.values import one_of, show_value, text, weekdays

REGIME_KEYS = {
    "name": Key('"sparing"', "name shown; the short name unless given"),
    "doses": Key(
        '[{ of = "macro", amount = "2 strokes", on = ["Sun", "Wed"] }]', "doses that repeat; none unless given"
    ),
    "changes": Key('[{ share = "40 %", on = ["Sat"] }]', "water changes that repeat, before that day's doses"),
}
DOSE_KEYS = {
    "of": Key('"macro"', "short name of the bottle", required=True),
    "amount": Key('"2 strokes"', "amount given each time: mL, strokes or drops; g of a dry salt", required=True),
    "on": Key('["Sun", "Wed"]', 'weekdays, or "every day"; `on` or `every` is needed'),
    "every": Key('"2 days"', 'so many days or weeks, counted from day 0; to begin later, "3 days from day 1"'),
}
CHANGE_KEYS = {
    "share": Key('"40 %"', "share of the net volume that is replaced", required=True),
    "on": Key('["Sat"]', 'weekdays, or "every day"; `on` or `every` is needed'),
    "every": Key('"10 days"', 'so many days or weeks, counted from day 0; to begin later, "10 days from day 5"'),
}
_EVERY = re.compile(
    r"(?P<count>[0-9]{1,4})\s*(?P<unit>day|week)s?(?:\s+from\s+day\s+(?P<first>[0-9]{1,4}))?", re.ASCII | re.IGNORECASE
)
When = tuple[tuple[int, ...], EveryDays | None]
"""Weekdays (0 is Monday), or a period in days and no weekdays."""


def read_regimes(root: Table, bottles: Mapping[str, Bottle]) -> dict[str, Regime]:
    """Read every `[regimes.…]`."""
    tables = root.tables("regimes", REGIME_KEYS, "a regime")
    return {key: _regime(key, table, bottles) for key, table in tables.items()}


def _regime(key: str, table: Table, bottles: Mapping[str, Bottle]) -> Regime:
    regime = Regime(
        key=key,
        name=table.optional("name", text, key),
        doses=tuple(_dose(row, bottles) for row in table.listed("doses", DOSE_KEYS, "a dose")),
        changes=tuple(_change(row) for row in table.listed("changes", CHANGE_KEYS, "a water change")),
    )
    try:
        period_days(regime)
    except RegimeError as error:
        table.wrong_at(table.path, f"{show_path(table.path)} cannot be: {error.what}.", error.right)
    return regime


def _change(row: Table) -> PlannedChange:
    share = row.required("share", amount("fraction", above_zero=True, at_most=1.0), 0.0)
    days, every = _when(row)
    return PlannedChange(share, days, every)


def _when(row: Table) -> When:
    """Return when a dose or change comes, by its `on` or its `every`; exactly one of them must be there."""
    if "every" not in row:
        if "on" in row or row.was_unread("on"):
            return row.required("on", weekdays, ()), None
        if not row.was_unread("every"):
            right = 'Add weekdays, `on = ["Sun", "Wed"]`, or a number of days, `every = "2 days"`.'
            row.wrong_at(row.path, f"{show_path(row.path)} does not say when.", right)
        return (), None
    if "on" in row:
        row.wrong("every", "is given beside `on`.", "Give one of the two: weekdays, or every so many days.")
        return (), None
    return (), row.optional("every", every_days, None)


def every_days(value: Any) -> EveryDays:
    """Return a period of whole days from "2 days", "1 week" or "3 days from day 1". Raises WrongValueError."""
    match = _EVERY.fullmatch(text(value))
    if match is None:
        raise WrongValueError(f"is {show_value(value)}, not a number of whole days or weeks.")
    days = int(match["count"]) * (7 if match["unit"].lower() == "week" else 1)
    try:
        return EveryDays(days, int(match["first"] or 0))
    except RegimeError as error:
        raise WrongValueError(f"is {show_value(value)}; that cannot be.", error.right) from None


def _dose(row: Table, bottles: Mapping[str, Bottle]) -> PlannedDose:
    of = row.required("of", one_of(bottles, "bottles"), "")
    bottle = None if row.report.is_wrong(("bottles", of)) else bottles.get(of)

    def parse(value: Any) -> tuple[float | None, float | None]:
        return read_dose(text(value), bottle)

    nothing: tuple[float | None, float | None] = (None, None)
    ml, g = row.required("amount", parse, nothing)
    written = row.optional("amount", text, "") if ml is not None or g is not None else ""
    days, every = _when(row)
    return PlannedDose(of=of, weekdays=days, ml=ml, g=g, written=written, every=every)


def read_dose(written: str, bottle: Bottle | None) -> tuple[float | None, float | None]:
    """Return a dose as (mL, None) or, of a dry salt, (None, g); without a known bottle only the unit is checked.

    Raises WrongValueError, for example for strokes of a bottle whose stroke is not known.
    """
    try:
        count, unit = parse_counted(written)
    except AmountError as error:
        raise WrongValueError(f"is {show_value(written)}: {error.reason}.", error.right) from None
    if count <= 0:
        raise WrongValueError(f"is {show_value(written)}; a dose is above zero.")
    if bottle is None:
        return None, None
    if bottle.content_mg_per_g:
        if unit != "g":
            raise WrongValueError(f'is {show_value(written)}, but "{bottle.key}" is dosed dry.', "Give it in g.")
        return None, count
    return count * _ml_per(unit, written, bottle), None


def _ml_per(unit: Counted, written: str, bottle: Bottle) -> float:
    if unit == "mL":
        return 1.0
    if unit == "g":
        right = "Give it in mL, strokes or drops."
        raise WrongValueError(f'is {show_value(written)}, but "{bottle.key}" is a liquid.', right)
    size = bottle.stroke_ml if unit == "stroke" else bottle.drop_ml
    if size is None:
        right = f'Add `{unit} = "{"1.1" if unit == "stroke" else "0.05"} mL"` to [bottles.{bottle.key}], or give mL.'
        raise WrongValueError(f'is {show_value(written)}, but "{bottle.key}" has no `{unit}`.', right)
    return size
