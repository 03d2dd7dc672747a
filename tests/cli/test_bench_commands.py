"""`littoral history`, `next` and `decide` on the small demo's logbook, which they do not change."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from littoral.acts.bench_history import next_trial
from littoral.acts.choosing import WhichTrialError
from littoral.cli.main import app
from littoral.errors import FaultsError
from littoral.logbook.book import Logbook


def run(*arguments: object) -> Result:
    return CliRunner().invoke(app, [str(argument) for argument in arguments], catch_exceptions=False)


def test_the_history_names_each_trial_what_cannot_be_told_and_the_next_one(small_demo) -> None:
    done = run("history", small_demo.logbook)
    assert done.exit_code == 0, done.output
    for part in ("2026-03-02", "cannot be told", "Next: the last trial with its arms swapped", "littoral next"):
        assert part in done.output
    found = json.loads(run("history", small_demo.logbook, "--json").stdout)
    assert found["next"]["swap"] == "sparing-or-full"
    (strip,) = found["year"]
    assert (len(strip["weeks"]), strip["ended"]) == (4, True)
    assert {one["question"] for one in found["answers"] if one["primary"]} == {found["answers"][0]["question"]}
    assert found["trials"][0]["findings"]["cost"]["difference"].startswith("+")
    assert all(one["effect"] is None for one in found["tanks"])


def test_the_next_trial_is_written_once_checks_clean_and_can_be_taken_in(small_demo, tmp_path: Path) -> None:
    out = tmp_path / "next" / "trial.toml"
    done = run("next", small_demo.logbook, "--out", out, "--start", "2026-06-01")
    assert done.exit_code == 0, done.output
    assert "from 2026-06-01" in done.output
    assert "no mistakes" in run("check", out).output
    assert run("import", out, "--logbook", tmp_path / "book").exit_code == 0
    again = run("next", small_demo.logbook, "--out", out)
    assert again.exit_code == 1
    assert "is there already" in again.output
    printed = run("next", small_demo.logbook, "--start", "2026-06-01")
    assert printed.output.strip() == out.read_text(encoding="utf-8").strip()


def test_beside_another_trials_files_only_the_file_itself_is_written(small_demo, tmp_path: Path) -> None:
    (tmp_path / "trial.toml").write_text("format = 1\n")
    assert run("next", small_demo.logbook, "--out", tmp_path / "next.toml").exit_code == 0
    assert sorted(path.name for path in tmp_path.iterdir()) == ["next.toml", "trial.toml"]


def test_the_next_trial_never_starts_before_the_last_one_ends_nor_in_the_past(small_demo, tmp_path: Path) -> None:
    early = next_trial(small_demo.logbook, today=date(2026, 3, 10))
    assert early.start == date(2026, 3, 30)
    assert next_trial(small_demo.logbook, today=date(2026, 9, 1)).start == date(2026, 9, 1)
    with pytest.raises(FaultsError, match="start"):
        next_trial(small_demo.logbook, start="soon", today=date(2026, 3, 10))
    Logbook.create(tmp_path / "empty").close()
    with pytest.raises(WhichTrialError, match="no trial yet"):
        next_trial(tmp_path / "empty", today=date(2026, 3, 10))


@pytest.mark.slow
def test_decide_says_what_each_arm_is_better_in_and_draws_it(small_demo, tmp_path: Path) -> None:
    picture = tmp_path / "aims.svg"
    done = run("decide", small_demo.logbook, "--svg", picture)
    assert done.exit_code == 0, done.output
    for part in (
        "sparing is better in", "cost", "Look at the animals first",
        "Right tank: macro stock, 1.37 mL instead of 1.1 mL each time (Wed, Sun), for one week",
        "Nitrate probably falls below its floor of 5 mg/L",
        "For height growth no step follows: in the right tank there is no room for 2.7 mg/L more nitrate a week",
    ):  # fmt: skip
        assert part in " ".join(done.output.split())
    assert all(len(line) <= 132 for line in done.output.splitlines())
    assert "Change nothing before" not in done.output  # the trial is over
    assert picture.read_text().startswith("<svg")
    found = json.loads(run("decide", small_demo.logbook, "--without-levels", "--json").stdout)
    assert {one["measure"]: one["wanted"] for one in found["aims"]}["algae"] == "lower"
    assert found == json.loads(run("decide", small_demo.logbook, "--without-levels", "--json").stdout)
    assert found["ahead"] is None
    turned = json.loads(run("decide", small_demo.logbook, "--want", "cost=higher", "--without-levels", "--json").stdout)
    assert {one["measure"]: one["better"] for one in turned["aims"]}["cost"] == "full"
    wrong = run("decide", small_demo.logbook, "--want", "luck=higher")
    assert wrong.exit_code == 1
    assert "Write it like" in wrong.output
