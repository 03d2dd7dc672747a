"""Which regime a tank has on which day."""

from __future__ import annotations

from littoral.feeding.regimes import Regime
from littoral.trial.model import Trial


def regime_on(trial: Trial, tank: str, day: float) -> Regime | None:
    """Return the regime of a tank on a day (days since day 0): the baseline's first, then its arm's; None: nothing."""
    key = trial.baseline_regime if day < trial.baseline_days else trial.arm_of(tank).regime
    return None if key is None else trial.regimes[key]
