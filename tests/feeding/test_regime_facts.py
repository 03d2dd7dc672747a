"""What a regime is in numbers, scaled, on a pump, and where it may begin."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.feeding.adds import DoseError, week_adds_mg_per_l
from littoral.feeding.bottles import Bottle, Recommended
from littoral.feeding.facts import npk_of, regime_facts
from littoral.feeding.label_words import factor_words
from littoral.feeding.pump_programme import pump_programme
from littoral.feeding.regimes import EveryDays, PlannedChange, PlannedDose, Regime, RegimeError
from littoral.feeding.scaling import scale_regime
from littoral.feeding.starting_points import light_matched, starting_points
from littoral.feeding.tools import Tool, ToolError

MACRO = Bottle("macro", "macro", {"nitrate": 40.0, "phosphate": 4.0, "potassium": 30.0},
               recommended=Recommended(ml=10.0, per_l=50.0, days=7.0))  # fmt: skip
MICRO = Bottle("micro", "micro", {"iron": 2.0})
SALT = Bottle("salt", "salt", content_mg_per_g={"nitrate": 613.0, "potassium": 387.0})
BOTTLES = {bottle.key: bottle for bottle in (MACRO, MICRO, SALT)}
REGIME = Regime("r", "r", (
    PlannedDose("macro", (0, 3), ml=2.5), PlannedDose("micro", (), ml=1.0, every=EveryDays(2)),
    PlannedDose("salt", (5,), g=0.2),
), (PlannedChange(0.4, (5,)),))  # fmt: skip


def test_by_hand() -> None:
    facts = regime_facts(REGIME, BOTTLES, net_volume_l=50.0)
    assert facts.doses[0].adds_mg_per_l == pytest.approx({"nitrate": 2.0, "phosphate": 0.2, "potassium": 1.5})
    assert facts.doses[0].when == "Mon, Thu"
    assert facts.doses[0].steps[0].formula == "2.5 mL × 40 mg/mL / 50 L"
    assert facts.doses[0].steps[0].result == "2 mg/L"
    assert facts.week_mg_per_l["nitrate"] == pytest.approx(4.0 + 0.2 * 613 / 50)
    assert facts.week_mg_per_l["iron"] == pytest.approx(2.0 / 50 * 3.5)
    label = {one.bottle: one for one in facts.labels}
    assert list(label) == ["macro", "micro"]
    assert (label["macro"].ml_per_week, label["macro"].recommended_ml_per_week) == (5.0, 10.0)
    assert label["macro"].words == "half of what the label recommends (0.5 times)"
    assert label["micro"].factor is None


def test_npk_of_equal_moles_is_by_atoms_one_to_one() -> None:
    week = {key: NUTRIENTS[key].weight * 0.3 for key in ("nitrate", "phosphate", "potassium")}
    npk = npk_of(week)
    assert npk.by_atoms == pytest.approx((1.0, 1.0, 1.0))
    assert npk.by_mass == pytest.approx((14.0067 / 30.9738, 1.0, 39.0983 / 30.9738), rel=1e-4)
    assert npk.words == "N:P:K 0.452 : 1 : 1.26 by mass, 1 : 1 : 1 by atoms"
    assert npk_of({"potassium": 2.0, "nitrate": 4.4268 * 4}).by_mass == pytest.approx((2.0, 0.0, 1.0), rel=1e-4)
    assert npk_of({}).by_mass == (0.0, 0.0, 0.0)


@pytest.mark.parametrize(("factor", "words"), [
    (0.0, "none of what the label recommends"),
    (0.1, "a tenth of what the label recommends (0.1 times)"),
    (1.0, "as much as what the label recommends (1 times)"),
    (2.2, "about twice what the label recommends (2.2 times)"),
    (7.0, "7 times what the label recommends"),
])  # fmt: skip
def test_factors_in_words(factor: float, words: str) -> None:
    assert factor_words(factor) == words


def test_no_factor() -> None:
    with pytest.raises(ValueError, match="a factor is zero or more, not -1"):
        factor_words(-1)


@given(st.floats(1, 1000), st.floats(1, 1000))
def test_scaling_keeps_what_a_litre_gets(from_l: float, to_l: float) -> None:
    scaled = scale_regime(REGIME, from_l=from_l, to_l=to_l).regime
    assert scaled.changes == REGIME.changes
    assert week_adds_mg_per_l(scaled, BOTTLES, net_volume_l=to_l) == pytest.approx(
        week_adds_mg_per_l(REGIME, BOTTLES, net_volume_l=from_l)
    )


def test_scaling_to_whole_strokes() -> None:
    scaled = scale_regime(REGIME, from_l=50.0, to_l=100.0, tools={"macro": Tool("stroke", 1.1)})
    assert (scaled.regime.doses[0].ml, scaled.regime.doses[0].written) == (pytest.approx(5.5), "5 strokes")
    assert scaled.measured[0] is not None
    assert scaled.measured[0].off == pytest.approx(0.1)
    assert scaled.measured[1] is None
    assert scaled.regime.doses[2].written == "0.4 g"


def test_a_pump_table() -> None:
    wet = Regime("r", "r", REGIME.doses[:2])
    rows = pump_programme(wet, flow_ml_per_min={"macro": 30.0}, least_ml=2.0)
    assert [(row.channel, row.bottle, row.when, row.clock, row.ml, row.seconds) for row in rows] == [
        (1, "macro", "Mon, Thu", "09:00", 2.5, pytest.approx(5.0)), (2, "micro", "every other day", "09:30", 1.0, None),
    ]  # fmt: skip
    assert [row.check.verdict for row in rows] == ["holds", "fails"]


def test_the_starting_points() -> None:
    points = starting_points()
    assert list(points) == ["full_excess", "sparing", "root_only"]
    for point in points.values():
        assert point.source == "common practice, no source"
        assert list(point.adds_mg_per_l) == ["nitrate", "phosphate", "potassium", "iron"]
        assert all(0 <= low <= high for low, high in point.adds_mg_per_l.values())
    lows, highs = (
        sum(both[end] for point in points.values() for both in point.adds_mg_per_l.values()) for end in (0, 1)
    )
    assert (lows, highs) == (pytest.approx(38.05), pytest.approx(84.7))


def test_light_by_hand() -> None:
    point = light_matched(light_mol_per_m2_per_day=2.88, planted_m2=0.18, net_volume_l=50.0)
    dry_g = 2.88 * 0.18 * 7 * 0.6
    low, high = point.adds_mg_per_l["nitrate"]
    assert high == pytest.approx(dry_g * 13.0 * 4.4268 / 50.0, rel=1e-4)  # 1.3 % is 13 mg N per g
    assert low == pytest.approx(high / 6)
    # tissue of 1.3 % N and 0.13 % P is 10 by mass, 22.1 by atoms
    npk = npk_of({key: both[1] for key, both in point.adds_mg_per_l.items()})
    assert npk.by_mass[0] == pytest.approx(10.0)
    assert round(npk.by_atoms[0], 1) == 22.1
    assert "from memory" in point.source
    assert len(point.steps) == 5


@pytest.mark.parametrize(
    ("error", "make", "what"),
    [
        (RegimeError, lambda: scale_regime(REGIME, from_l=0, to_l=1), "scaled from 0 L"),
        (RegimeError, lambda: scale_regime(REGIME, from_l=1, to_l=float("nan")), "scaled to nan L"),
        (RegimeError, lambda: scale_regime(REGIME, from_l=1, to_l=1, tools={"salt": Tool("mL", 1)}),
         "salt is dosed in g, its tool gives mL"),
        (ToolError, lambda: scale_regime(REGIME, from_l=1, to_l=90, tools={"macro": Tool("stroke", 1)}),
         "225 mL is 225 stroke steps, more than 20"),
        (RegimeError, lambda: pump_programme(REGIME), "salt is dosed dry"),
        (RegimeError, lambda: pump_programme(REGIME, first_at_minute=1430), "doses from minute 1430, 30 apart"),
        (RegimeError, lambda: pump_programme(REGIME, flow_ml_per_min={"macro": 0.0}), "a flow of 0 mL/min for macro"),
        (RegimeError, lambda: pump_programme(REGIME, least_ml=-1), "a smallest dose of -1 mL"),
        (RegimeError, lambda: light_matched(light_mol_per_m2_per_day=0, planted_m2=1, net_volume_l=1),
         "light of 0 mol/m² per day"),
        (DoseError, lambda: regime_facts(Regime("r", "r", (PlannedDose("x", (0,), ml=1.0),)), {}, net_volume_l=1),
         "there is no such bottle"),
    ],
)  # fmt: skip
def test_what_cannot_be(error: Any, make: Any, what: str) -> None:
    with pytest.raises(error) as refusal:
        make()
    assert refusal.value.what == what
