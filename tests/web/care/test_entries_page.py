"""The stream of entries: every version visible, corrections and undoings, two people at one entry, the audit."""

from __future__ import annotations

import re
from datetime import UTC, datetime

import pytest

from littoral.logbook.book import Logbook
from littoral.trial.entries import Dose, Entry, Note, Overridden

STREAM = "/trial/sparing-or-full/entries"


@pytest.fixture
def noted(bench):
    answer = bench.send("/api/entries", {"act": "note", "tank": "left", "note": "a <leaf>", "who": "Mika"})
    return bench, answer.json()["ids"][0]


def test_an_empty_stream_says_what_to_do(bench):
    text = bench.get(STREAM).text
    assert "Nothing was written down from" in text
    assert "/today?trial=sparing-or-full" in text


def test_a_correction_shows_both_versions(noted):
    bench, identity = noted
    form = bench.get(f"/entry/{identity}/correct").text
    assert "a &lt;leaf&gt;" in form
    bench.later(minutes=1)
    answer = bench.form(f"/entry/{identity}/correct", when="2026-03-08 18:30", note="two leaves", who="Ada")
    assert answer.status_code == 303
    text = bench.get(STREAM).text
    assert "left tank: two leaves" in text
    assert "<s>left tank: a &lt;leaf&gt;</s>" in text
    assert "Ada" in text
    assert "Undo the correction" in text
    assert bench.entries()[0].at == datetime(2026, 3, 8, 17, 30, tzinfo=UTC)


def test_an_unchanged_field_changes_nothing(bench):
    sent = {"act": "dose", "tank": "left", "what": "macro", "amount": "2 strokes", "when": "2026-03-08 18:12:33"}
    identity = bench.send("/api/entries", sent).json()["ids"][0]
    fields = {"when": "2026-03-08 18:12", "what": "macro", "amount": "2 strokes", "note": "with foam", "tank": "left"}
    assert bench.form(f"/entry/{identity}/correct", **fields).status_code == 303
    (entry,) = bench.entries()
    assert entry.at.second == 33
    assert entry.payload == Dose(of="macro", ml=2.2)
    assert entry.note == "with foam"


def test_what_is_undone_stays_in_sight_and_comes_back(noted):
    bench, identity = noted
    assert bench.form(f"/entry/{identity}/undo").status_code == 303
    text = bench.get(STREAM).text
    assert "Bring it back" in text
    assert "<s>left tank: a &lt;leaf&gt;</s>" in text
    (undoing,) = re.findall(r'action="/entry/([^/"]+)/undo"', text)
    bench.form(f"/entry/{undoing}/undo")
    assert bench.entries()[0].payload == Note("a <leaf>")


def test_the_bottle_of_a_dose_is_chosen_by_its_name(bench):
    answer = bench.send("/api/entries", {"act": "dose", "tank": "left", "what": "macro", "amount": "2 strokes"})
    form = bench.get(f"/entry/{answer.json()['ids'][0]}/correct").text
    assert re.search(r'name="what" value="macro" checked[^>]*><span>macro stock', form)
    assert 'name="what" type="text"' not in form


def test_two_people_who_correct_one_entry_see_both_versions(noted):
    bench, identity = noted
    bench.form(f"/entry/{identity}/correct", note="theirs", who="Ada")
    answer = bench.form(f"/entry/{identity}/correct", note="mine", who="Mika")
    assert answer.status_code == 409
    assert "left tank: mine" in answer.text
    assert "left tank: theirs" in answer.text
    assert "by Ada" in answer.text
    assert bench.entries()[0].payload == Note("theirs")
    action = re.findall(r'action="(/entry/[^"]+/correct)"', answer.text)[0]
    assert bench.form(action, note="mine").status_code == 303
    assert bench.entries()[0].payload == Note("mine")
    text = bench.get(STREAM).text
    assert text.count("<s>") == 2  # nothing is lost: all three are there


def test_undoing_what_was_corrected_meanwhile_shows_both(noted):
    bench, identity = noted
    bench.form(f"/entry/{identity}/correct", note="theirs")
    answer = bench.form(f"/entry/{identity}/undo")
    assert answer.status_code == 409
    assert "Undo theirs" in answer.text
    assert bench.get(f"/entry/{identity}/correct").status_code == 200  # says that it was changed already
    assert "changed already" in bench.get(f"/entry/{identity}/correct").text


def test_a_wrong_correction_keeps_what_was_typed(bench):
    identity = bench.send("/api/entries", {"act": "top-up", "tank": "left", "amount": "1 L"}).json()["ids"][0]
    answer = bench.form(f"/entry/{identity}/correct", amount="1 bucket", note="kept")
    assert answer.status_code == 422
    assert "1 bucket" in answer.text
    assert "kept" in answer.text
    assert 'id="amount-wrong"' in answer.text


def test_an_override_cannot_be_corrected_and_is_undone(bench):
    payload = Overridden("mix", "macro", "a limit", "50 mg/L above 40 mg/L", "a trial of it")
    at = datetime(2026, 3, 8, 12, tzinfo=UTC)
    with Logbook.open(bench.folder) as book:
        book.add((Entry("over", at, "Europe/Berlin", None, payload, trial="sparing-or-full"),))
    assert 'href="/entry/over/correct"' not in bench.get(STREAM).text
    assert bench.get("/entry/over/correct").status_code == 409
    assert bench.send("/api/entries/over/corrections", {"note": "x"}).json()["kind"] == "cannot be corrected"
    assert bench.form("/entry/over/undo").status_code == 303
    assert not bench.entries()
    assert bench.get("/entry/nothing/correct").status_code == 404


def test_days_are_paged_and_tanks_chosen(bench):
    for day, tank in ((4, "left"), (8, "right")):
        bench.send("/api/entries", {"act": "note", "tank": tank, "note": f"of day {day}", "when": f"2026-03-0{day}"})
    text = bench.get(f"{STREAM}?days=2").text
    assert "of day 8" in text
    assert "of day 4" not in text
    earlier = re.findall(r'href="([^"]+)" rel="prev"', text)[0].replace("&amp;", "&")
    assert "of day 4" in bench.get(earlier).text
    assert "of day 4" not in bench.get(f"{STREAM}?tank=right").text
    assert bench.get(f"{STREAM}?days=0").status_code == 422
    assert bench.get(f"{STREAM}?last=2199-12-31&days=31").status_code == 200
    assert bench.get(f"{STREAM}?last=0001-01-01").status_code == 422
    assert bench.get("/trial/nothing/entries").status_code == 404


def test_the_audit_says_first_in_words_what_was_equal_and_what_is_not_known(bench):
    text = bench.get("/trial/sparing-or-full/audit").text
    lead = text[text.index('class="lead"') : text.index("<dl")]
    assert "The same, within the margin:" in lead
    assert "net volume" in lead
    assert "Not known:" in lead
    assert "temperature" in lead
    assert text.count('class="audit-item"') == len(bench.json("/api/trials/sparing-or-full/audit")["items"])
