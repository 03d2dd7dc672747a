"""Overrides in the logbook: kept once a day with limit, level and reason, shown in words, and in nobody's way."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from littoral.acts.choosing import WhichTrialError
from littoral.acts.entry_words import event_of
from littoral.acts.import_trial import import_trial
from littoral.acts.mix_and_feed.figures import Stop
from littoral.acts.mix_and_feed.from_trial import from_trial
from littoral.acts.mix_and_feed.mix_bottle import mix_bottle
from littoral.acts.mix_and_feed.mix_form import Mixed
from littoral.acts.mix_and_feed.plan_week import plan_week
from littoral.acts.mix_and_feed.week_form import DoseForm, Week
from littoral.acts.record_override import record_override
from littoral.acts.start_trial import start_trial
from littoral.acts.view_trial import view_trial
from littoral.errors import FaultsError
from littoral.findings.doses import doses_given, observed_days
from littoral.logbook.book import Logbook
from littoral.logbook.changed_entries import AlreadyRecordedError
from littoral.logbook.refused import NoTrialError
from littoral.publish.override_words import overrides_of
from littoral.trial.entries import Dose, Entry, Note, Overridden

BEFORE = datetime(2026, 2, 20, 9, tzinfo=UTC)  # ten days before day 0
AFTER = datetime(2026, 11, 28, 22, 30, tzinfo=UTC)
KEY = "sparing-or-full"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    file = start_trial(tmp_path / "trial", title="Sparing or full", start="2026-03-02", zone="Europe/Berlin").trial_file
    import_trial(tmp_path / "logbook", file)
    return tmp_path / "logbook"


def overdose(folder: Path, anyway: str) -> Stop | None:
    """Mix the trial's own stock with a dose far over a published limit."""
    mixed = mix_bottle(replace(from_trial(folder, None).mix["macro"], dose="400 mL", anyway=anyway))
    assert isinstance(mixed, Mixed)
    return mixed.stop


def entries(folder: Path) -> tuple[Entry, ...]:
    with Logbook.open(folder) as fresh:
        return fresh.entries(KEY)


def test_an_override_is_an_entry_with_limit_level_and_reason(folder: Path) -> None:
    stop = overdose(folder, "no animals in it")
    assert stop is not None
    assert record_override(folder, None, act="mix", of="macro", stop=stop, now=BEFORE)
    (entry,) = entries(folder)
    made = entry.payload
    assert isinstance(made, Overridden)
    assert (entry.at, entry.zone, entry.tank, entry.origin) == (BEFORE, "Europe/Berlin", None, "")
    assert (made.act, made.of, made.reason) == ("mix", "macro", "no animals in it")
    assert made.limit == "; ".join(row.what for row in stop.rows)
    for row in stop.rows:
        assert row.what in made.said
        assert f", limit {row.limit:g} {row.unit}" in made.said


def test_a_week_of_an_arm_too(folder: Path) -> None:
    form = from_trial(folder, KEY).weeks["full"]
    doses = (DoseForm("macro", "60 mL", "daily"),)
    week = plan_week(replace(form, doses=doses, anyway="plants alone in a bucket"))
    assert isinstance(week, Week)
    assert record_override(folder, KEY, act="week", of="full", stop=week.stop, now=BEFORE)
    with Logbook.open(folder) as book:
        (words,) = overrides_of(book.trial(KEY), book.entries(KEY))
    assert words.startswith("On 2026-02-20 somebody went past published limits on purpose for the week of full: ")
    assert words.endswith("; reason given: “plants alone in a bucket”.")


def test_nothing_is_noted_where_nothing_was_overridden(folder: Path) -> None:
    assert not record_override(folder, KEY, act="mix", of="macro", stop=None, now=BEFORE)
    assert not record_override(folder, KEY, act="mix", of="macro", stop=overdose(folder, ""), now=BEFORE)
    assert entries(folder) == ()


def test_the_same_override_is_noted_once_a_local_day_and_every_other_one_again(folder: Path) -> None:
    stop = overdose(folder, "no animals in it")
    late = datetime(2026, 2, 20, 22, 59, tzinfo=UTC)  # one minute to midnight in Berlin
    say = [
        record_override(folder, KEY, act="mix", of="macro", stop=stop, now=BEFORE),
        record_override(folder, KEY, act="mix", of="macro", stop=stop, now=late),
        record_override(folder, KEY, act="mix", of="macro", stop=stop, now=late + timedelta(minutes=1)),
        record_override(folder, KEY, act="mix", of="macro", stop=overdose(folder, "another reason"), now=BEFORE),
        record_override(folder, KEY, act="mix", of="", stop=stop, now=BEFORE),
    ]
    assert say == [True, False, True, True, True]
    assert len(entries(folder)) == 4


