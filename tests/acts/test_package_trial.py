"""A trial packed and taken back: the same, whatever was in it; a package without names holds none."""

from __future__ import annotations

import json
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests import packages_made as made

from littoral.acts.answer_questions import answer_questions
from littoral.acts.import_package import ImportedPackage, import_package
from littoral.acts.package_trial import Packaged, about_of, package_trial
from littoral.acts.verify_logbook import is_whole, verify_logbook
from littoral.errors import FaultsError
from littoral.findings.elsewhere import DRAWN_OTHERWISE
from littoral.logbook.archive import FILES
from littoral.logbook.book import Logbook
from littoral.logbook.refused import OtherTrialError
from littoral.publish.findings_json import findings_text
from littoral.publish.package.files import PackageThereError
from littoral.trial.days import instant_of
from littoral.trial.entries import Care, Dose, Entry, Note, Payload, Reading, Trim, WaterChange

ABOUT = about_of("cc-by-4.0")
KEY = "two-ways-of-feeding"


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return made.filled(tmp_path_factory.mktemp("own") / "logbook")


def packed(book: Path, to: Path, **more: object) -> Packaged:
    return package_trial(book, None, to, about=ABOUT, now=made.NOW, **more)  # type: ignore[arg-type]


def findings(book: Path) -> str:
    done = answer_questions(book)
    return findings_text(done.trial, done.findings)


def entries(book: Path, key: str = KEY) -> tuple[Entry, ...]:
    with Logbook.open(book) as opened:
        return opened.all_entries(key)


@pytest.mark.parametrize("name", ["trial.zip", "folder"])
def test_a_second_logbook_holds_the_same_and_finds_the_same(book: Path, tmp_path: Path, name: str) -> None:
    first = packed(book, tmp_path / name)
    done = import_package(tmp_path / "second", tmp_path / name)
    assert (done.new_entries, done.new_photos, done.new_texts, done.photos_left_out) == (19, 48, 2, 48)
    assert entries(tmp_path / "second") == entries(book)
    assert findings(tmp_path / "second") == findings(book)
    assert is_whole(verify_logbook(tmp_path / "second"))
    with Logbook.open(book) as own, Logbook.open(tmp_path / "second") as second:
        assert second.texts(KEY) == own.texts(KEY)
        assert second.trial(KEY) == own.trial(KEY)
        assert second.trial(KEY).views["left"].earlier, "a view drawn anew is drawn so here too"
    again = packed(tmp_path / "second", tmp_path / "again.zip")
    assert again.identity == first.identity


def test_it_holds_a_finding_from_photos_that_are_not_there(tmp_path: Path) -> None:
    own = made.filled(tmp_path / "own", made.text_of(photos=True))
    packed(own, tmp_path / "trial.zip")
    import_package(tmp_path / "second", tmp_path / "trial.zip")
    (growth,) = (one for one in json.loads(findings(tmp_path / "second"))["findings"] if one["question"] == "growth")
    assert growth["effect"] is not None
    assert len(growth["evidence"]["photos"]) == 47  # all but the one that was set aside
    with zipfile.ZipFile(tmp_path / "trial.zip") as archive:
        assert archive.read("findings.json").decode() == findings(tmp_path / "second")


def test_the_page_says_that_photos_were_left_out(book: Path, tmp_path: Path) -> None:
    from littoral.acts.view_trial import view_trial

    packed(book, tmp_path / "trial.zip")
    import_package(tmp_path / "second", tmp_path / "trial.zip")
    assert view_trial(tmp_path / "second", KEY).left_out == 47  # one was nearly black


def test_the_cache_can_go_and_a_backup_holds_the_measures(book: Path, tmp_path: Path) -> None:
    from littoral.acts.export_logbook import export_logbook
    from littoral.acts.restore_logbook import restore_logbook

    packed(book, tmp_path / "trial.zip")
    import_package(tmp_path / "second", tmp_path / "trial.zip")
    assert not (tmp_path / "second" / "cache").exists()
    export_logbook(tmp_path / "second", tmp_path / "plain", now=made.NOW)
    assert (tmp_path / "plain" / "elsewhere.jsonl").stat().st_size > 1000
    restore_logbook(tmp_path / "plain", tmp_path / "third")
    assert findings(tmp_path / "third") == findings(book)


