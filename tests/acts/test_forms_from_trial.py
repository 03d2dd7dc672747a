"""Forms filled from a trial: what the file says, the forms say, and the acts come to the same numbers."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest

from littoral.acts.import_trial import import_trial
from littoral.acts.mix_and_feed.cost_form import Costs
from littoral.acts.mix_and_feed.cost_reading import read_costs
from littoral.acts.mix_and_feed.from_trial import TrialForms, from_file, from_trial
from littoral.acts.mix_and_feed.mix_bottle import mix_bottle
from littoral.acts.mix_and_feed.mix_form import Mixed
from littoral.acts.mix_and_feed.plan_week import plan_week
from littoral.acts.mix_and_feed.reading import Reading
from littoral.acts.mix_and_feed.see_costs import see_costs
from littoral.acts.mix_and_feed.week_form import Week
from littoral.acts.mix_and_feed.week_reading import read_week
from littoral.acts.start_trial import start_trial
from littoral.errors import FaultsError
from littoral.feeding.adds import week_adds_mg_per_l
from littoral.feeding.regimes import EveryDays
from littoral.tank.volume import net_volume_l
from littoral.trial.model import Trial
from littoral.trial.written.reader import read_trial


@pytest.fixture(scope="module")
def started(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Trial]:
    folder = tmp_path_factory.mktemp("forms") / "trial"
    trial = start_trial(folder, title="Sparing or full", start="2026-03-02", zone="Europe/Berlin", seed=1).trial
    import_trial(folder / "logbook", folder / "trial.toml")
    return folder, trial


@pytest.fixture(scope="module")
def forms(started: tuple[Path, Trial]) -> TrialForms:
    return from_trial(started[0] / "logbook", None)


def test_a_logbook_and_its_file_fill_the_same_forms(started: tuple[Path, Trial], forms: TrialForms) -> None:
    assert from_file(started[0] / "trial.toml") == forms


def test_each_arms_week_adds_what_the_trial_says(started: tuple[Path, Trial], forms: TrialForms) -> None:
    trial = started[1]
    assert forms.weeks.keys() == {arm.key for arm in trial.arms}
    for arm in trial.arms:
        week = plan_week(forms.weeks[arm.key])
        assert isinstance(week, Week), week
        vessel = trial.tanks[arm.tanks[0]].vessel
        assert vessel is not None
        assert arm.regime is not None
        expected = week_adds_mg_per_l(trial.regimes[arm.regime], trial.bottles, net_volume_l=net_volume_l(vessel))
        added = {line.nutrient: line.week.value for line in week.lines if line.week.value}
        # net litres are shown at four digits
        assert added == {key: pytest.approx(mg, rel=2e-4) for key, mg in expected.items()}


def test_each_stock_can_be_mixed_and_each_arm_costed(started: tuple[Path, Trial], forms: TrialForms) -> None:
    trial = started[1]
    assert forms.mix.keys() == {key for key, bottle in trial.bottles.items() if bottle.salts_g}
    for key, form in forms.mix.items():
        mixed = mix_bottle(form)
        assert isinstance(mixed, Mixed), mixed
        held = {line.nutrient: line.in_bottle.value for line in mixed.nutrients}
        assert held == {name: pytest.approx(mg) for name, mg in trial.bottles[key].content_mg_per_ml.items()}
    for form_of_costs in forms.costs.values():
        assert isinstance(see_costs(form_of_costs), Costs)


def test_a_beat_of_days_is_the_same_in_form_and_trial(started: tuple[Path, Trial], tmp_path: Path) -> None:
    text = (started[0] / "trial.toml").read_text(encoding="utf-8").replace("2026-03-02", "2026-03-05")
    dosed = re.sub(r'on = \["[^]]*\]', 'every = "3 days from day 1"', text)
    assert dosed != text
    file = tmp_path / "trial.toml"
    file.write_text(dosed, encoding="utf-8")
    trial, faults = read_trial(dosed, where="trial.toml")
    assert faults == ()
    assert trial is not None
    for arm in trial.arms:
        form = from_file(file).weeks[arm.key]
        assert form.day_0 == "Thu"
        reading = Reading(form)
        read = read_week(reading, form)
        assert read is not None, reading.faults
        assert arm.regime is not None
        regime = trial.regimes[arm.regime]
        assert [dose.every for dose in regime.doses] == [EveryDays(3, 1)] * len(regime.doses)
        assert [dose.every for dose in read.regime.doses] == [dose.every for dose in regime.doses]
        assert [change.every for change in read.regime.changes] == [change.every for change in regime.changes]
        assert {change.every for change in regime.changes} == {EveryDays(3, 1)}


def test_what_was_bought_and_mixed_when_fills_costs_and_bottle(started: tuple[Path, Trial], tmp_path: Path) -> None:
    stock, bought = 'made_up_to = "500 mL"', 'drop = "0.05 mL"'
    text = (started[0] / "trial.toml").read_text(encoding="utf-8")
    text = text.replace(stock, f'{stock}\nmade_on = 2026-02-20\ncoldest = "5 °C"')
    text = text.replace(bought, f'{bought}\nbought = 2026-03-01\nkeeps = "2 weeks"')
    file = tmp_path / "trial.toml"
    file.write_text(text, encoding="utf-8")
    found = from_file(file)
    mixed = mix_bottle(found.mix["macro"], today=date(2026, 3, 2))
    assert isinstance(mixed, Mixed), mixed
    assert mixed.label is not None
    assert mixed.label.made_on == "2026-02-20"
    assert any("at 5 °C" in row.what for row in mixed.checks)
    for form in found.costs.values():
        assert (form.bought, form.keeps) == ((("micro", "2026-03-01"),), (("micro", "14 days"),))
        reading = Reading(form)
        read = read_costs(reading, form, date(2026, 3, 2))
        assert read is not None, reading.faults
        (kept,) = (stock.spoils_on for each, stock in read.left.items() if each.name == "micro")
        assert kept == date(2026, 3, 15)


def test_a_trial_file_with_mistakes_fills_nothing(tmp_path: Path) -> None:
    file = tmp_path / "trial.toml"
    file.write_text("format = 1\n")
    with pytest.raises(FaultsError):
        from_file(file)