def test_importing_again_neither_refuses_nor_withdraws_it(folder: Path) -> None:
    file = folder.parent / "trial" / "trial.toml"
    rows = file.with_name("entries.csv")
    rows.write_text(rows.read_text() + "2026-03-05,,left,care,,12 min,,\n")
    import_trial(folder, file)
    for now in (BEFORE, AFTER):
        assert record_override(folder, KEY, act="mix", of="macro", stop=overdose(folder, "why not"), now=now)
    again = import_trial(folder, file)
    assert (again.new_entries, again.corrected, again.withdrawn) == (0, 0, 0)
    # the bottle it was about may be renamed: it is no name that anything is looked up by
    file.write_text(file.read_text(encoding="utf-8").replace("macro", "green"), encoding="utf-8")
    assert import_trial(folder, file).text_changed
    assert sum(isinstance(entry.payload, Overridden) for entry in entries(folder)) == 2


def test_it_shows_nothing_of_the_tanks(folder: Path) -> None:
    rows = folder.parent / "trial" / "entries.csv"
    rows.write_text(rows.read_text() + "2026-03-05,,left,note,,,all well,\n")
    import_trial(folder, rows.with_name("trial.toml"))
    with Logbook.open(folder) as book:
        trial, before = book.trial(KEY), book.entries(KEY)
    assert record_override(folder, KEY, act="mix", of="macro", stop=overdose(folder, "why not"), now=AFTER)
    after = entries(folder)
    assert len(after) == len(before) + 1
    assert observed_days(trial, after) == observed_days(trial, before) == 4
    assert doses_given(trial, after, "left", to_day=4) == doses_given(trial, before, "left", to_day=4)


def test_the_page_lists_it_in_words_without_a_tank(folder: Path) -> None:
    assert record_override(folder, KEY, act="mix", of="macro", stop=overdose(folder, "no animals in it"), now=AFTER)
    page = view_trial(folder, KEY)
    (event,) = page.events
    assert (event.kind, event.tank, event.clock) == ("override", "", "23:30")
    assert event.text.startswith("went past published limits on purpose for mixing macro stock: ")
    assert "reason given: “no animals in it”" in event.text
    assert any(caution.startswith("On 2026-11-28 somebody went past published limits") for caution in page.cautions)
    # an override long after the end does not lengthen the trial
    assert page.moments[-1].day < 56


def test_entries_made_here_must_fit_the_trial(folder: Path) -> None:
    with Logbook.open(folder) as book:
        trial = book.trial(KEY)
        during = datetime(2026, 3, 5, 12, tzinfo=UTC)
        noted = Entry("own", during, trial.zone, "left", Note("hello"), trial=KEY)
        assert book.add([noted]) == (noted,)
        assert book.add([noted]) == ()
        with pytest.raises(AlreadyRecordedError):
            book.add([replace(noted, note="another remark")])
        with pytest.raises(FaultsError, match="name the bottle"):
            book.add([replace(noted, id="dose", payload=Dose("nothing", ml=1.0))])
        with pytest.raises(FaultsError, match="lie outside"):
            book.add([replace(noted, id="late", at=AFTER)])
        with pytest.raises(NoTrialError):
            book.add([replace(noted, id="x", trial="another")])
    assert entries(folder) == (noted,)


def test_which_trial_must_be_clear(folder: Path, tmp_path: Path) -> None:
    file = start_trial(tmp_path / "second", title="Another one", start="2026-03-02").trial_file
    import_trial(folder, file)
    with pytest.raises(WhichTrialError):
        record_override(folder, None, act="mix", of="macro", stop=mixed_stop(), now=BEFORE)


def mixed_stop() -> Stop:
    from littoral.acts.mix_and_feed.mix_form import MixForm

    mixed = mix_bottle(MixForm(dose="400 mL", anyway="because"))
    assert isinstance(mixed, Mixed)
    assert mixed.stop is not None
    return mixed.stop


@pytest.mark.parametrize(
    ("act", "of", "words"),
    [
        ("mix", "macro", "for mixing macro stock: "),
        ("mix", "gone", "for mixing gone: "),
        ("mix", "", "for a bottle to mix: "),
        ("week", "full", "for the week of full: "),
        ("week", "", "for a week: "),
    ],
)
def test_words_of_what_it_was_about(folder: Path, act: str, of: str, words: str) -> None:
    with Logbook.open(folder) as book:
        trial = book.trial(KEY)
    made = Overridden("mix" if act == "mix" else "week", of, "x", "x: 2 mg/L, limit 1 mg/L", "because")
    event = event_of(Entry("a", BEFORE, trial.zone, None, made, trial=KEY), trial)
    assert event is not None
    assert f"went past a published limit on purpose {words}" in event.text