def test_an_export_of_before_is_read_without_that_file(book: Path, tmp_path: Path) -> None:
    from littoral.acts.export_logbook import export_logbook
    from littoral.acts.restore_logbook import restore_logbook

    assert "elsewhere.jsonl" in FILES
    trial = made.trial_of(made.text_of())
    with Logbook.create(tmp_path / "own") as own:
        own.take_in(trial, made.text_of())
    export_logbook(tmp_path / "own", tmp_path / "plain", now=made.NOW)
    manifest = json.loads((tmp_path / "plain" / "manifest.json").read_text())
    del manifest["files"]["elsewhere.jsonl"]
    (tmp_path / "plain" / "manifest.json").write_text(json.dumps(manifest))
    (tmp_path / "plain" / "elsewhere.jsonl").unlink()
    restore_logbook(tmp_path / "plain", tmp_path / "back")
    assert is_whole(verify_logbook(tmp_path / "back"))


def test_the_same_twice_changes_nothing(book: Path, tmp_path: Path) -> None:
    packed(book, tmp_path / "trial.zip")
    import_package(tmp_path / "second", tmp_path / "trial.zip")
    again = import_package(tmp_path / "second", tmp_path / "trial.zip")
    assert again == replace(
        again, new_entries=0, new_photos=0, new_texts=0, views_measured_elsewhere=0, trial=KEY, photos_left_out=48
    )
    assert isinstance(again, ImportedPackage)


def test_a_later_state_adds_what_is_new_and_an_earlier_one_nothing(tmp_path: Path) -> None:
    own = made.filled(tmp_path / "own")
    packed(own, tmp_path / "early.zip")
    trial = made.trial_of(made.text_of())
    later = Entry("later", instant_of(11.0, trial), "UTC", "left", Care(3.0), trial=KEY)
    with Logbook.open(own) as book:
        book.add([later])
    packed(own, tmp_path / "late.zip")
    import_package(tmp_path / "second", tmp_path / "early.zip")
    assert import_package(tmp_path / "second", tmp_path / "late.zip").new_entries == 1
    assert import_package(tmp_path / "second", tmp_path / "early.zip").new_entries == 0
    assert entries(tmp_path / "second") == entries(own)


def test_another_trial_of_the_same_key_is_refused_whole(book: Path, tmp_path: Path) -> None:
    packed(book, tmp_path / "trial.zip")
    other = made.text_of().replace("8 weeks", "9 weeks")
    with Logbook.create(tmp_path / "taken") as taken:
        taken.take_in(made.trial_of(other), other)
    with pytest.raises(OtherTrialError, match="another trial with the key 'two-ways-of-feeding'"):
        import_package(tmp_path / "taken", tmp_path / "trial.zip")
    assert entries(tmp_path / "taken") == ()


def test_an_entry_that_says_something_else_here_is_refused(book: Path, tmp_path: Path) -> None:
    packed(book, tmp_path / "trial.zip")
    mine = tuple(replace(one, payload=Care(99.0)) if one.id == "qc2z" else one for one in entries(book))
    made.filled(tmp_path / "mine", entries=mine)
    with pytest.raises(OtherTrialError, match="qc2z"):
        import_package(tmp_path / "mine", tmp_path / "trial.zip")


def test_a_view_drawn_otherwise_since_is_said_and_not_measured(book: Path, tmp_path: Path) -> None:
    packed(book, tmp_path / "trial.zip")
    import_package(tmp_path / "second", tmp_path / "trial.zip")
    moved = made.text_of().replace("[[300, 200], [700, 200]", "[[310, 200], [700, 200]")
    with Logbook.open(tmp_path / "second") as second:
        second.take_in(made.trial_of(moved), moved)
    done = answer_questions(tmp_path / "second")
    assert {photo.excluded for photo in done.measured.photos} == {DRAWN_OTHERWISE}


@pytest.mark.parametrize(("start", "zone"), [("2026-03-02", "Europe/Berlin"), ("2026-03-25", "America/New_York")])
@pytest.mark.parametrize("keep_notes", [False, True])
def test_no_name_place_or_date_is_left_in_any_byte(tmp_path: Path, start: str, zone: str, keep_notes: bool) -> None:
    text = made.telling_text().replace("start = 2026-03-02", f"start = {start}").replace("Europe/Berlin", zone)
    own = made.filled(tmp_path / "own", text, who="Annegret")
    hide = ("Mudville", "Lakeside", "SN-778899")
    bytes_before = b"".join(_members(packed(own, tmp_path / "open.zip").path)).decode().casefold()
    assert all(word.casefold() in bytes_before for word in made.PLANTED)
    one = packed(own, tmp_path / "bare.zip", anonymous=True, hide=hide, keep_notes=keep_notes)
    everything = b"".join(_members(one.path)).decode().casefold()
    for word in (*made.PLANTED, "example.org", "Berlin", "New_York", start):
        assert word.casefold() not in everything, word
    for entry in entries(own, "annegret-mustermann-s-tanks-in-mudville"):
        assert entry.id not in everything
    assert ("was at" in everything) == keep_notes


