"""What is likely before any reading: `priors.toml`, each number with its source, and how a keeper replaces one."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from functools import cache
from importlib import resources
from typing import Any

from littoral.tank.fit.methods import FitError, Method


@dataclass(frozen=True, slots=True)
class LogNormal:
    """A prior: `median`, standard deviation of the natural logarithm, and where both come from."""

    median: float
    log_sd: float
    source: str

    def __post_init__(self) -> None:
        if not (self.median > 0 and math.isfinite(self.median) and self.log_sd > 0 and math.isfinite(self.log_sd)):
            raise FitError([f"A prior of median {self.median:g} and log_sd {self.log_sd:g}. Give both above zero."])


@dataclass(frozen=True, slots=True)
class NutrientPriors:
    """Priors of one nutrient, mg/L and days; what each stands for is said at the head of `priors.toml`."""

    uptake: LogNormal
    half_level: LogNormal
    release: LogNormal
    fade_days: LogNormal
    source: LogNormal
    start: LogNormal


@dataclass(frozen=True, slots=True)
class Spread:
    """Standard deviation of a natural logarithm, and where it comes from."""

    log_sd: float
    source: str


@dataclass(frozen=True, slots=True)
class Priors:
    """All priors of a fit. `methods` by the key that readings name; the rest as at the head of `priors.toml`."""

    nutrients: Mapping[str, NutrientPriors]
    methods: Mapping[str, Method]
    dose: Spread
    change: Spread
    drift_per_week: Spread
    between_tanks: Spread
    between_arms: Spread
    start_of_tank: Mapping[tuple[str, str], LogNormal] = field(default_factory=dict)
    """Start levels known of one tank, by (tank, nutrient)."""


def default_priors(methods: Mapping[str, Method]) -> Priors:
    """Return the priors of `priors.toml` with a keeper's own methods."""
    table = _table()
    nutrients = {
        key: NutrientPriors(**{f.name: LogNormal(**row[f.name]) for f in fields(NutrientPriors)})
        for key, row in table["nutrient"].items()
    }
    spreads: dict[str, Any] = {key: Spread(**row) for key, row in table["spread"].items()}
    return Priors(nutrients=nutrients, methods=dict(methods), **spreads)


def usual_method(
    kind: str, *, borders_mg_per_l: Sequence[float] = (), top_mg_per_l: float = 100.0, key: str | None = None
) -> Method:
    """Return "colour_steps", "photometer" or "drops_counted" with its usual doubts. Raises FitError for others.

    `top_mg_per_l` is the end of an instrument's range: its absolute error is a hundredth of it.
    """
    table = _table()["method"]
    if kind not in table:
        raise FitError([f"No usual method {kind!r}. There are {', '.join(table)}."])
    row = dict(table[kind])
    absolute_sd = row.pop("absolute_share_of_top", 0.0) * top_mg_per_l
    return Method(
        key=key or kind, borders_mg_per_l=tuple(borders_mg_per_l), top_mg_per_l=top_mg_per_l,
        absolute_sd_mg_per_l=absolute_sd, **row,
    )  # fmt: skip


def with_prior(priors: Priors, nutrient: str, name: str, prior: LogNormal) -> Priors:
    """Return priors with one row replaced: `name` is a field of NutrientPriors, as "source" from a water report."""
    rows = {**priors.nutrients, nutrient: replace(_rows_of(priors, nutrient), **{name: prior})}
    return replace(priors, nutrients=rows)


def with_width(priors: Priors, factor: float) -> Priors:
    """Return priors with every log_sd multiplied by `factor`, for the sensitivity check. Methods stay as they are."""

    def wider(prior: LogNormal) -> LogNormal:
        return replace(prior, log_sd=prior.log_sd * factor)

    nutrients = {
        key: NutrientPriors(**{f.name: wider(getattr(row, f.name)) for f in fields(NutrientPriors)})
        for key, row in priors.nutrients.items()
    }
    spreads: dict[str, Any] = {
        name: replace(getattr(priors, name), log_sd=getattr(priors, name).log_sd * factor)
        for name in ("dose", "change", "drift_per_week", "between_tanks", "between_arms")
    }
    starts = {key: wider(prior) for key, prior in priors.start_of_tank.items()}
    return replace(priors, nutrients=nutrients, start_of_tank=starts, **spreads)


def _rows_of(priors: Priors, nutrient: str) -> NutrientPriors:
    if nutrient not in priors.nutrients:
        raise FitError([f"No priors for {nutrient}. There are some for {', '.join(priors.nutrients)}; give your own."])
    return priors.nutrients[nutrient]


@cache
def _table() -> dict[str, Any]:
    text = resources.files("littoral.tank.fit").joinpath("priors.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)
