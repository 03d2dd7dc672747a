"""Doses of one's own bottles that add what a protocol asks for, whatever the protocol's bottles were."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from littoral.feeding.bottles import Bottle

SMALLEST_ML = 0.1
"""The step of a small syringe, mL: common practice, no source."""
SMALLEST_G = 0.01
"""The step of a small balance, g: common practice, no source."""
OF_NO_USE = 0.02
"""A bottle that brings less than this share of what is asked for is left out: common practice, no source."""


@dataclass(frozen=True, slots=True)
class MatchedDose:
    """One dose of a bottle: how much, in mL or g, and as a person measures it ("2 strokes")."""

    of: str
    amount: float
    written: str


@dataclass(frozen=True, slots=True)
class Matched:
    """Doses given at one time, and what they add, mg/L, beside what was asked for."""

    doses: tuple[MatchedDose, ...]
    asked_mg_per_l: Mapping[str, float]
    added_mg_per_l: Mapping[str, float]


def matched(asked_mg_per_l: Mapping[str, float], bottles: Sequence[Bottle], *, net_volume_l: float) -> Matched:
    """Return doses of some bottles that come nearest to what is asked for at one time, mg/L of each nutrient.

    Nearest by non-negative least squares on the shares missed (Lawson & Hanson 1974, by scipy); nutrients that nobody
    asked for count against a bottle only where it brings nothing else. Doses are whole strokes, drops, 0.1 mL or
    0.01 g. Nothing is dosed where no bottle holds anything that is asked for. ValueError for a volume not above zero.
    """
    if not net_volume_l > 0:
        raise ValueError(f"net_volume_l must be above zero, not {net_volume_l}")
    asked = {key: value for key, value in asked_mg_per_l.items() if value > 0}
    useful = [bottle for bottle in bottles if any(_content(bottle).get(key, 0.0) > 0 for key in asked)]
    if not asked or not useful:
        return Matched((), dict(asked), {})
    import numpy as np
    from scipy.optimize import nnls

    shares = np.array(
        [[_content(bottle).get(key, 0.0) / net_volume_l / want for bottle in useful] for key, want in asked.items()]
    )
    largest = shares.max(axis=0)  # so that a strong bottle and a weak one weigh alike
    amounts = nnls(shares / largest, np.ones(len(asked)))[0] / largest
    doses = []
    added: dict[str, float] = {}
    for bottle, amount in zip(useful, amounts, strict=True):
        step, unit = _step(bottle)
        steps = round(float(amount) / step)
        if steps == 0 or steps * step * max(shares[:, useful.index(bottle)]) < OF_NO_USE:
            continue
        written = (
            f"{steps} {unit}{'s' if steps > 1 else ''}" if unit in ("stroke", "drop") else f"{steps * step:.6g} {unit}"
        )
        doses.append(MatchedDose(bottle.key, steps * step, written))
        for key, content in _content(bottle).items():
            added[key] = added.get(key, 0.0) + content * steps * step / net_volume_l
    return Matched(tuple(doses), dict(asked), added)


def _content(bottle: Bottle) -> Mapping[str, float]:
    return bottle.content_mg_per_g if bottle.dry_formula else bottle.content_mg_per_ml


def _step(bottle: Bottle) -> tuple[float, str]:
    if bottle.dry_formula:
        return SMALLEST_G, "g"
    if bottle.stroke_ml is not None:
        return bottle.stroke_ml, "stroke"
    return (bottle.drop_ml, "drop") if bottle.drop_ml is not None else (SMALLEST_ML, "mL")
