"""What may go wrong with the bottles of a trial file: warnings, which keep nobody from going on."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from typing import Any

from littoral.chemistry.keeping import keeping_of
from littoral.chemistry.stock_checks import COLDEST_CELSIUS, check_contraction, check_stock
from littoral.feeding.bottles import Bottle
from littoral.quantities.check_row import CheckRow, Verdict
from littoral.trial.model import Trial

VERDICTS = {"fails": "no", "warns": "careful", "cannot tell": "not known", "holds": "yes"}
SIDES = {"<=": "at most", ">=": "at least"}


@dataclass(frozen=True, slots=True)
class StockWarning:
    """One check of one bottle that does not hold; `bottle` is its short name, `where` the file that it stands in."""

    where: str
    bottle: str
    row: CheckRow

    def __str__(self) -> str:
        """Return it as a line of words, with the figures, the limit and its source where there are any."""
        row, figures = self.row, ""
        if row.value is not None and row.limit is not None:
            figures = f" ({row.value:.3g} {row.unit}, {SIDES[row.operator]} {row.limit:g})"
        source = f" [{row.source}]" if row.source else ""
        comment = row.comment[:1].upper() + row.comment[1:]
        return f"{self.where}, bottles.{self.bottle}: {row.what}: {VERDICTS[row.verdict]}{figures}. {comment}{source}"

    def as_json(self) -> dict[str, Any]:
        """Return it as plain data; a value beyond all numbers is None."""
        row = asdict(self.row)
        value = self.row.value
        return {"bottle": self.bottle, **row, "value": value if value is None or math.isfinite(value) else None}


def stock_warnings(trial: Trial, *, where: str) -> tuple[StockWarning, ...]:
    """Return each check of the trial's bottles that does not hold, by bottle in the order of the file `where`.

    Of a stock mixed from salts: whether it dissolves at the coldest it is kept at, stays clear, keeps. Of whatever has
    a date: whether it keeps to the trial's end. How to fill it up is left to whoever mixes it (`mix_bottle`).
    """
    return tuple(
        StockWarning(where, key, row)
        for key, bottle in trial.bottles.items()
        for row in (*_of_stock(bottle), *_to_the_end(bottle, trial))
        if row.verdict != "holds"
    )


def _of_stock(bottle: Bottle) -> tuple[CheckRow, ...]:
    volume = bottle.made_up_to_ml
    if not bottle.salts_g or volume is None:
        return ()
    coldest = COLDEST_CELSIUS if bottle.coldest_celsius is None else bottle.coldest_celsius
    rows = check_stock(bottle.salts_g, made_up_to_ml=volume, coldest_celsius=coldest)
    filling_up = check_contraction(bottle.salts_g, made_up_to_ml=volume)
    return tuple(row for row in rows if row != filling_up)


def _to_the_end(bottle: Bottle, trial: Trial) -> tuple[CheckRow, ...]:
    """Whether what has a date keeps for as long as the trial goes on."""
    rows = []
    if bottle.made_on is not None:
        own = bottle.keeps_days is not None
        days = bottle.keeps_days if bottle.keeps_days is not None else keeping_of(bottle.salts_g).days
        source = "your own figure" if own else "common practice, no source"
        rows.append(_keeps(f"mixed on {bottle.made_on}", bottle.made_on, days, trial, source))
    for name, pack in bottle.packs.items():
        if pack.bought is not None and pack.keeps_days is not None:
            what = f"{'' if name == 'bottle' else name + ' '}bought on {pack.bought}"
            rows.append(_keeps(what, pack.bought, pack.keeps_days, trial, "your own figure"))
    return tuple(rows)


def _keeps(what: str, since: date, days: int, trial: Trial, source: str) -> CheckRow:
    end = trial.start + timedelta(days=math.ceil(trial.length_days))
    spoils_on = since + timedelta(days=days)
    lead = f"It keeps about {days} days, until {spoils_on}"
    if spoils_on >= end:
        return _days_row(what, days, since, end, "holds", f"{lead}: longer than the trial.", source)
    comment = f"{lead}, but the trial goes on until {end}: have a fresh one ready."
    return _days_row(what, days, since, end, "warns", comment, source)


def _days_row(what: str, days: int, since: date, end: date, verdict: Verdict, comment: str, source: str) -> CheckRow:
    return CheckRow(what, float(days), ">=", float((end - since).days), "days", verdict, comment, source)
