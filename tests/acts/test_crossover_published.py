"""A crossover from its files to what is published: tanks by their own names, findings that follow the schema."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path

import jsonschema
import pytest

from littoral.acts.import_trial import import_trial
from littoral.acts.publish_results import publish_results
from littoral.acts.start_trial import start_trial
from littoral.acts.view_trial import view_trial
from littoral.publish.findings_json import findings_schema

START = date(2026, 3, 2)


@pytest.fixture(scope="module")
def logbook(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("crossover") / "trial"
    started = start_trial(folder, title="Swapped feeding", start=str(START), zone="UTC", glass="60 x 30 x 30 cm")
    text = started.trial_file.read_text(encoding="utf-8")
    design = (
        '[design]\nkind = "crossover"\nperiod = "2 weeks"\nwashout = "6 days"\nhalf_life = "2 days"\n\n[arms.sparing]'
    )
    text = text.replace('length = "8 weeks"', 'length = "10 weeks"').replace("[arms.sparing]", design, 1)
    started.trial_file.write_text(text, encoding="utf-8")
    rows = [
        f"{START + timedelta(days=7 * week + 6)},,{tank},care,,{minutes} min,,"
        for week in range(10)
        for tank, minutes in (("left", 10), ("right", 20))
    ]
    with started.entries_file.open("a", encoding="utf-8") as file:
        file.write("\n".join(rows) + "\n")
    import_trial(folder / "logbook", started.trial_file)
    return folder / "logbook"


def test_what_is_published_of_a_crossover(logbook, tmp_path):
    written = publish_results(logbook, None, tmp_path)
    sheet = written["sheet"].read_text(encoding="utf-8")
    assert "then swapped between 2 tanks over 4 periods of 2 weeks" in sheet
    assert "begins in" in sheet
    assert "Every tank had both regimes in turn." in sheet
    assert "The regimes are swapped at the end of every period." in sheet
    findings = json.loads(written["findings"].read_text(encoding="utf-8"))
    jsonschema.validate(findings, findings_schema())
    by_key = {one["question"]: one for one in findings["findings"]}
    # each tank takes the same minutes under either regime, so the arms come out alike though the tanks differ
    assert by_key["care"]["effect"] == pytest.approx(0.0, abs=1e-12)
    values = sorted((arm["tank"], arm["value"]) for arm in by_key["care"]["arms"])
    assert values == [("left", 10.0), ("left", 10.0), ("right", 20.0), ("right", 20.0)]
    assert by_key["cost"]["effect"] > 0
    assert by_key["growth"]["rule"] == "not answered"


def test_the_page_of_a_crossover_calls_tanks_by_their_names(logbook):
    page = view_trial(logbook, "swapped-feeding")
    assert {tank.arm_name for tank in page.tanks} == {"left tank", "right tank"}
    assert "The regimes are swapped" in page.design
