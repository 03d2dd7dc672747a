"""Reads doses: single ones that repeat, and a week's amount that is laid out over the days."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from littoral.acts.mix_and_feed.reading import Reading
from littoral.acts.mix_and_feed.shelf_reading import Shelf
from littoral.acts.mix_and_feed.week_form import DoseForm, WeeklyForm
from littoral.feeding.bottles import Bottle
from littoral.feeding.regimes import PlannedDose
from littoral.feeding.spoons import SpoonHolds
from littoral.feeding.tools import StrokeSize
from littoral.quantities.derivation import Step
from littoral.speech.say import say
from littoral.trial.written.regimes import read_dose
from littoral.trial.written.report import WrongValueError

_SPOONS = re.compile(r"(?P<count>[0-9]{1,2}(?:[.,][0-9])?)\s+(?:level\s+)?spoons?", re.IGNORECASE | re.ASCII)
_STROKES = re.compile(r".*strokes?", re.IGNORECASE | re.DOTALL)
STATED = "size of the measure, as stated"
Amount = tuple[float | None, float | None]
"""mL or g, one of them None; both None where it cannot be told yet."""
LayOut = Callable[[Reading, str, "PlannedAmount", int], "list[ReadDose]"]


@dataclass(frozen=True, slots=True)
class ReadDose:
    """A planned dose, the row of the form it is from ("doses.1", "weekly.2"), and how its amount came about."""

    dose: PlannedDose
    row: str
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class PlannedAmount:
    """An amount of one bottle, mL or g, as written and with the steps that its measure adds."""

    of: str
    amount: float
    unit: str
    written: str
    steps: tuple[Step, ...]


def read_doses(reading: Reading, rows: tuple[DoseForm, ...], shelf: Shelf, *, unsure: bool) -> tuple[ReadDose, ...]:
    """Return planned doses; with an `unsure` shelf, amounts are not held against its bottles."""
    found = []
    for line, row in enumerate(rows, start=1):
        one = _amount(reading, "doses", row.of, row.amount, shelf, line=line, unsure=unsure)
        if one is None and not (row.of.strip() or row.amount.strip()):
            continue
        weekdays, every = reading.pattern("doses", row.on, line=line)
        if one is not None:
            ml, g = (None, one.amount) if one.unit == "g" else (one.amount, None)
            dose = PlannedDose(one.of, weekdays, ml=ml, g=g, written=one.written, every=every)
            step = Step("one dose", one.written, f"{one.amount:.4g} {one.unit}", STATED)
            found.append(ReadDose(dose, f"doses.{line}", (*one.steps, step)))
    return tuple(found)


def read_weekly(
    reading: Reading, rows: tuple[WeeklyForm, ...], shelf: Shelf, lay_out: LayOut, *, unsure: bool
) -> tuple[ReadDose, ...]:
    """Return the doses of amounts a week, laid out over the days by `lay_out`."""
    found: list[ReadDose] = []
    for line, row in enumerate(rows, start=1):
        one = _amount(reading, "weekly", row.of, row.amount, shelf, line=line, unsure=unsure)
        if one is not None:
            found += lay_out(reading, row.laid_out, one, line)
    return tuple(found)


def _amount(
    reading: Reading, field: str, of: str, text: str, shelf: Shelf, *, line: int, unsure: bool
) -> PlannedAmount | None:
    """An amount of a bottle; None where the row is empty, wrong, or its bottle is not sure yet."""
    of = of.strip()
    if not of and not text.strip():
        return None
    bottle = shelf.bottles.get(of)
    if bottle is None and not unsure:
        right = say("Bottles there are: {shelf}.", shelf=", ".join(shelf.bottles) or "none")
        reading.wrong(field, say('is of "{of}", which is no bottle.', of=of[:40]), right, line=line)
        return None
    sized = None if unsure else shelf.sized.get(of)
    known = None if unsure else bottle
    amount = reading.parse(field, text, partial(_dose_or_spoons, bottle=known, sized=sized), line=line, of=of)
    if amount is None or amount == (None, None):
        return None
    ml, g = amount
    written = " ".join(text.split())
    counted = isinstance(sized, SpoonHolds) and _SPOONS.fullmatch(written)
    counted = counted or (isinstance(sized, StrokeSize) and _STROKES.fullmatch(written))
    steps = sized.steps if sized is not None and counted else ()
    return PlannedAmount(of, (g if ml is None else ml) or 0.0, "mL" if g is None else "g", written, steps)


def _dose_or_spoons(written: str, *, bottle: Bottle | None, sized: object) -> Amount:
    spoons = _SPOONS.fullmatch(" ".join(written.split()))
    if spoons is None or bottle is None:
        return (None, None) if spoons is not None else read_dose(written, bottle)
    if not isinstance(sized, SpoonHolds):
        right = say('Say that it is measured by a level spoon, such as "1.25 mL spoon", or give g.')
        raise WrongValueError(
            say('is "{written}", but {key} is not measured by a spoon.', written=written[:40], key=bottle.key), right
        )
    count = float(spoons["count"].replace(",", "."))
    if count <= 0:
        raise WrongValueError(say('is "{written}"; a dose is above zero.', written=written[:40]))
    return None, count * sized.middle_g