def _members(package: Path) -> Iterator[bytes]:
    yield package.read_bytes()[:0]
    with zipfile.ZipFile(package) as archive:
        yield archive.comment
        for info in archive.infolist():
            yield f"{info.filename} {info.comment!r} {info.date_time} {info.extra!r}".encode()
            yield archive.read(info)


def test_an_anonymous_package_keeps_days_and_findings(tmp_path: Path) -> None:
    own = made.filled(tmp_path / "own", made.text_of(start="2026-03-25"))  # clocks change on day 4
    packed(own, tmp_path / "bare.zip", anonymous=True)
    import_package(tmp_path / "second", tmp_path / "bare.zip")
    before, after = (json.loads(findings(one)) for one in (own, tmp_path / "second"))
    with zipfile.ZipFile(tmp_path / "bare.zip") as archive:
        assert archive.read("findings.json").decode() == findings(tmp_path / "second")
    for mine, theirs in zip(before["findings"], after["findings"], strict=True):
        assert theirs["rule"] == mine["rule"]
        assert theirs["effect"] == (None if mine["effect"] is None else pytest.approx(mine["effect"], rel=1e-7))
        assert theirs["evidence"]["days"] == mine["evidence"]["days"]
    first = packed(own, tmp_path / "once more.zip", anonymous=True)
    assert packed(tmp_path / "second", tmp_path / "third.zip").identity == first.identity


def test_a_word_of_the_trial_file_as_a_name_is_no_way_out(tmp_path: Path) -> None:
    own = made.filled(tmp_path / "own")
    one = packed(own, tmp_path / "bare.zip", anonymous=True, hide=("left", "macro", "full", "mass", "strokes"))
    assert import_package(tmp_path / "second", one.path).new_photos == 48


def test_faults_are_told_together_and_nothing_is_written(book: Path, tmp_path: Path) -> None:
    with pytest.raises(FaultsError, match=r"(?s)CC0-1.0.*version"):
        about_of("MIT", version=" ")
    with pytest.raises(FaultsError, match="none, measured, originals"):
        packed(book, tmp_path / "a.zip", photos="all")
    (tmp_path / "there.zip").write_bytes(b"x")
    with pytest.raises(PackageThereError):
        packed(book, tmp_path / "there.zip")
    assert [one.name for one in tmp_path.iterdir()] == ["there.zip"]


class _StoppedError(Exception):
    pass


def test_cancelled_it_leaves_nothing_behind(book: Path, tmp_path: Path) -> None:
    def stop(done: int, total: int, what: str) -> None:
        if what == "packing photos" and done == 3:
            raise _StoppedError

    with pytest.raises(_StoppedError):
        packed(book, tmp_path / "a.zip", photos="originals", progress=stop)
    assert list(tmp_path.iterdir()) == []


TEXTS = st.text(alphabet=st.characters(exclude_categories=("Cs",), exclude_characters="\0"), max_size=20)
SIZES = st.floats(min_value=0, max_value=1e6)
PAYLOADS: st.SearchStrategy[Payload] = st.one_of(
    st.builds(Dose, st.just("macro"), ml=SIZES, given=st.booleans(), written=TEXTS),
    st.builds(WaterChange, st.floats(0, 1)),
    st.builds(Trim, st.sampled_from([None, "tall"]), st.none() | SIZES, st.none() | SIZES, st.none() | SIZES),
    st.builds(Reading, st.just("iron"), SIZES, st.floats(1e6, 1e7) | st.just(float("inf")), TEXTS, TEXTS),
    st.builds(Note, TEXTS),
    st.builds(Care, SIZES),
)


@settings(max_examples=5, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    said=st.lists(
        st.tuples(
            st.datetimes(datetime(2026, 3, 3), datetime(2026, 4, 20), timezones=st.just(UTC)),
            PAYLOADS, TEXTS, TEXTS, st.booleans(),
        ),
        max_size=8,
    )
)  # fmt: skip
def test_whatever_is_recorded_comes_back(tmp_path_factory: pytest.TempPathFactory, said: list[tuple]) -> None:  # type: ignore[type-arg]
    folder = tmp_path_factory.mktemp("any")
    trial = made.trial_of(made.text_of())
    own: list[Entry] = []
    for number, (at, payload, who, note, corrects) in enumerate(said):
        former = own[-1].id if corrects and own else None
        own.append(Entry(f"n{number}", at, "UTC", "left", payload, who, former, note, trial.key))
    made.filled(folder / "own", entries=tuple(own))
    first = packed(folder / "own", folder / "trial.zip")
    import_package(folder / "second", folder / "trial.zip")
    assert entries(folder / "second") == entries(folder / "own")
    assert packed(folder / "second", folder / "again.zip").identity == first.identity
