"""The fit's own levels, without its doubts, against the exact levels of `littoral.tank.levels`; and what doubts do."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from littoral.tank.events import TankEvent
from littoral.tank.fit.forward import TankDraws, levels_of
from littoral.tank.fit.kept_tank import KeptTank, stretches
from littoral.tank.fit.methods import FitError
from littoral.tank.kinetics import Kinetics, MichaelisMenten
from littoral.tank.levels import levels

DAYS = np.array([0.0, 0.3, 0.5, 3.0, 7.4999, 7.5, 10.2, 20.0, 28.0])
EVENTS = (
    TankEvent(0.5, np.array([200.0])),
    TankEvent(3.25, np.array([150.0]), share_changed=0.2, topped_up_l=1.0),
    TankEvent(7.5, share_changed=0.5),
    TankEvent(12.0, np.array([400.0])),
    TankEvent(21.5, share_changed=1.0),
    TankEvent(22.0, np.array([100.0]), topped_up_l=5.0),
)


def draws(n: int, stretch_count: int) -> TankDraws:
    rng = np.random.default_rng(3)
    each = np.exp(0.7 * rng.standard_normal((6, n))) * np.array([[1.5], [3.0], [0.3], [60.0], [5.0], [10.0]])
    return TankDraws(*each, np.ones(n), np.ones(n), np.zeros((n, stretch_count)))


@pytest.mark.parametrize("evaporation", [0.0, 0.4])
@pytest.mark.parametrize("water", ["pure water", "source water"])
@pytest.mark.parametrize("grown", [False, True])
def test_without_doubts_it_is_the_exact_balance(evaporation: float, water: str, grown: bool) -> None:
    plants = {"biomass_day": np.array([0.0, 28.0]), "biomass": np.array([1.0, 2.0])} if grown else {}
    tank = KeptTank("t", "a", ("nitrate",), EVENTS, 50.0, evaporation, water, **plants)  # type: ignore[arg-type]
    pieces = stretches(tank.course("nitrate"), DAYS)
    ours = draws(300, len(pieces.days))
    exact = levels(
        tank.course("nitrate"),
        Kinetics(
            MichaelisMenten(ours.v_mg_per_l_per_day, ours.k_mg_per_l), ours.source_mg_per_l,
            ours.start_mg_per_l, ours.release_mg_per_l_per_day, ours.fade_days,
        ),
        DAYS, tolerance_mg_per_l=0.01,
    )  # fmt: skip
    error = np.abs(levels_of(pieces, ours) - exact)
    assert np.quantile(error, 0.99) < 0.1
    assert error.max() < 1.0


def test_doses_and_changes_carry_their_own_error() -> None:
    tank = KeptTank(
        "t", "a", ("nitrate",), (TankEvent(1.0, np.array([500.0])), TankEvent(2.0, share_changed=0.5)), 50.0
    )
    pieces = stretches(tank.course("nitrate"), [1.0, 2.0])
    none = np.full(2, 1e-12)
    ours = TankDraws(
        none, np.ones(2), none, np.ones(2), np.zeros(2), np.full(2, 4.0),
        dose_factor=np.array([1.0, 1.2]), change_power=np.array([1.0, 2.0]), log_drift=np.zeros((2, len(pieces.days))),
    )  # fmt: skip
    assert levels_of(pieces, ours) == pytest.approx(np.array([[14.0, 7.0], [16.0, 4.0]]))


def test_more_uptake_never_leaves_more() -> None:
    tank = KeptTank("t", "a", ("nitrate",), EVENTS, 50.0)
    pieces = stretches(tank.course("nitrate"), DAYS)
    ours = draws(100, len(pieces.days))
    more = replace(ours, log_drift=ours.log_drift + 0.3)
    assert (levels_of(pieces, more) <= levels_of(pieces, ours) + 1e-9).all()


def test_days_before_the_record_are_refused() -> None:
    tank = KeptTank("t", "a", ("nitrate",), EVENTS, 50.0)
    with pytest.raises(FitError, match="begins at day 0"):
        stretches(tank.course("nitrate"), [-1.0])
    with pytest.raises(FitError, match="has no iron"):
        tank.course("iron")
