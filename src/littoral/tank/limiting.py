"""Which nutrient holds growth back, by Liebig's law of the minimum, with the doubt of levels and of plants' needs.

Two pictures, since each answers another question. By *uptake*: how fast is each nutrient taken up at its level,
S / (K + S) of its fastest; the smallest share limits growth now. By *stock*: how much plant could be built from what is
there before the next dose; the nutrient that builds least runs out first. Plants' needs come as wide ranges
(`chemistry/requirements.toml`), so the answer is a probability, and often an open one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.package_data import table
from littoral.chemistry.symptoms import CauseRow
from littoral.chemistry.weights import formula_weight
from littoral.errors import LittoralError
from littoral.quantities.derivation import Step

FloatArray = NDArray[np.float64]
NINE_IN_TEN = 1.6449
"""Standard deviations to each end of a range that holds 9 of 10 of a normal distribution."""
ENOUGH = 0.9
"""Where the scarcest nutrient allows this share of the fastest growth, none is said to limit; common practice."""
CLEAR = 0.8
"""A probability from here on is called clear; common practice, no source."""
ALSO_LIGHT = "Light and CO2 are not in this picture; under weak light no nutrient limits."


class LimitingError(LittoralError):
    """Levels or needs from which no limiting nutrient can be told."""

    def __init__(self, *, what: str, right: str) -> None:
        self.what = what
        self.right = right
        super().__init__(f"limiting nutrient: {what}. {right}")


@dataclass(frozen=True, slots=True)
class Limiting:
    """Probabilities (0 to 1, by element) that a nutrient is the scarcest; with `none` they add up to one.

    `none` is the probability that even the scarcest is there in plenty, always 0 by stock. `scarcest`: the median over
    draws and a 90 % band of what the scarcest allows, a share of the fastest growth, or g of dry plant per litre.
    """

    by: Literal["uptake", "stock"]
    probability: Mapping[str, float]
    none: float
    scarcest: tuple[float, float, float]
    unit: str
    comment: str
    steps: tuple[Step, ...]

    @property
    def likeliest(self) -> str:
        """The element that most probably limits."""
        return max(self.probability, key=lambda key: self.probability[key])

    @property
    def clear(self) -> bool:
        """Whether one element limits with a probability of at least CLEAR."""
        return self.probability[self.likeliest] >= CLEAR


@dataclass(frozen=True, slots=True)
class Agreement:
    """Whether the model and what leaves look like point the same way, in a sentence; `elements` are those in common."""

    verdict: Literal["agree", "conflict", "cannot tell"]
    elements: tuple[str, ...]
    comment: str


def limits_by_uptake(
    level_mg_per_l: Mapping[str, ArrayLike],
    *,
    rng: np.random.Generator,
    half_saturation_umol_per_l: Mapping[str, tuple[float, float]] | None = None,
) -> Limiting:
    """Return which nutrient limits uptake now. Levels: (draws,) in mg/L by nutrient, as the ion.

    Nitrate, nitrite, ammonium and urea count together as N. `half_saturation_umol_per_l` gives (low, high) by element,
    9 of 10 within, log-normal; without it the table's. Elements without one are left out. Source: Liebig's minimum over
    Michaelis-Menten shares; ranges: `chemistry/requirements.toml`. Raises LimitingError.
    """
    of = table("requirements")["half"]
    ranges = {key: (row["low_umol_per_l"], row["high_umol_per_l"]) for key, row in of.items()}
    sources = {key: row["source"] for key, row in of.items()}
    if half_saturation_umol_per_l is not None:
        ranges = dict(half_saturation_umol_per_l)
        sources = dict.fromkeys(ranges, "given")
    element = _elements(level_mg_per_l, ranges)
    shares, steps = {}, []
    for key, mg_per_l in element.items():
        low, high = _range(key, *ranges[key])
        half = _drawn(low, high, mg_per_l.size, rng)
        umol = 1000.0 * mg_per_l / formula_weight(key)
        shares[key] = umol / (half + umol)
        formula = f"S / (K + S), S {np.median(umol):.3g} µmol/L, K {low:g} to {high:g} µmol/L"
        steps.append(
            Step(f"uptake of {key}", formula, f"{100 * np.median(shares[key]):.0f} % of the fastest", sources[key])
        )
    return _limiting("uptake", shares, "of the fastest growth", steps)


def limits_by_stock(level_mg_per_l: Mapping[str, ArrayLike], *, rng: np.random.Generator) -> Limiting:
    """Return which nutrient would run out first if plants grew on what is in the water alone. Levels as above.

    Each nutrient builds level / critical tissue share, g of dry plant per litre; the least is the limit. Source:
    Liebig's minimum; tissue: Gerloff & Krombholz 1966 and Gerloff 1973 (from memory). Raises LimitingError.
    """
    of = table("requirements")["tissue"]
    element = _elements(level_mg_per_l, of)
    built, steps = {}, []
    for key, mg_per_l in element.items():
        needs, spread = of[key]["mg_per_g"], of[key]["spread"]
        built[key] = mg_per_l / _drawn(needs / spread, needs * spread, mg_per_l.size, rng)
        formula = f"{np.median(mg_per_l):.3g} mg/L of {key} / {needs:g} mg/g, needs within x/÷ {spread:g}"
        steps.append(Step(f"plant from {key}", formula, f"{np.median(built[key]):.3g} g dry/L", of[key]["source"]))
    return _limiting("stock", built, "g of dry plant per litre", steps)


def agreement_with_symptoms(limiting: Limiting, rows: Sequence[CauseRow]) -> Agreement:
    """Return whether the model agrees with the keeper's signs (rows of `chemistry.symptoms.causes`).

    Only causes in the front rank count: those within 0.2 of the best agreement. Raises nothing.
    """
    best = max((row.agreement for row in rows), default=0.0)
    front = [row for row in rows if row.agreement >= best - 0.2 and row.agreement > 0]
    nutrients = [row for row in front if row.key in NUTRIENTS_OF_ELEMENT]
    if not nutrients:
        comment = "What was seen points at no nutrient." if front else "Nothing was seen that points anywhere."
        return Agreement("cannot tell", (), f"{comment} {limiting.comment}")
    names = " or ".join(row.name for row in nutrients)
    known = [row for row in nutrients if row.key in limiting.probability]
    if not known:
        comment = f"The leaves point at {names}, of which no level is known: test it, or let the leaves decide."
        return Agreement("cannot tell", (), comment)
    together = tuple(row.key for row in known if limiting.probability[row.key] >= 0.3)
    if together:
        comment = f"Leaves and levels point the same way: {' or '.join(map(name_of, together))}."
        return Agreement("agree", together, comment)
    if limiting.none >= CLEAR or all(limiting.probability[row.key] < 0.05 for row in known):
        low = "none is short" if limiting.none >= CLEAR else f"{name_of(limiting.likeliest)} is the scarcest"
        comment = (
            f"Leaves and levels disagree: the leaves point at {names}, by the levels {low}. Perhaps a test reads off, "
            "the plant cannot get at what is there, or the leaves show an older lack or another cause."
        )
        return Agreement("conflict", (), comment)
    return Agreement("cannot tell", (), f"The leaves point at {names}; the levels neither bear it out nor rule it out.")


NUTRIENTS_OF_ELEMENT: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        element: tuple(key for key, one in NUTRIENTS.items() if one.element == element)
        for element in ("N", "P", "K", "Ca", "Mg", "S", "Fe", "Mn", "Zn", "Cu", "Mo", "B")
    }
)
"""Which of Littoral's nutrients bring an element."""


