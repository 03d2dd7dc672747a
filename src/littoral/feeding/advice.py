"""Dose advice: the question a keeper asks, and the answer. The solving is in `advice_milp` and `advice_reasons`.

Which whole strokes, millilitres or grams, on which of the days somebody is there, keep every nutrient in its band all
week; the cheapest such pattern, or the simplest. One weekly pattern is looked for, since nobody follows twelve.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from littoral.errors import LittoralError
from littoral.feeding.adds import dose_adds_mg
from littoral.feeding.bottles import Bottle
from littoral.feeding.regimes import WEEKDAYS, PlannedDose
from littoral.feeding.tools import Tool
from littoral.quantities.check_row import CheckRow
from littoral.quantities.derivation import Step

Aim = Literal["cheapest", "simplest"]


class AdviceError(LittoralError):
    """Advice cannot be given on a question: `what` is wrong, `right` would do."""

    def __init__(self, *, what: str, right: str) -> None:
        self.what = what
        self.right = right
        super().__init__(f"dose advice: {what}. {right}")


@dataclass(frozen=True, slots=True)
class Band:
    """Where a nutrient's level shall stay, mg/L: at least `low` and at most `high`, None for no such end."""

    nutrient: str
    low: float | None = None
    high: float | None = None

    def __post_init__(self) -> None:
        """Raise AdviceError for ends that are negative, no number, both missing, or crossed."""
        ends = [end for end in (self.low, self.high) if end is not None]
        if not ends or not all(math.isfinite(end) and end >= 0 for end in ends):
            what = f"a band for {self.nutrient} from {self.low} to {self.high} mg/L"
            raise AdviceError(what=what, right="Give a floor, a ceiling or both, in mg/L, zero or more.")
        if self.low is not None and self.high is not None and self.low > self.high:
            what = f"a band for {self.nutrient} from {self.low:g} to {self.high:g} mg/L"
            raise AdviceError(what=what, right="Give the floor first: it is below the ceiling.")


@dataclass(frozen=True, slots=True)
class OnShelf:
    """A bottle or dry salt at hand, the tool it is measured with, and its price per mL or g; None where unknown."""

    bottle: Bottle
    tool: Tool
    price_per_unit: float | None = None

    def step_adds_mg(self) -> dict[str, float]:
        """Return what one step of the tool adds, mg of each nutrient. Raises DoseError."""
        in_grams = self.tool.unit == "g"
        return dose_adds_mg(
            self.bottle, ml=None if in_grams else self.tool.step, g=self.tool.step if in_grams else None
        )


@dataclass(frozen=True, slots=True)
class DoseQuestion:
    """What is on the shelf, the bands, on which weekdays (0 is Monday) somebody is there, and what is kept apart.

    `apart` holds pairs of bottle keys that may not be dosed on one day. `aim` "cheapest" asks for the lowest price of a
    week, "simplest" for the fewest portions to measure out; each breaks its ties by the other.
    """

    shelf: tuple[OnShelf, ...]
    bands: tuple[Band, ...]
    days: tuple[int, ...]
    net_volume_l: float
    apart: tuple[tuple[str, str], ...] = ()
    aim: Aim = "simplest"

    def __post_init__(self) -> None:
        """Raise AdviceError where the question has no shelf, band, day or water, or contradicts itself."""
        if not self.shelf:
            raise AdviceError(what="the shelf is empty", right="Name at least one bottle or salt.")
        if not self.bands:
            raise AdviceError(what="there is no band", right="Say where at least one nutrient shall stay.")
        if not self.days:
            raise AdviceError(what="nobody is there on any day", right="Name at least one weekday to dose on.")
        wrong = next((day for day in self.days if day not in range(7)), None)
        if wrong is not None:
            raise AdviceError(what=f"weekday {wrong}", right="Weekdays are 0 (Monday) to 6 (Sunday).")
        if not (math.isfinite(self.net_volume_l) and self.net_volume_l > 0):
            raise AdviceError(what=f"a net volume of {self.net_volume_l:g} L", right="Give litres above zero.")
        keys = [item.bottle.key for item in self.shelf]
        for kind, names in (("bottle", keys), ("band for", [band.nutrient for band in self.bands])):
            twice = next((name for name in names if names.count(name) > 1), None)
            if twice is not None:
                raise AdviceError(what=f'two of {kind} "{twice}"', right="Name each once.")
        for pair in self.apart:
            for name in pair:
                if name not in keys:
                    right = f"On the shelf are: {', '.join(keys)}."
                    raise AdviceError(what=f'"{name}" is to be kept apart but is not on the shelf', right=right)
            if pair[0] == pair[1]:
                raise AdviceError(what=f'"{pair[0]}" is to be kept apart from itself', right="Name two bottles.")
        for item in self.shelf:
            price = item.price_per_unit
            if price is not None and not (math.isfinite(price) and price >= 0):
                what = f"a price of {price:g} for {item.bottle.key}"
                raise AdviceError(what=what, right="Give a price of zero or more.")
        if self.aim == "cheapest":
            unpriced = [item.bottle.key for item in self.shelf if item.price_per_unit is None]
            if unpriced:
                right = "State what each pack costs, or ask for the simplest pattern."
                raise AdviceError(what=f"no price is known of {', '.join(unpriced)}", right=right)


