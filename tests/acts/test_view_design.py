"""A design from its file, and from a logbook that keeps when it was first written and what changed since."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from littoral.acts.choosing import WhichTrialError
from littoral.acts.view_design import view_design
from littoral.errors import FaultsError
from littoral.logbook.book import Logbook
from littoral.trial.days import instant_of
from littoral.trial.locked import design_hash
from littoral.trial.written.reader import read_trial

WHOLE = (Path(__file__).parents[1] / "trial" / "whole-trial.toml").read_text(encoding="utf-8")
CROSSOVER = WHOLE.replace('length = "8 weeks"', 'length = "14 weeks"').replace(
    "[arms.sparing]",
    '[design]\nkind = "crossover"\nperiod = "3 weeks"\nwashout = "9 days"\nhalf_life = "3 days"\n'
    'looks = ["8 weeks"]\nstopping = "if fish gasp"\n[arms.sparing]',
)
BEFORE = datetime(2026, 2, 20, 17, 5, tzinfo=UTC)
LATER = datetime(2026, 2, 25, 9, 0, tzinfo=UTC)
RUNNING = datetime(2026, 3, 20, 9, 0, tzinfo=UTC)


def keep(folder: Path, *texts: tuple[datetime, str]) -> Path:
    for at, text in texts:
        with Logbook.create(folder, clock=lambda at=at: at) as book:
            trial, faults = read_trial(text, where="")
            assert faults == ()
            assert trial is not None
            book.take_in(trial, text)
    return folder


def test_a_file_shows_its_design_and_hash_and_no_lock(tmp_path):
    file = tmp_path / "trial.toml"
    file.write_text(CROSSOVER, encoding="utf-8")
    page = view_design(file)
    trial, _ = read_trial(CROSSOVER, where="")
    assert trial is not None
    assert page.locked is None
    assert page.sha256 == design_hash(trial)
    assert "then swapped between 2 tanks over 4 periods of 3 weeks" in page.lead
    left = page.bars[0]
    assert (left.tank, [(one.from_day, one.washed_until, one.letter) for one in left.stretches]) == (
        "left", [(0, 0, ""), (14, 23, "B"), (35, 44, "A"), (56, 65, "B"), (77, 86, "A")],
    )  # fmt: skip
    rules = dict(page.rules)
    assert rules["Washout"].startswith("The first 9 days of each period are fed but not compared: 3 half-lives")
    assert "enough" in rules["Washout"]
    assert rules["Stopping"] == "if fish gasp"
    assert rules["Looks before the end"].startswith("day 56.")
    assert page.ticks == (0, 14, 35, 56, 77, 98)
    assert page.asked[0].smallest == "0.50 percentage points per day"


def test_rules_that_were_not_written_are_said_to_be_missing(tmp_path):
    file = tmp_path / "trial.toml"
    file.write_text(WHOLE, encoding="utf-8")
    rules = dict(view_design(file).rules)
    assert rules["Baseline"].startswith("2 weeks, all tanks alike: ")
    assert rules["Looks before the end"].startswith("None is planned")
    assert rules["Stopping"].startswith("No rule was written down")
    assert rules["Trimming"].startswith("No rule was written down")


@pytest.mark.parametrize(
    ("draw", "said"),
    [
        ('draw = { how = "left gets full", seed = 20260302 }', "Done again just now, it gave the same."),
        (
            'draw = { how = "coin", seed = 20260301 }',
            "another division, so the draw was made in another way.",
        ),
        ('draw = { how = "coin" }', "No seed was kept, so nobody can repeat the draw."),
    ],
)
def test_the_draw_is_repeated_from_its_seed(tmp_path, draw, said):
    file = tmp_path / "trial.toml"
    old = 'draw = { how = "coin, heads: the left tank gets the full regime", seed = 20260301 }'
    assert old in WHOLE
    file.write_text(WHOLE.replace(old, draw), encoding="utf-8")
    page = view_design(file)
    assert page.drawn[1].endswith(said)
    assert all(one.meaning for one in page.asked)


def test_a_file_with_mistakes_is_refused(tmp_path):
    file = tmp_path / "trial.toml"
    file.write_text(CROSSOVER.replace('"3 weeks"', '"5 weeks"'), encoding="utf-8")
    with pytest.raises(FaultsError, match="whole periods"):
        view_design(file)


def test_the_design_is_locked_when_it_is_first_taken_in(tmp_path):
    page = view_design(keep(tmp_path / "book", (BEFORE, CROSSOVER)))
    locked = page.locked
    assert locked is not None
    assert (locked.since, locked.before_start, locked.sha256, locked.versions) == (BEFORE, True, page.sha256, ())
    assert locked.words() == (
        "Written down on 2026-02-20 18:05 (Europe/Berlin), before the start. It has not been changed since."
    )


def test_every_later_change_is_told_with_its_time(tmp_path):
    priced = CROSSOVER.replace("500 g for 7.90", "500 g for 8.90")
    draft = priced.replace('"if fish gasp"', '"if fish gasp or plants melt"')
    late = draft.replace("smallest = 0.005", "smallest = 0.01")
    folder = keep(tmp_path / "book", (BEFORE, CROSSOVER), (BEFORE, priced), (LATER, draft), (RUNNING, late))
    locked = view_design(folder).locked
    assert locked is not None
    assert [(one.at, one.after_start) for one in locked.versions] == [(LATER, False), (RUNNING, True)]
    assert locked.versions[1].changes == (
        "Question “growth”, the smallest difference that matters: was 0.005, now 0.01.",
    )
    assert "changed 2 times since, 1 of them after the start" in locked.words()
    assert locked.sha256 != view_design(folder).sha256


def test_a_design_that_came_after_the_start_says_so(tmp_path):
    locked = view_design(keep(tmp_path / "book", (RUNNING, CROSSOVER))).locked
    assert locked is not None
    assert "after the start, so it was not fixed beforehand" in locked.words()


def test_a_design_of_the_first_day_was_fixed_before_the_arms_differed(tmp_path):
    trial, _ = read_trial(CROSSOVER, where="here")
    assert trial is not None
    first = instant_of(0.0, trial) + timedelta(hours=18)
    locked = view_design(keep(tmp_path / "book", (first, CROSSOVER))).locked
    assert locked is not None
    assert not locked.before_start
    assert locked.on_first_day == (trial.baseline_days >= 1)
    assert ("before the arms differed" in locked.words()) == locked.on_first_day
    late = view_design(keep(tmp_path / "late", (first + timedelta(hours=6), CROSSOVER))).locked
    assert late is not None
    assert not late.on_first_day


def test_a_text_that_can_no_longer_be_read_hides_no_change(tmp_path):
    folder = keep(tmp_path / "book", (BEFORE, CROSSOVER))
    trial, _ = read_trial(CROSSOVER, where="")
    assert trial is not None
    with Logbook.open(folder, clock=lambda: LATER) as book:
        book.take_in(trial, CROSSOVER.replace("format = 1", "format = 0"))  # as an older version might have kept it
    locked = view_design(keep(folder, (RUNNING, CROSSOVER.replace('"if fish gasp"', '"never"')))).locked
    assert locked is not None
    assert [(one.at, one.changes) for one in locked.versions] == [(RUNNING, None)]


def test_of_several_trials_one_must_be_named(tmp_path):
    other = CROSSOVER.replace('key = "sparing-or-full"', 'key = "other"')
    folder = keep(tmp_path / "book", (BEFORE, CROSSOVER), (BEFORE, other))
    with pytest.raises(WhichTrialError):
        view_design(folder)
    assert view_design(folder, "other").trial.key == "other"


def test_blocks_and_a_drawn_start_are_shown(tmp_path):
    file = tmp_path / "trial.toml"
    design = (
        '[design]\nkind = "parallel"\nblocks = { window = ["left", "right"] }\nblocked_by = "light"\n'
        'start_drawn_from = ["10 days", "2 weeks"]\n'
    )
    file.write_text(WHOLE.replace("[arms.sparing]", f"{design}[arms.sparing]", 1), encoding="utf-8")
    rules = dict(view_design(file).rules)
    assert rules["Blocks"].startswith("window: ")
    assert rules["Blocks"].endswith("They share: light.")
    assert rules["Start drawn by lot"] == "Day 14, from days 10, 14."