def name_of(element: str) -> str:
    """Return an element's name for a reader. KeyError for one that is no nutrient here."""
    named = {"N": "nitrogen", "P": "phosphorus", "S": "sulphur"}
    return named.get(element) or NUTRIENTS[NUTRIENTS_OF_ELEMENT[element][0]].name


def _elements(level_mg_per_l: Mapping[str, ArrayLike], wanted: Mapping[str, object]) -> dict[str, FloatArray]:
    """Levels of elements, mg/L, shape (draws,); forms of nitrogen added up."""
    if not level_mg_per_l:
        raise LimitingError(what="no levels are given", right="Give at least two nutrients.")
    arrays = {key: np.atleast_1d(np.asarray(level, dtype=np.float64)) for key, level in level_mg_per_l.items()}
    sizes = {array.size for array in arrays.values()} - {1}
    if len(sizes) > 1 or any(array.ndim != 1 for array in arrays.values()):
        raise LimitingError(what="levels with different numbers of draws", right="Give the same number for each.")
    size = sizes.pop() if sizes else 1
    found: dict[str, FloatArray] = {}
    for key, array in arrays.items():
        if key not in NUTRIENTS:
            raise LimitingError(what=f'"{key[:40]}" is no nutrient', right=f"Use one of: {', '.join(NUTRIENTS)}.")
        if not (np.isfinite(array).all() and (array >= 0).all()):
            raise LimitingError(what=f"a level of {key} below zero or no number", right="Give mg/L, zero or more.")
        element = NUTRIENTS[key].element
        if element in wanted and key != "bicarbonate":
            found[element] = found.get(element, np.zeros(size)) + array * NUTRIENTS[key].element_share
    if len(found) < 2:
        known = ", ".join(wanted)
        raise LimitingError(what="fewer than two elements can be compared", right=f"Give levels of two of: {known}.")
    return found


