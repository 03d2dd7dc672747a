"""From standard normal columns to what tanks are like: who shares what. The prior is the standard normal itself.

Shared by all tanks of a fit: half level, release, its fading, source water, and the bias of each method. Own to each
tank: start level, errors of doses and changes, drift of uptake. Uptake: one value for the group, arms around it (where
there are several), tanks around their arm (where an arm has several), with a spread between tanks that is fitted too.

Drift is a random walk of the logarithm of uptake (Brownian), by its first three sine modes over the days with readings
(Karhunen-Loève; they hold 93 % of its variance); after the last reading it walks on freely.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr, ndtri

from littoral.tank.events import FloatArray
from littoral.tank.fit.forward import TankDraws
from littoral.tank.fit.kept_tank import KeptTank, Stretches
from littoral.tank.fit.priors import LogNormal, NutrientPriors, Priors

DRIFT_MODES = 3
SHARED = ("half_level", "release", "fade_days", "source", "uptake")
OWN = ("start", "dose", "change", *(f"drift {k}" for k in range(DRIFT_MODES)))


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """Which column of z, shape (draws, len(columns)), stands for what, for one nutrient of one group of tanks."""

    nutrient: str
    tanks: tuple[KeptTank, ...]
    methods: tuple[str, ...]
    priors: Priors
    fitted_days: tuple[float, ...]
    """Days over which each tank's drift is fitted, from its start."""
    columns: tuple[str, ...]

    def column(self, z: FloatArray, name: str) -> FloatArray:
        """Return one column of z, shape (draws,)."""
        return z[:, self.columns.index(name)]

    def has(self, name: str) -> bool:
        """Return whether there is such a column."""
        return name in self.columns

    def tank(self, key: str) -> KeptTank:
        """Return a tank by its key."""
        return next(tank for tank in self.tanks if tank.key == key)


def layout_of(
    nutrient: str, tanks: Sequence[KeptTank], methods: Sequence[str], priors: Priors, fitted_days: Sequence[float]
) -> Layout:
    """Lay out the columns of one nutrient of a group of tanks that share what they share."""
    columns = [*SHARED, *(f"bias {method}" for method in methods)]
    arms = list(dict.fromkeys(tank.arm for tank in tanks))
    if len(arms) > 1:
        columns += [f"arm {arm}" for arm in arms]
    if len(tanks) > len(arms):
        columns += ["between tanks", *(f"tank {tank.key}" for tank in tanks)]
    columns += [f"{name} {tank.key}" for tank in tanks for name in OWN]
    return Layout(nutrient, tuple(tanks), tuple(methods), priors, tuple(fitted_days), tuple(columns))


def log_bias(layout: Layout, z: FloatArray, method: str) -> FloatArray:
    """Return the natural logarithm of a method's bias, shape (draws,)."""
    known = layout.priors.methods[method]
    return known.bias_log_mean + known.bias_log_sd * layout.column(z, f"bias {method}")


def tank_draws(
    layout: Layout, z: FloatArray, key: str, stretches: Stretches, walk_on: FloatArray | None = None
) -> TankDraws:
    """Return what one tank is like in each draw, with its drift in each stretch; `walk_on` as `log_drift` takes it."""
    priors, rows = layout.priors, layout.priors.nutrients[layout.nutrient]

    def value(prior: LogNormal, name: str) -> FloatArray:
        drawn: FloatArray = prior.median * np.exp(prior.log_sd * layout.column(z, name))
        return drawn

    start = priors.start_of_tank.get((key, layout.nutrient), rows.start)
    return TankDraws(
        v_mg_per_l_per_day=_uptake(layout, z, key, rows),
        k_mg_per_l=value(rows.half_level, "half_level"),
        release_mg_per_l_per_day=value(rows.release, "release"),
        fade_days=value(rows.fade_days, "fade_days"),
        source_mg_per_l=value(rows.source, "source"),
        start_mg_per_l=value(start, f"start {key}"),
        dose_factor=np.exp(priors.dose.log_sd * layout.column(z, f"dose {key}")),
        change_power=np.exp(priors.change.log_sd * layout.column(z, f"change {key}")),
        log_drift=log_drift(layout, z, key, stretches.middle - stretches.course.day[0], walk_on),
    )


def log_drift(
    layout: Layout, z: FloatArray, key: str, days_since_start: FloatArray, walk_on: FloatArray | None = None
) -> FloatArray:
    """Return the drift of the logarithm of uptake on some days, shape (draws, n_days).

    `walk_on` (draws, weeks), standard normal, are the weekly steps after the last reading; without it uptake stays.
    """
    index = [tank.key for tank in layout.tanks].index(key)
    fitted = layout.fitted_days[index]
    along = np.clip(days_since_start / fitted, 0.0, 1.0)
    halves = (np.arange(DRIFT_MODES) + 0.5) * np.pi
    modes = np.sqrt(2.0 * fitted / 7.0) / halves[:, None] * np.sin(halves[:, None] * along)  # (modes, n_days)
    normals = np.stack([layout.column(z, f"drift {k} {key}") for k in range(DRIFT_MODES)], axis=1)
    walked: FloatArray = np.einsum("im,md->id", normals, modes)
    weeks_on = np.maximum(days_since_start - fitted, 0.0) / 7.0
    if walk_on is not None and weeks_on.any():
        reached = np.concatenate([np.zeros((len(z), 1)), np.cumsum(walk_on, axis=1)], axis=1)
        whole = np.minimum(weeks_on.astype(int), walk_on.shape[1] - 1)
        part = np.minimum(weeks_on - whole, 1.0)
        walked = walked + reached[:, whole] * (1.0 - part) + reached[:, whole + 1] * part
    return layout.priors.drift_per_week.log_sd * walked


def _uptake(layout: Layout, z: FloatArray, key: str, rows: NutrientPriors) -> FloatArray:
    log_uptake = np.log(rows.uptake.median) + rows.uptake.log_sd * layout.column(z, "uptake")
    arm = f"arm {layout.tank(key).arm}"
    if layout.has(arm):
        log_uptake = log_uptake + layout.priors.between_arms.log_sd * layout.column(z, arm)
    if layout.has("between tanks"):
        # a half-normal: the absolute value would give two mirrored answers
        half_normal = ndtri(0.5 + 0.5 * ndtr(layout.column(z, "between tanks")))
        spread = layout.priors.between_tanks.log_sd * np.minimum(half_normal, 8.0)
        log_uptake = log_uptake + spread * layout.column(z, f"tank {key}")
    uptake: FloatArray = np.exp(log_uptake)
    return uptake
