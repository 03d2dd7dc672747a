"""Which regime a tank has on which day."""

from __future__ import annotations

from littoral.feeding.regimes import Regime
from littoral.trial.model import Trial
from littoral.trial.periods import arm_on


def regime_on(trial: Trial, tank: str, day: float) -> Regime | None:
    """Return the regime of a tank on a day (days since day 0): the baseline's first, then its arm's; None: nothing.

    In a crossover the arms exchange their regimes from period to period.
    """
    key = trial.baseline_regime if day < trial.baseline_days else arm_on(trial, tank, day).regime
    return None if key is None else trial.regimes[key]
