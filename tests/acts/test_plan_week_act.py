"""Planning a week, and advice on one, as the page and the command ask for them."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from littoral.acts.mix_and_feed.advise_week import advise_week
from littoral.acts.mix_and_feed.bottle_form import MACRO, MICRO, BottleForm
from littoral.acts.mix_and_feed.figures import Refused
from littoral.acts.mix_and_feed.plan_week import plan_week
from littoral.acts.mix_and_feed.week_form import Advised, ChangeForm, DoseForm, Week, WeekForm

NITRE = BottleForm("nitre", dry="KNO3", tool="0.1 g", packs=(("KNO3", "500 g for 7.90"),))


def planned(form: WeekForm) -> Week:
    found = plan_week(form)
    assert isinstance(found, Week), found
    return found


def advised(form: WeekForm) -> Advised:
    found = advise_week(form)
    assert isinstance(found, Advised), found
    return found


def test_the_form_as_it_begins_passes_nothing_and_derives_everything() -> None:
    week = planned(WeekForm())
    assert week.stop is None
    assert [(line.of, line.written, line.when) for line in week.doses] == [
        ("macro", "2 strokes", "Wed, Sun"),
        ("micro", "8 drops", "Mon, Thu"),
    ]
    for line in week.lines:
        for figure in (line.week, line.element, line.trough, line.peak, line.mean, line.settles):
            assert figure.steps, line.nutrient
    words = {label.of: label.words for label in week.labels}
    assert words["micro"] == "about a third of what the label recommends (0.32 times)"
    # 0.7 % by mass at 1.06 kg/L is 7.42 mg/mL; 6 mL per 100 L a week are 2.52 mL in 42 L, eight drops twice 0.8 mL
    key, real, label = week.labels[1].compared[0]
    assert (key, real.value, label.value) == (
        "iron", pytest.approx(7.42 * 0.8 / 42), pytest.approx(7.42 * 2.52 / 42),
    )  # fmt: skip
    assert real.steps
    assert label.steps
    assert week.labels[0].compared == ()
    assert week.npk.text.startswith("N:P:K 7.73 : 1 : 28.9 by mass")


def test_one_dose_after_each_change_is_the_textbook_series() -> None:
    # peak (D + w S) / (1 - (1 - w)) with w = 1/2, S = 0: twice the dose, half an endless excess weekly reset
    form = replace(
        WeekForm(),
        bottles=(NITRE,),
        doses=(DoseForm("nitre", "0.2 g", "Mon"),),
        changes=(ChangeForm("50 %", "Mon"),),
        source=(),
        uptake=(),
        apart=(),
    )
    line = next(one for one in planned(form).lines if one.nutrient == "nitrate")
    dose = 200 * 62.005 / 101.103 / 42
    assert line.peak.value == pytest.approx(2 * dose, rel=1e-5)
    assert line.trough.value == pytest.approx(dose, rel=1e-5)


def test_what_never_leaves_grows_and_is_held_against_limits_all_the_same() -> None:
    week = planned(replace(WeekForm(), changes=(), uptake=(), weeks="52 weeks"))
    line = next(one for one in week.lines if one.nutrient == "nitrate")
    assert (line.peak.text, line.peak.value) == ("grows without end", None)
    assert line.settles.text == "never"
    assert week.stop is not None
    assert week.stop.stands
    assert any("grows for ever" in caution for caution in week.cautions)


def test_a_week_that_passes_a_limit_is_stopped_until_somebody_says_why() -> None:
    form = replace(WeekForm(), doses=(DoseForm("macro", "20 mL", "daily"),), scale_to="100 L")
    week = planned(form)
    assert week.stop is not None
    assert week.stop.stands
    assert (week.doses, week.pump, week.scaled) == ((), (), ())
    assert week.lines
    given = planned(replace(form, anyway="plants only"))
    assert given.doses
    assert given.stop is not None
    assert "“plants only”" in given.stop.words


def test_a_kilogram_of_dry_salt_into_twenty_litres_is_stopped() -> None:
    form = replace(WeekForm(), bottles=(NITRE,), doses=(DoseForm("nitre", "1 kg", "Mon"),), net_volume="20 L", apart=())
    week = planned(form)
    assert week.stop is not None
    assert "brackish" in week.stop.explanation
    assert any(row.verdict == "fails" for row in week.checks)


def test_patterns_in_days_and_another_tank() -> None:
    form = replace(WeekForm(), doses=(DoseForm("macro", "1 stroke", "every 2 days from day 1"),), scale_to="84 L")
    week = planned(form)
    assert week.doses[0].when == "every 2 days from day 1"
    line = next(one for one in week.lines if one.nutrient == "nitrate")
    assert line.week.value == pytest.approx(3.5 * 1.1 * 33_000 * 62.005 / 101.103 / 500 / 42, rel=1e-5)
    assert week.scaled[0].written == "2 strokes"


def test_starting_points_and_light() -> None:
    week = planned(replace(WeekForm(), light="60", planted="0.15"))
    names = {start.name: dict(start.against) for start in week.starts}
    assert "matched to the light" in names
    assert names["sparing"]["nitrate"] == "within (4.2 mg/L)"
    assert all(start.source for start in week.starts)


def test_the_pump_knows_what_it_cannot_give() -> None:
    week = planned(replace(WeekForm(), pump_least="1 mL", pump_flow=(("macro", "50 mL per min"),)))
    checks = {line.of: line.check.verdict for line in week.pump}
    assert checks == {"macro": "holds", "micro": "fails"}
    assert week.pump[0].seconds is not None
    assert week.pump[0].seconds.value == pytest.approx(2.2 / 50 * 60)
    only_dry = (DoseForm("nitre", "0.1 g", "Mon"),)
    assert all(line.amount.steps for line in week.pump)
    dry = planned(replace(WeekForm(), bottles=(NITRE,), doses=only_dry, source=(), apart=()))
    assert (dry.pump, "dosed dry" in dry.pump_note) == ((), True)


def test_advice_keeps_its_bands_and_says_what_wishes_cost() -> None:
    form = replace(WeekForm(), bands=(("nitrate", "7 to 12.5 mg/L"), ("iron", "at least 0.02 mg/L")))
    found = advised(form)
    assert found.fits
    assert found.stop is None
    assert all(row.verdict == "holds" for row in found.checks)
    assert found.costs
    assert found.proof is not None
    assert found.proof.text.startswith("proven")
    assert found.price is not None
    assert found.price.text.endswith(" EUR a week")
    assert found.price.steps[-1].what == "price of a week"
    again = planned(replace(form, doses=found.doses))
    nitrate = next(line for line in again.lines if line.nutrient == "nitrate")
    assert nitrate.trough.value is not None
    assert nitrate.trough.value >= 7 * (1 - 1e-6)
    assert nitrate.peak.value is not None
    assert nitrate.peak.value <= 12.5 * (1 + 1e-6)


def test_where_nothing_fits_the_smallest_change_is_said() -> None:
    found = advised(replace(WeekForm(), bands=(("nitrate", "8 to 8.1 mg/L"),), present="Mon"))
    assert not found.fits
    assert "nitrate" in found.smallest_change


def test_advice_that_would_pass_a_limit_is_stopped() -> None:
    form = replace(WeekForm(), bands=(("nitrate", "20 to 40 mg/L"),))
    found = advised(form)
    assert found.stop is not None
    assert found.doses == ()
    assert advised(replace(form, anyway="a plant nursery")).doses


WRONG = {
    "no water": ("net_volume", {"net_volume": "0 L"}, "above zero"),
    "NaN": ("net_volume", {"net_volume": "nan L"}, "does not begin with a number"),
    "no bottle": ("doses", {"doses": (DoseForm("x", "1 mL", "Mon"),)}, "no bottle"),
    "day": ("doses", {"doses": (DoseForm("macro", "1 mL", "Someday"),)}, "unknown weekday"),
    "negative dose": ("doses", {"doses": (DoseForm("macro", "-1 mL", "Mon"),)}, "below zero"),
    "drops": ("doses", {"doses": (DoseForm("macro", "3 drops", "Mon"),)}, "has no `drop`"),
    "share": ("changes", {"changes": (ChangeForm("140 %", "Sat"),)}, "above 100 %"),
    "band": ("bands", {"bands": (("nitrate", "some"),)}, "at least 5 mg/L"),
    "crossed": ("bands", {"bands": (("nitrate", "20 to 5 mg/L"),)}, "floor first"),
    "apart": ("apart", {"apart": (("macro", "x"),)}, "Bottles there are"),
    "light": ("planted", {"light": "60"}, "is empty"),
    "label": ("bottles.a.label", {"bottles": (MACRO, MICRO, BottleForm("a", label=(("Fe", "120 %"),)))}, "above 100 %"),
    "false label": (
        "bottles.a.label",
        {"bottles": (MACRO, MICRO, BottleForm("a", label=(("N", "0 %"), ("NO3-N", "5 %")), label_by="volume"))},
        "add up to 5 %",
    ),
    "two ways": ("bottles.a", {"bottles": (MACRO, MICRO, replace(MACRO, key="a", dry="KNO3"))}, "several ways"),
    "no size": (
        "bottles.a.made_up_to", {"bottles": (MACRO, MICRO, replace(MACRO, key="a", made_up_to="0 mL"))}, "above zero"
    ),
    "stroke": ("bottles.a.tool", {"bottles": (MACRO, MICRO, replace(MICRO, key="a", tool="stroke"))}, "not given"),
    "twice": ("bottles", {"bottles": (MACRO, MICRO, MICRO)}, 'two bottles "micro"'),
    "hydrate": ("bottles.a.dry", {"bottles": (MACRO, MICRO, BottleForm("a", dry="MgSO4"))}, "leaves open which form"),
    "uptake": ("uptake", {"uptake": (("nitrate", "9 %"),)}, "no unit of rate"),
}  # fmt: skip


@pytest.mark.parametrize("case", WRONG)
def test_each_mistake_is_one_message_at_its_field(case: str) -> None:
    field, change, said = WRONG[case]
    found = plan_week(replace(WeekForm(), **change))
    assert isinstance(found, Refused)
    assert [(fault.where, said in str(fault)) for fault in found.faults] == [(field, True)], found.faults


def test_advice_without_a_band_is_a_mistake_of_the_form() -> None:
    found = advise_week(WeekForm())
    assert isinstance(found, Refused)
    assert [fault.where for fault in found.faults] == ["bands"]


def test_no_figure_is_nan() -> None:
    for line in planned(WeekForm()).lines:
        assert all(
            figure.value is None or math.isfinite(figure.value) for figure in (line.peak, line.trough, line.mean)
        )
