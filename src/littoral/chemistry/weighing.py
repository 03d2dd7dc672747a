"""From a target to a weigh-out list: which grams of which salts, to the step of the scale, and the error that leaves.

Non-negative least squares on relative errors; where the salts can meet the target exactly, they do. Then the best of
all roundings up and down to the scale's step.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from littoral.chemistry.dose_targets import WeighingError, check_target
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.own_substances import OwnSubstance, substance
from littoral.chemistry.recipes import Recipe
from littoral.chemistry.stock import check_amounts, content_of_stock
from littoral.quantities.check_row import CheckRow, Verdict
from littoral.quantities.derivation import Step

MOST_SALTS = 12  # 4096 roundings at most
EXACT = 1e-6  # relative: a target met closer than this is met
WEIGHING_ERROR = 0.02  # common practice, no source


@dataclass(frozen=True, slots=True)
class Reached:
    """One nutrient: what was asked (None where it only comes along), what the salts give before and after rounding.

    All in mg per mL. `error` is what is got over what was asked, less one; None without a target.
    """

    nutrient: str
    asked_mg_per_ml: float | None
    exact_mg_per_ml: float
    got_mg_per_ml: float
    error: float | None


@dataclass(frozen=True, slots=True)
class WeighOut:
    """What to weigh: `grams` to the scale's step, `exact_g` before rounding, both by salt; what it reaches, and rows.

    `met` says whether the salts can meet the whole target, before rounding.
    """

    grams: Mapping[str, float]
    exact_g: Mapping[str, float]
    made_up_to_ml: float
    scale_step_g: float
    reached: tuple[Reached, ...]
    met: bool
    rows: tuple[CheckRow, ...]
    steps: tuple[Step, ...]


def weigh_out(
    target_mg_per_ml: Mapping[str, float],
    salts: Sequence[str],
    *,
    made_up_to_ml: float,
    scale_step_g: float = 0.01,
    own: Sequence[OwnSubstance] = (),
    purity: Mapping[str, float] | None = None,
) -> WeighOut:
    """Return what to weigh of some salts so that the bottle holds the target, mg per mL of each nutrient named.

    A target of zero asks for none of a nutrient; nutrients that are not named may come along and are shown. Where the
    target cannot be met the sum of squared relative errors is the least. `scale_step_g` is what the scale shows (g).
    `purity` is the mass fraction (0 to 1) of those that are not pure, by the same names: more of them is weighed.
    Raises UnknownSaltError; WeighingError, StockError.
    """
    check_target(target_mg_per_ml)
    check_amounts(dict.fromkeys(salts, 0.0), made_up_to_ml, purity)
    _check_scale(scale_step_g)
    found = {this.key: this for this in (substance(name, own) for name in salts)}
    pure = {substance(name, own).key: share for name, share in (purity or {}).items()}
    if len(found) > MOST_SALTS:
        raise WeighingError(what=f"{len(found)} salts at once", right=f"Choose at most {MOST_SALTS}.")
    for key, asked in target_mg_per_ml.items():
        if asked > 0 and not any(this.content_mg_per_g.get(key) for this in found.values()):
            right = f"Add a salt that brings {NUTRIENTS[key].name}."
            raise WeighingError(what=f"none of the salts brings {NUTRIENTS[key].name}", right=right)
    contents = {
        key: {nutrient: mg * pure.get(key, 1.0) for nutrient, mg in this.content_mg_per_g.items()}
        for key, this in found.items()
    }
    exact = _least_squares(target_mg_per_ml, contents, made_up_to_ml)
    check_amounts(exact, made_up_to_ml)
    grams = _rounded(exact, target_mg_per_ml, contents, made_up_to_ml, scale_step_g)
    return _described(target_mg_per_ml, exact, grams, made_up_to_ml, scale_step_g, own, pure)


def weigh_out_recipe(
    recipe: Recipe,
    *,
    times: float,
    made_up_to_ml: float,
    scale_step_g: float = 0.01,
    only: Sequence[str] = (),
    purity: Mapping[str, float] | None = None,
) -> WeighOut:
    """Return what to weigh for a bottle of a published recipe, `times` as strong as the solution that is used.

    `only` names the salts of this bottle, where the recipe is split into several. Each mass is rounded on its own.
    `purity` is the mass fraction (0 to 1) of salts that are not pure. Raises WeighingError, StockError.
    """
    _check_scale(scale_step_g)
    if not (math.isfinite(times) and times > 0):
        raise WeighingError(what=f"{times:g} times as strong", right="Give how many times, above zero: 100.")
    chosen = {substance(name).key for name in only} or set(recipe.salts_mg_per_l)
    if unknown := chosen - set(recipe.salts_mg_per_l):
        what = f"{', '.join(sorted(unknown))} in {recipe.name}"
        raise WeighingError(what=what, right=f"It is made of: {', '.join(recipe.salts_mg_per_l)}.")
    pure = {substance(name).key: share for name, share in (purity or {}).items()}
    check_amounts(dict.fromkeys(chosen, 0.0), made_up_to_ml, pure)
    exact = {
        key: mg * times * made_up_to_ml / 1e6 / pure.get(key, 1.0)
        for key, mg in recipe.salts_mg_per_l.items()
        if key in chosen
    }
    check_amounts(exact, made_up_to_ml)
    grams = {key: _tidy(round(g / scale_step_g), scale_step_g) for key, g in exact.items()}
    target = content_of_stock(exact, made_up_to_ml=made_up_to_ml, purity=pure)
    return _described(target, exact, grams, made_up_to_ml, scale_step_g, (), pure)


def _check_scale(step_g: float) -> None:
    if not (math.isfinite(step_g) and step_g > 0):
        raise WeighingError(what=f"a scale that shows {step_g:g} g", right="Give its smallest step: 0.01 g.")


def _weights(target: Mapping[str, float]) -> dict[str, float]:
    """One over the target; for a target of zero, one over the largest."""
    largest = max(target.values())
    return {key: 1.0 / (value if value > 0 else largest) for key, value in target.items()}


def _least_squares(
    target: Mapping[str, float], contents: Mapping[str, Mapping[str, float]], made_up_to_ml: float
) -> dict[str, float]:
    """Grams by salt; `contents` are mg of each nutrient in a gram of the jar."""
    from scipy.optimize import nnls  # late: 0.6 s

    weight = _weights(target)
    rows = [[weight[key] * content.get(key, 0.0) for content in contents.values()] for key in target]
    wanted = [weight[key] * value for key, value in target.items()]
    matrix = np.array(rows)
    scale = np.where(matrix.max(axis=0) > 0, matrix.max(axis=0), 1.0)
    solution, _ = nnls(matrix / scale, np.array(wanted))
    return {key: float(g) * made_up_to_ml for key, g in zip(contents, solution / scale, strict=True)}


def _rounded(
    exact: Mapping[str, float],
    target: Mapping[str, float],
    contents: Mapping[str, Mapping[str, float]],
    made_up_to_ml: float,
    step_g: float,
) -> dict[str, float]:
    """Of all ways to round each mass down or up, the one with the least squared relative error."""
    weight = _weights(target)
    choices = [
        sorted({math.floor(g / step_g + 1e-9), math.ceil(g / step_g - 1e-9)}) if g > 0 else [0] for g in exact.values()
    ]
    per_step = [
        [weight[key] * content.get(key, 0.0) * step_g / made_up_to_ml for key in target]
        for content in contents.values()
    ]
    wanted = [weight[key] * value for key, value in target.items()]

    counts = np.array(list(product(*choices)))
    errors = ((counts @ np.array(per_step) - np.array(wanted)) ** 2).sum(axis=1)
    best = counts[int(errors.argmin())]
    return {key: _tidy(int(n), step_g) for key, n in zip(exact, best, strict=True)}


def _tidy(count: int, step_g: float) -> float:
    """A number of steps in g, without binary dust: 3 steps of 0.1 are 0.3."""
    return float(f"{count * step_g:.10g}")


def _described(
    target: Mapping[str, float],
    exact: Mapping[str, float],
    grams: Mapping[str, float],
    made_up_to_ml: float,
    step_g: float,
    own: Sequence[OwnSubstance],
    pure: Mapping[str, float],
) -> WeighOut:
    before = content_of_stock(exact, made_up_to_ml=made_up_to_ml, own=own, purity=pure)
    after = content_of_stock(grams, made_up_to_ml=made_up_to_ml, own=own, purity=pure)
    reached = []
    for key in dict.fromkeys([*target, *before]):
        asked = target.get(key)
        error = after.get(key, 0.0) / asked - 1.0 if asked else None
        reached.append(Reached(key, asked, before.get(key, 0.0), after.get(key, 0.0), error))
    largest = max(target.values())
    met = all(
        abs(row.exact_mg_per_ml - row.asked_mg_per_ml) <= EXACT * (row.asked_mg_per_ml or largest)
        for row in reached
        if row.asked_mg_per_ml is not None
    )
    rows = [_scale_row(key, g, step_g) for key, g in exact.items() if g > 0]
    rows += [_reached_row(row) for row in reached if row.error is not None]
    steps = tuple(
        Step(
            f"{NUTRIENTS[row.nutrient].symbol} in the bottle",
            " + ".join(
                f"{g:g} g × {substance(key, own).content_mg_per_g[row.nutrient]:.5g} mg/g{_purity_of(key, pure)}"
                for key, g in grams.items()
                if g > 0 and row.nutrient in substance(key, own).content_mg_per_g
            )
            + f", / {made_up_to_ml:g} mL",
            f"{row.got_mg_per_ml:.5g} mg/mL",
            "standard atomic weights; least squares of relative errors, then the best rounding",
        )
        for row in reached
        if row.got_mg_per_ml > 0
    )
    return WeighOut(dict(grams), dict(exact), made_up_to_ml, step_g, tuple(reached), met, tuple(rows), steps)


def _purity_of(key: str, pure: Mapping[str, float]) -> str:
    return f" × {pure[key]:g} (purity)" if pure.get(key, 1.0) != 1.0 else ""


def _scale_row(key: str, exact_g: float, step_g: float) -> CheckRow:
    """Half a step of the scale over what is weighed."""
    error = 0.5 * step_g / exact_g
    verdict: Verdict = "holds" if error <= WEIGHING_ERROR else ("warns" if error < 0.5 else "fails")
    comment = {
        "holds": "The scale is fine enough.",
        "warns": "So little is weighed badly: make more, or a stronger solution first and measure from that.",
        "fails": "The scale does not see it: make a stronger solution first and measure from that.",
    }[verdict]
    what = f"weighing {exact_g:.4g} g of {key} in steps of {step_g:g} g"
    source = "half a step over the mass; limit: common practice, no source"
    return CheckRow(what, error, "<=", WEIGHING_ERROR, "of the mass", verdict, comment, source)


def _reached_row(row: Reached) -> CheckRow:
    assert row.error is not None
    assert row.asked_mg_per_ml is not None
    verdict: Verdict = "holds" if abs(row.error) <= WEIGHING_ERROR else "warns"
    name = NUTRIENTS[row.nutrient].name
    comment = "As asked." if verdict == "holds" else f"{name} comes out {100 * row.error:+.1f} % off what was asked."
    if verdict == "warns" and abs(row.exact_mg_per_ml / row.asked_mg_per_ml - 1.0) > WEIGHING_ERROR:
        comment += " These salts cannot meet all targets together: add one that brings less of what comes along."
    what = f"{name}: {row.got_mg_per_ml:.4g} mg/mL for {row.asked_mg_per_ml:.4g} asked"
    return CheckRow(
        what, abs(row.error), "<=", WEIGHING_ERROR, "of the target", verdict, comment, "limit: common practice"
    )