def _range(key: str, low: float, high: float) -> tuple[float, float]:
    if not (np.isfinite([low, high]).all() and 0 < low <= high):
        raise LimitingError(what=f"half-saturation of {key} from {low:g} to {high:g}", right="Give µmol/L above zero.")
    return low, high


def _drawn(low: float, high: float, size: int, rng: np.random.Generator) -> FloatArray:
    """Log-normal draws, shape (size,), 9 of 10 between low and high."""
    middle, sd = np.log(low * high) / 2.0, np.log(high / low) / (2.0 * NINE_IN_TEN)
    return np.asarray(np.exp(rng.normal(middle, sd, size)))


def _limiting(
    by: Literal["uptake", "stock"], allowed: Mapping[str, FloatArray], unit: str, steps: Sequence[Step]
) -> Limiting:
    keys = list(allowed)
    stacked = np.stack([allowed[key] for key in keys])
    least, which = stacked.min(axis=0), stacked.argmin(axis=0)
    plenty = least >= ENOUGH if by == "uptake" else np.zeros(least.shape, dtype=bool)
    probability = {key: float(np.mean((which == at) & ~plenty)) for at, key in enumerate(keys)}
    none = float(np.mean(plenty))
    low, middle, high = (float(value) for value in np.quantile(least, (0.05, 0.5, 0.95)))
    first = max(probability, key=lambda key: probability[key])
    if none >= CLEAR:
        comment = "By the levels no nutrient is short."
    elif probability[first] >= CLEAR:
        comment = f"By the levels {name_of(first)} is the scarcest, quite clearly."
    else:
        shown = [
            f"{name_of(key)} {100 * p:.0f} %" for key, p in sorted(probability.items(), key=lambda i: -i[1]) if p >= 0.1
        ]
        comment = f"It is open which is the scarcest: {', '.join(shown) or 'none stands out'}."
    what = Step(
        "the scarcest", "the least of them, draw by draw (Liebig)", f"{middle:.3g} {unit}", f"{stacked.shape[1]} draws"
    )
    return Limiting(
        by=by,
        probability=MappingProxyType(probability),
        none=none,
        scarcest=(middle, low, high),
        unit=unit,
        comment=f"{comment} {ALSO_LIGHT}",
        steps=(*steps, what),
    )
