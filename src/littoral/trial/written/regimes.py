"""Regimes: doses by weekday, in the keeper's own measure, and water changes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from littoral.feeding.bottles import Bottle
from littoral.feeding.regimes import PlannedChange, PlannedDose, Regime
from littoral.quantities.amounts import AmountError, Counted, parse_counted
from littoral.trial.written.amounts import amount
from littoral.trial.written.report import WrongValueError
from littoral.trial.written.table import Key, Table
from littoral.trial.written.values import one_of, show_value, text, weekdays

REGIME_KEYS = {
    "name": Key('"sparing"', "name shown; the short name unless given"),
    "doses": Key('[{ of = "macro", amount = "2 strokes", on = ["Sun", "Wed"] }]', "doses of a week; none unless given"),
    "changes": Key('[{ share = "40 %", on = ["Sat"] }]', "water changes of a week, before that day's doses"),
}
DOSE_KEYS = {
    "of": Key('"macro"', "short name of the bottle", required=True),
    "amount": Key('"2 strokes"', "amount given each time: mL, strokes or drops; g of a dry salt", required=True),
    "on": Key('["Sun", "Wed"]', 'weekdays, or "every day"', required=True),
}
CHANGE_KEYS = {
    "share": Key('"40 %"', "share of the net volume that is replaced", required=True),
    "on": Key('["Sat"]', 'weekdays, or "every day"', required=True),
}


def read_regimes(root: Table, bottles: Mapping[str, Bottle]) -> dict[str, Regime]:
    """Read every `[regimes.…]`."""
    tables = root.tables("regimes", REGIME_KEYS, "a regime")
    return {
        key: Regime(
            key=key,
            name=table.optional("name", text, key),
            doses=tuple(_dose(row, bottles) for row in table.listed("doses", DOSE_KEYS, "a dose")),
            changes=tuple(
                PlannedChange(
                    share=row.required("share", amount("fraction", above_zero=True, at_most=1.0), 0.0),
                    weekdays=row.required("on", weekdays, ()),
                )
                for row in table.listed("changes", CHANGE_KEYS, "a water change")
            ),
        )
        for key, table in tables.items()
    }


def _dose(row: Table, bottles: Mapping[str, Bottle]) -> PlannedDose:
    of = row.required("of", one_of(bottles, "bottles"), "")
    bottle = None if row.report.is_wrong(("bottles", of)) else bottles.get(of)

    def parse(value: Any) -> tuple[float | None, float | None]:
        return read_dose(text(value), bottle)

    nothing: tuple[float | None, float | None] = (None, None)
    ml, g = row.required("amount", parse, nothing)
    written = row.optional("amount", text, "") if ml is not None or g is not None else ""
    return PlannedDose(of=of, weekdays=row.required("on", weekdays, ()), ml=ml, g=g, written=written)


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
