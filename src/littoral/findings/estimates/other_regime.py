"""What if a tank were fed otherwise from now on: the same draws, other doses and changes."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from littoral.errors import Fault, FaultsError
from littoral.feeding.regimes import Regime
from littoral.findings.estimates.ahead import planned_ahead
from littoral.findings.estimates.days import days_to_draw
from littoral.findings.estimates.estimated import DAYS_AHEAD
from littoral.findings.estimates.fitting import thinned
from littoral.findings.estimates.model import Estimates
from littoral.tank.fit.forecast import Bands, what_if
from littoral.trial.model import Band, Trial
from littoral.trial.regime_on import regime_on

QUICK_DRAWS = 512
"""Draws behind an answer while somebody drags a dose; the bands then wobble by a few in 100 of their width."""
MOST_TIMES = 100.0
"""A dose may be made this many times as large; more is a slip of the hand."""
LEAST_REACH = 1.0
"""mL or g that any dose may be raised to, however small it is in the plan."""


def regime_now(trial: Trial, tank: str, *, now_day: float) -> Regime | None:
    """Return the regime that a tank is on at `now_day`, or was on when the trial ended; None where nothing is dosed."""
    return regime_on(trial, tank, min(now_day, trial.length_days - 1))


def changed_regime(
    regime: Regime,
    *,
    doses: Mapping[int, float] | None = None,
    shares: Mapping[int, float] | None = None,
) -> Regime:
    """Return a regime with other amounts: by place in `regime.doses` (mL or g) and in `regime.changes` (0 to 1).

    Raises FaultsError that names every amount which cannot be.
    """
    faults = [*_dose_faults(regime, doses or {}), *_share_faults(regime, shares or {})]
    if faults:
        raise FaultsError(faults)
    new_doses = []
    for at, dose in enumerate(regime.doses):
        amount = (doses or {}).get(at)
        if amount is None:
            new_doses.append(dose)
        elif amount > 0:
            unit = {"ml": amount} if dose.ml is not None else {"g": amount}
            new_doses.append(replace(dose, written="", **unit))  # type: ignore[arg-type]
    changes = [replace(change, share=(shares or {}).get(at, change.share)) for at, change in enumerate(regime.changes)]
    return replace(
        regime,
        doses=tuple(new_doses),
        changes=tuple(one for one in changes if one.share > 0),
    )


def other_bands(
    trial: Trial,
    estimates: Estimates,
    *,
    tank: str,
    regime: Regime,
    nutrients: Sequence[str] | None = None,
) -> tuple[Bands, ...]:
    """Return the levels of one tank over the two weeks to come, had it this regime from now on; mg/L.

    Raises FitError for a tank that is not followed.
    """
    quick = thinned(estimates.posterior, QUICK_DRAWS)
    wanted = estimates.nutrients if nutrients is None else tuple(nutrients)
    now_day, found = estimates.now_day, []
    for nutrient in wanted:
        own = quick.of(tank, nutrient).layout.tank(tank)
        events = planned_ahead(
            trial, own, from_day=now_day, to_day=now_day + DAYS_AHEAD, regime=regime, entries=estimates.kept.entries
        )
        every = days_to_draw((*own.events, *events), to_day=now_day + DAYS_AHEAD)
        band = trial.bands.get(nutrient, Band())
        found.append(
            what_if(
                quick,
                tank=tank,
                nutrient=nutrient,
                days=every[every >= now_day],
                events=events,
                from_day=now_day,
                floor_mg_per_l=band.floor_mg_per_l,
                ceiling_mg_per_l=band.ceiling_mg_per_l,
            )
        )
    return tuple(found)


def _dose_faults(regime: Regime, doses: Mapping[int, float]) -> list[Fault]:
    faults = []
    for at, amount in doses.items():
        if not 0 <= at < len(regime.doses):
            faults.append(
                Fault(
                    f"There is no dose {at + 1}.",
                    f"The regime has {len(regime.doses)}.",
                    f"dose {at + 1}",
                )
            )
            continue
        dose = regime.doses[at]
        most = max(
            MOST_TIMES * (dose.ml if dose.ml is not None else dose.g or 0.0),
            LEAST_REACH,
        )
        if not (math.isfinite(amount) and 0 <= amount <= most):
            unit = "mL" if dose.ml is not None else "g"
            faults.append(
                Fault(
                    f"{amount:g} {unit} is no dose.",
                    f"Give 0 to {most:g} {unit}.",
                    f"dose {at + 1}",
                )
            )
    return faults


def _share_faults(regime: Regime, shares: Mapping[int, float]) -> list[Fault]:
    faults = []
    for at, share in shares.items():
        if not 0 <= at < len(regime.changes):
            right = f"The regime has {len(regime.changes)}."
            faults.append(Fault(f"There is no change {at + 1}.", right, f"change {at + 1}"))
        elif not (math.isfinite(share) and 0 <= share <= 1):
            faults.append(
                Fault(
                    f"A change of {share:g} of the water.",
                    "Give a share from 0 to 1.",
                    f"change {at + 1}",
                )
            )
    return faults
