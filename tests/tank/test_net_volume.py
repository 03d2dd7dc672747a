"""Net volume: geometry, what displaces water, and measures that contradict each other."""

from __future__ import annotations

from dataclasses import replace

import pytest

from littoral.tank.volume import Vessel, VolumeError, net_volume_l

TANK = Vessel(100.0, 40.0, 45.0, 43.0, substrate_cm=5.0, substrate_porosity=0.40, stone_kg=6.0)


def test_worked_example() -> None:
    # CHECKS: 172.0 L of glass, 20 L of substrate of which 12.0 L solid, 2.264 L of stone: 157.736 L
    assert round(net_volume_l(TANK), 3) == 157.736


def test_wood_displaces_its_litres() -> None:
    assert net_volume_l(replace(TANK, wood_l=1.5)) == pytest.approx(net_volume_l(TANK) - 1.5, rel=1e-14)


def test_a_measured_volume_overrides_the_geometry() -> None:
    assert net_volume_l(replace(TANK, net_l=150.0)) == 150.0


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"fill_cm": 46.0}, "filled to 46 cm, but the glass is 45 cm high"),
        ({"substrate_cm": 44.0}, "substrate of 44 cm is higher than the water"),
        ({"substrate_porosity": 1.0}, "substrate porosity 1"),
        ({"stone_kg": 6000.0}, "substrate, stone and wood take 2276 L of 172 L"),
        ({"net_l": 1500.0}, "a measured net volume of 1500 L in glass that holds 172 L"),
        ({"wood_l": -1.0}, "wood_l is -1"),
        ({"length_cm": 0.0}, "length_cm is 0"),
        ({"stone_density": float("nan")}, "stone_density is nan"),
    ],
)
def test_measures_that_cannot_be(change: dict[str, float], message: str) -> None:
    with pytest.raises(VolumeError, match="tank volume: ") as refusal:
        net_volume_l(replace(TANK, **change))
    assert message in str(refusal.value)
    assert refusal.value.right
