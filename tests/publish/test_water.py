"""What was fed, the levels it led to and what it cost, as tables and charts; and the cautions that go with them."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace

import altair
import numpy as np
import pytest

from littoral.feeding.bottles import Bottle, Pack, Recommended
from littoral.feeding.cost import ArmCost, cost_of_feeding
from littoral.findings.feeding import BottleUse, TankFeeding
from littoral.findings.levels import Levels, ReadingPoint
from littoral.publish.account import account_of
from littoral.publish.cautions import cautions_of
from littoral.publish.cost_table import costs_table
from littoral.publish.draw import to_svg
from littoral.publish.fed_tables import bottles_table, doses_table, nutrients_table
from littoral.publish.tables import figure
from littoral.publish.water_charts import feeding_chart, levels_chart
from littoral.publish.water_table import levels_table
from littoral.tank.volume import Vessel, net_volume_l
from littoral.trial.entries import Entry
from littoral.trial.model import Trial


@pytest.fixture
def fed_trial(trial: Trial) -> Trial:
    macro = Bottle(
        "macro",
        "macro stock",
        content_mg_per_ml={"nitrate": 40.0},
        salts_g={"KNO3": 33.0},
        made_up_to_ml=500.0,
        recommended=Recommended(5, 100, 7),
        packs={"KNO3": Pack(500, "g", 7.9)},
    )
    return replace(trial, bottles={"macro": macro})


@pytest.fixture
def feeding() -> dict[str, TankFeeding]:
    weeks = {"right": (2.0, 2.0, 1.0, 2.0), "left": (2.0, 12.0, 12.0, 12.0)}
    return {
        tank: TankFeeding(
            arm="sparing" if tank == "right" else "full",
            tank=tank,
            net_volume_l=42.0,
            weeks=3.0,
            week_mg_per_l=tuple({"nitrate": value} for value in values),
            mean_mg_per_l={"nitrate": sum(values[1:]) / 3},
            mean_element_mg_per_l={"N": 1.0},
            bottles=(BottleUse("macro", values[1], 0.0, 2.1, values[1] / 2.1, "in words"),),
            as_planned=False,
        )
        for tank, values in weeks.items()
    }


@pytest.fixture
def levels() -> dict[str, Levels]:
    day = np.arange(0, 28, 0.25)
    reading = ReadingPoint(10.5, "nitrate", 7.5, 15.0, "colour card", "10", "reading-1")
    return {
        tank: Levels(tank, 42.0, day, {"nitrate": 12 + day}, {"nitrate": 12 + 0 * day}, (reading,), ("as planned",))
        for tank in ("right", "left")
    }


def test_a_reading_is_drawn_as_the_range_it_is(
    fed_trial: Trial, levels: dict[str, Levels], entries: Sequence[Entry]
) -> None:
    chart = levels_chart(fed_trial, levels, entries)
    assert chart is not None
    altair.Chart.from_dict(chart.spec, validate=True)
    rows = [row for layer in chart.spec["concat"][0]["layer"] for row in layer.get("data", {}).get("values", [])]
    assert {"day": 10.5, "low": 7.5, "high": 15.0} in rows
    assert "mg/L" in to_svg(chart.spec)
    assert "2 readings" in chart.caption
    assert chart.spec["concat"][0]["layer"][2]["encoding"]["y"]["scale"]["domain"][0] == 0


def test_levels_have_no_gaps_though_their_days_are_uneven(fed_trial: Trial, levels: dict[str, Levels]) -> None:
    crowded = np.sort(np.concatenate([np.arange(0, 28, 0.25), np.arange(0, 28, 0.25) + 0.001]))
    uneven = {
        tank: replace(one, day=crowded, upper_mg_per_l={"nitrate": crowded}, likely_mg_per_l={})
        for tank, one in levels.items()
    }
    chart = levels_chart(fed_trial, uneven)
    assert chart is not None
    assert '"value": null' not in json.dumps(chart.spec["concat"])


def test_weeks_are_steps_and_a_short_last_week_is_said(fed_trial: Trial, feeding: dict[str, TankFeeding]) -> None:
    chart = feeding_chart(fed_trial, feeding)
    assert chart is not None
    altair.Chart.from_dict(chart.spec, validate=True)
    assert "mg/L" in to_svg(chart.spec)
    assert "not whole" not in chart.caption
    assert "ends with day" not in chart.caption
    assert "from the doses noted" in chart.caption
    noted = feeding_chart(replace(fed_trial, doses_noted="exceptions"), feeding)
    assert noted is not None
    assert "as planned, with the exceptions noted" in noted.caption
    cut = feeding_chart(fed_trial, {tank: replace(one, weeks=2.5) for tank, one in feeding.items()})
    assert cut is not None
    assert "The last week ends with day 24.5" in cut.caption


def test_without_water_there_is_no_chart(trial: Trial) -> None:
    assert levels_chart(trial, {}) is None
    assert feeding_chart(trial, {}) is None


def test_the_recipe_stands_beside_the_label(fed_trial: Trial, feeding: dict[str, TankFeeding]) -> None:
    table = nutrients_table(fed_trial, feeding)
    assert table.columns == ("counted as", "sparing", "full")
    assert table.title.endswith("mg/L")
    assert table.rows == (("nitrate, NO3", "1.67", "12.0"), ("nitrogen, N", "1.00", "1.00"))
    assert bottles_table(fed_trial, feeding).rows == (
        ("macro stock", "sparing", "2.00 mL", "2.10 mL", "in words"),
        ("macro stock", "full", "12.0 mL", "2.10 mL", "in words"),
    )


def test_one_dose_adds_its_ions_and_elements(fed_trial: Trial) -> None:
    """40 mg NO3 per mL; 1.1 and 4.4 mL, in the water of a tank; N is 0.2259 of NO3 (CHECKS 1.1)."""
    vessel = fed_trial.tanks["left"].vessel
    assert vessel is not None
    litres = net_volume_l(vessel)
    nitre = Bottle("nitre", "dry nitre", content_mg_per_g={"nitrate": 613.2, "potassium": 386.7}, dry_formula="KNO3")
    trial = replace(fed_trial, bottles={**fed_trial.bottles, "nitre": nitre})
    table = doses_table(trial)
    assert table is not None
    assert table.columns == (
        "counted as", "macro stock, 1 stroke (1.1 mL)", "macro stock, 4 strokes (4.4 mL)", "dry nitre, 1 g"
    )  # fmt: skip
    nitrate = [40 * 1.1 / litres, 40 * 4.4 / litres, 613.2 / litres]
    assert table.rows == (
        ("nitrate, NO3", *(figure(mg) for mg in nitrate)),
        ("potassium, K", "0", "0", figure(386.7 / litres)),
        ("nitrogen, N", *(figure(mg / 4.4268) for mg in nitrate)),
    )


def test_tanks_of_other_volume_have_columns_of_their_own(fed_trial: Trial) -> None:
    half = replace(fed_trial.tanks["right"], vessel=Vessel(30, 30, 30, 27, 5))
    table = doses_table(replace(fed_trial, tanks={**fed_trial.tanks, "right": half}, baseline_regime=None))
    assert table is not None
    assert [column.split(", ")[1] for column in table.columns[1:]] == ["1 stroke (1.1 mL)", "4 strokes (4.4 mL)"]
    assert all(", into " in column for column in table.columns[1:])


def test_the_levels_of_every_tank_have_trough_peak_and_test(fed_trial: Trial, levels: dict[str, Levels]) -> None:
    levels["left"] = replace(levels["left"], likely_mg_per_l={}, readings=())
    table = levels_table(fed_trial, levels)
    assert table is not None
    assert table.rows == (
        ("nitrate, NO3: sparing", "12", "12", "33", "40", "10 (day 10)"),
        ("nitrate, NO3: full", "–", "–", "33", "40", "–"),
    )
    assert "As planned." in table.note


def test_the_account_holds_every_table_there_is_something_for(
    fed_trial: Trial, feeding: dict[str, TankFeeding], levels: dict[str, Levels]
) -> None:
    account = account_of(fed_trial, feeding=feeding, levels=levels, costs={})
    assert [table.title for table in account.tables] == [
        "What one dose adds, mg/L",
        "Given per week, mean since the regimes began, mg/L",
        "Given week by week, mg/L",
        "Each bottle, per week, beside what its label recommends for this much water",
        "Levels in the last week, mg/L",
    ]
    for table in account.tables:
        assert len(table.columns) == len(table.units)
        assert {len(row) for row in table.rows} == {len(table.columns)}
    bare = replace(fed_trial, bottles={}, regimes={}, baseline_regime=None)
    assert account_of(bare, feeding={}, levels={}, costs={}).tables == ()


def test_costs_say_what_runs_out_first_and_what_has_no_price(fed_trial: Trial) -> None:
    bottles = {**fed_trial.bottles, "micro": Bottle("micro", "micro bottle", content_mg_per_ml={"iron": 7.0})}
    priced = replace(fed_trial, bottles=bottles)

    def cost(**used: float) -> ArmCost:
        return cost_of_feeding(used, {}, bottles, weeks=3.0, net_volume_l=42.0)

    table = costs_table(priced, {"sparing": cost(macro=30.0), "full": cost(macro=90.0, micro=10.0)})
    assert [row[0] for row in table.rows] == ["per week", "per 100 L and week", "per year"]
    assert table.units == ("", "EUR", "EUR")
    # 30 mL of a stock of 33 g KNO3 in 500 mL, 500 g for 7.90: 1.98 g, 0.0313 EUR, over 3 weeks.
    assert table.rows[0][1] == "0.01"
    assert "Sparing: KNO3 runs out first, after 758 weeks" in table.note
    assert "Full: no price was stated for micro bottle" in table.note


def test_salts_come_with_their_hazards_and_defer(fed_trial: Trial) -> None:
    said = " ".join(cautions_of(fed_trial))
    assert "KNO3" in said
    assert "H272" in said
    assert "safety data sheet" in said
    assert "is safe" not in said


def test_a_salt_dosed_dry_comes_with_its_hazard_too(trial: Trial) -> None:
    nitre = Bottle("nitre", "dry nitre", content_mg_per_g={"nitrate": 613.0}, dry_formula="KNO3")
    said = " ".join(cautions_of(replace(trial, bottles={"nitre": nitre})))
    assert "KNO3" in said
    assert "H272" in said


def test_a_trial_that_doses_nothing_is_not_warned_of_doses(trial: Trial) -> None:
    said = " ".join(cautions_of(replace(trial, bottles={})))
    assert "fertiliser" not in said
    assert "qualified electrician" in said


@pytest.mark.parametrize(
    ("value", "said"), [(0.0, "0"), (0.012345, "0.0123"), (4.5, "4.50"), (1234.5, "1230"), (float("inf"), "–")]
)
def test_figures_are_printed_without_exponents(value: float, said: str) -> None:
    assert figure(value) == said