@dataclass(frozen=True, slots=True)
class Reached:
    """What a nutrient would do under the advice, mg/L: lowest and highest level, once settled and on the way there."""

    nutrient: str
    lowest: float
    highest: float


@dataclass(frozen=True, slots=True)
class Advice:
    """A weekly pattern: whole `steps` of each bottle on each weekday, as doses, with its price and its levels.

    `proven` is True where the solver proved that no better pattern exists; otherwise none is better by more than `gap`
    (a share of the objective). `price_per_week` is None where a price is unknown. `checks` has a row per band.
    """

    steps_of: Mapping[str, tuple[int, ...]]
    doses: tuple[PlannedDose, ...]
    portions: int
    price_per_week: float | None
    reached: tuple[Reached, ...]
    checks: tuple[CheckRow, ...]
    proven: bool
    gap: float
    derivation: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Loosened:
    """One end of a band that would have to give way: from `wanted` to `needed`, mg/L; `words` says so."""

    nutrient: str
    end: Literal["floor", "ceiling"]
    wanted: float
    needed: float

    @property
    def words(self) -> str:
        """The change in words: "raise the ceiling of nitrate from 20 to 23.4 mg/L"."""
        verb = "raise" if self.end == "ceiling" else "lower"
        return f"{verb} the {self.end} of {self.nutrient} from {self.wanted:.4g} to {self.needed:.4g} mg/L"


@dataclass(frozen=True, slots=True)
class NothingFits:
    """No pattern keeps every band. `smallest` loosens the fewest shares of the bands; `advice` is what then fits.

    The size of a loosening is its share of the band's own end, and the sum of these is smallest. `advice` is None only
    where no loosening of bands helps.
    """

    smallest: tuple[Loosened, ...]
    advice: Advice | None

    @property
    def words(self) -> str:
        """The smallest change in one sentence."""
        return "; ".join(change.words for change in self.smallest) or "no loosening of the bands makes anything fit"


@dataclass(frozen=True, slots=True)
class ConstraintPrice:
    """What one wish costs: the best price and portions without it, and how much that saves; None where nothing fits.

    `frees` is True where, without this wish alone, something fits that did not before.
    """

    wish: str
    price_per_week: float | None
    portions: int | None
    saves_price: float | None
    saves_portions: int | None
    frees: bool
    words: str


def doses_of(question: DoseQuestion, steps_of: Mapping[str, tuple[int, ...]]) -> tuple[PlannedDose, ...]:
    """Return steps per bottle and weekday (7 of each) as planned doses, equal doses of a bottle together."""
    doses = []
    for item in question.shelf:
        steps = steps_of[item.bottle.key]
        for count in sorted({count for count in steps if count}, reverse=True):
            amount = count * item.tool.step
            ml, g = (None, amount) if item.tool.unit == "g" else (amount, None)
            days = tuple(day for day in range(7) if steps[day] == count)
            doses.append(PlannedDose(item.bottle.key, days, ml=ml, g=g, written=item.tool.written(count)))
    return tuple(doses)


def days_words(days: tuple[int, ...]) -> str:
    """Return weekdays (0 is Monday) in short, in the week's order."""
    return ", ".join(WEEKDAYS[day] for day in sorted(set(days)))
