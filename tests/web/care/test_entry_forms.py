"""Every entry form: opened filled, recorded, faults beside the fields, nothing typed lost."""

from __future__ import annotations

import re

import pytest

from littoral.trial.entries import (
    Care,
    Dose,
    Equipment,
    GaugeReading,
    Living,
    Note,
    Reading,
    Score,
    TopUp,
    Trim,
    WaterChange,
)
from littoral.web.care.entry_kinds import KINDS

GOOD = {
    "dose": ({"what": "macro", "amount": "2 strokes"}, Dose(of="macro", ml=2.2)),
    "change": ({"amount": "40"}, WaterChange(0.4)),
    "top-up": ({"amount": "1.4"}, TopUp(1.4)),
    "trim": ({"what": "red-stem", "left": "9", "wet": "14 g", "spent": "6"}, Trim("red-stem", 9.0, 14.0, 6.0)),
    "reading": (
        {"what": "nitrate", "amount": "10 mg/L (7.5-15), colour card"},
        Reading("nitrate", 7.5, 15.0, "colour card", "10 mg/L"),
    ),
    "gauge": ({"what": "temperature", "amount": "24.5 °C"}, GaugeReading("temperature", 24.5, 24.5, "", "24.5 °C")),
    "score": ({"scale": "plants", "stand": "red-stem", "amount": "3"}, Score("plants", 3, "red-stem")),
    "animals": ({"what": "shrimp", "count": "5", "way": "added"}, Living("animals", "shrimp", 5, "added")),
    "plants": ({"what": "moss", "count": "1", "way": "died"}, Living("plants", "moss", 1, "died")),
    "equipment": ({"what": "filter", "amount": "cleaned"}, Equipment("filter", "cleaned")),
    "note": ({"note": "a new leaf,\nred"}, Note("a new leaf,\nred")),
    "care": ({"amount": "12", "what": ""}, Care(12.0)),
}


def id_of(text: str) -> str:
    return re.findall(r'name="id" value="([0-9a-f-]{36})"', text)[0]


def test_every_form_is_tried_here():
    assert set(GOOD) == set(KINDS)


@pytest.mark.parametrize("kind", KINDS)
def test_a_form_opens_and_records(bench, kind):
    fields, payload = GOOD[kind]
    page = bench.get(f"/entry/{kind}?tank=left")
    assert page.status_code == 200
    assert "Record it" in page.text
    for name in fields:
        assert f'name="{name}"' in page.text
    answer = bench.form(f"/entry/{kind}", id=id_of(page.text), trial="sparing-or-full", tank="left", zone="", **fields)
    assert answer.status_code == 303, answer.text
    (entry,) = bench.entries()
    assert entry.payload == payload
    assert entry.id == id_of(page.text)
    assert "Recorded" in bench.get(answer.headers["location"]).text


@pytest.mark.parametrize("kind", KINDS)
def test_an_empty_form_says_what_is_missing_beside_the_fields(bench, kind):
    answer = bench.form(f"/entry/{kind}", trial="sparing-or-full", tank="left")
    if kind == "trim":  # a trim of the whole tank without numbers is a trim
        assert answer.status_code == 303
        return
    assert answer.status_code == 422
    assert "-wrong" in answer.text or 'role="alert"' in answer.text
    assert not bench.entries()


def test_what_was_typed_stays_with_faults_beside_the_fields(bench):
    page = bench.get("/entry/dose?tank=left&what=micro")
    answer = bench.form(
        "/entry/dose", id=id_of(page.text), trial="sparing-or-full", tank="middle", what="micro",
        amount="3 <spoons>", when="tomorrowish", note="kept & shown", who="Ada",
    )  # fmt: skip
    assert answer.status_code == 422
    for kept in ("3 &lt;spoons&gt;", "tomorrowish", "kept &amp; shown", 'value="Ada"', id_of(page.text)):
        assert kept in answer.text
    for field in ("tank-wrong", "amount-wrong"):
        assert f'id="{field}"' in answer.text
    assert "<details open>" in answer.text


def test_a_bench_cards_code_opens_the_form_filled(bench):
    text = bench.get("/entry/dose?trial=sparing-or-full&tank=left&what=macro").text
    assert re.search(r'name="tank" value="left" checked', text)
    assert re.search(r'name="what" value="macro" checked', text)
    assert re.search(r'id="amount"[^>]*value="1 stroke"', text)  # the plan's own amount
    assert "Overdosing kills animals" in text


def test_steps_are_shown_with_their_drawings(bench):
    text = bench.get("/entry/score?tank=left").text
    assert text.count("/scale/algae/") == 5
    assert "/scale/plants/4.svg" in bench.get("/entry/score?tank=left&scale=plants").text
    drawing = bench.get("/scale/algae/2.svg")
    assert drawing.headers["content-type"] == "image/svg+xml"
    assert drawing.text.startswith("<svg")
    assert bench.get("/scale/algae/5.svg").status_code == 404
    assert bench.get("/scale/moss/1.svg").status_code == 404


def test_the_same_form_twice_records_once_and_another_content_is_told(bench):
    sent = {"id": "6f9619ff-8b86-4d01-b42d-00cf4fc964ff", "trial": "sparing-or-full", "tank": "left"}
    assert bench.form("/entry/dose", **sent, what="macro", amount="1 mL").status_code == 303
    bench.later(minutes=3)
    assert bench.form("/entry/dose", **sent, what="macro", amount="1 mL").status_code == 303
    assert len(bench.entries()) == 1
    other = bench.form("/entry/dose", **sent, what="macro", amount="2 mL")
    assert other.status_code == 409
    assert "dosed 1 mL macro stock" in other.text
    assert id_of(other.text) != sent["id"]


def test_with_several_trials_the_form_asks_which(two_trials):
    text = two_trials.get("/entry/note?tank=left&note=a%26b").text
    assert "Of which trial?" in text
    assert "trial=second&amp;tank=left&amp;note=a%26b" in text
    assert two_trials.get("/entry/note?trial=second").status_code == 200
    assert two_trials.get("/entry/note?trial=third").status_code == 404


def test_a_form_that_is_not_there_and_a_logbook_without_trials(bench, empty):
    assert bench.get("/entry/potion").status_code == 404
    assert "no trial in this logbook yet" in empty.get("/entry/dose").text


def test_a_fault_stands_at_the_part_it_is_about(bench):
    text = bench.form("/entry/trim", trial="sparing-or-full", tank="left", left="9", wet="heavy").text
    assert 'id="wet-wrong"' in text
    assert 'id="left-wrong"' not in text


@pytest.mark.parametrize(
    ("kind", "typed", "payload"),
    [
        ("top-up", {"amount": "1,4"}, TopUp(1.4)),
        ("care", {"amount": "12,5", "what": ""}, Care(12.5)),
        ("reading", {"what": "nitrate", "amount": "over 80"}, Reading("nitrate", 80.0, float("inf"), "", ">80 mg/L")),
    ],
)
def test_a_number_alone_may_have_a_decimal_comma_and_a_test_its_words(bench, kind, typed, payload):
    sent = {"trial": "sparing-or-full", "tank": "left", "id": id_of(bench.get(f"/entry/{kind}?tank=left").text)}
    assert bench.form(f"/entry/{kind}", **sent, **typed).status_code == 303
    assert [entry.payload for entry in bench.entries()] == [payload]
