"""Between a form dataclass and flat fields: nothing is lost either way."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.acts.mix_and_feed.cost_form import CostForm
from littoral.acts.mix_and_feed.mix_form import MixForm, OwnForm
from littoral.acts.mix_and_feed.water_form import WaterForm
from littoral.acts.mix_and_feed.week_form import DoseForm, WeekForm
from littoral.errors import Fault
from littoral.web.mixing.fields import fields_of, form_of, rows_of
from littoral.web.mixing.written import Written

FORMS = (MixForm, WaterForm, WeekForm, CostForm)
WORD = st.text(st.characters(codec="ascii", categories=("L", "N")), min_size=1, max_size=8)


@pytest.mark.parametrize("kind", FORMS)
def test_a_form_comes_back_as_it_was(kind):
    assert form_of(kind, fields_of(kind())) == kind()


@given(
    salts=st.lists(st.tuples(WORD, WORD), max_size=5).map(tuple),
    only=st.lists(WORD, max_size=3).map(tuple),
    own=st.lists(st.builds(OwnForm, name=WORD, formula=WORD, label=st.tuples(st.tuples(WORD, WORD))), max_size=2),
)
def test_rows_within_rows_come_back(salts, only, own):
    form = MixForm(salts=salts, only=only, own=tuple(own))
    assert form_of(MixForm, fields_of(form)) == form


@given(st.lists(st.builds(DoseForm, of=WORD, amount=WORD, on=WORD), max_size=4).map(tuple), WORD)
def test_an_address_opens_the_sheet_it_was_made_of(doses, name):
    proposed = fields_of(WeekForm())
    form = replace(WeekForm(), doses=doses, name=name)
    sent = Written({"whole": "1", **fields_of(form)}, proposed=proposed, units={})
    opened = Written(_query(sent.address("/week")), proposed=proposed, units={})
    assert form_of(WeekForm, opened.texts) == form


def _query(address: str) -> dict[str, str]:
    from urllib.parse import parse_qsl

    return dict(parse_qsl(address.partition("?")[2], keep_blank_values=True))


def test_an_address_holds_only_what_differs():
    proposed = fields_of(MixForm())
    assert Written({}, proposed=proposed, units={}).address("/mix") == "/mix"
    changed = Written({"dose": "3 mL"}, proposed=proposed, units={})
    assert changed.address("/mix") == "/mix?dose=3+mL"
    fewer = Written({"without": "salts.2"}, proposed=proposed, units={})
    assert [of for of, _ in form_of(MixForm, fewer.texts).salts] == ["KNO3", "K2SO4"]
    assert fewer.address("/mix", trial="small") == "/mix?trial=small&without=salts.2"


def test_what_was_not_sent_is_empty_only_where_all_was_sent():
    proposed = fields_of(MixForm())
    assert Written({"dose": ""}, proposed=proposed, units={}).get("made_up_to") == "500 mL"
    assert Written({"dose": "", "whole": "1"}, proposed=proposed, units={}).get("made_up_to") == ""
    assert Written({"dose": ""}, proposed=proposed, units={}).get("dose") == ""


@pytest.mark.parametrize(
    ("text", "read"), [("34", "34 g"), ("3.4", "3.4 g"), ("3,4", "3,4 g"), (".5", ".5 g"), ("34 g", None),
                       ("1 oz", None), ("-3", "-3 g"), ("", None), ("x", None)]
)  # fmt: skip
def test_a_number_alone_is_taken_in_the_sentences_unit_and_says_so(text, read):
    written = Written({"salts.1.is": text}, proposed={}, units={"salts.is": "g"})
    assert written.tidied.get("salts.1.is") == read
    assert written.get("salts.1.is") == (read or text)


def test_rows_are_added_taken_and_numbered_anew():
    written = Written({}, proposed=fields_of(MixForm()), units={})
    written.take_row("salts", 2)
    written.add_row("salts", {"is": "", "of": ""})
    assert written.rows("salts") == [1, 3, 4]
    assert written.focus == "salts.4.is"
    assert rows_of("salts", {"salts.x.of": "", "salts.²": "", "salts.1000.of": "", "salts.2.of": ""}) == [2]


@pytest.mark.parametrize(
    ("where", "line", "what", "field"),
    [
        ("dose", None, "is empty.", "dose"),
        ("salts", 2, 'KH2PO4 is "x": no number.', "salts.3.is"),
        ("salts", 1, '"KNO3" is odd.', "salts.1.of"),
        ("nowhere", None, "is wrong.", None),
        ("salts", 9, "is wrong.", "salts.1.of"),
    ],
)
def test_a_fault_finds_its_field(where, line, what, field):
    written = Written({"without": "salts.2", "salts.3.is": "x"}, proposed=fields_of(MixForm()), units={})
    left = written.note([Fault(what, "Do better.", where, line)])
    assert list(written.troubles) == ([field] if field else [])
    assert bool(left) is (field is None)


def test_a_fault_of_a_bottle_is_found_by_its_key():
    written = Written({}, proposed=fields_of(WeekForm()), units={})
    written.note([Fault("is empty.", "Write it.", "bottles.micro.density"), Fault("x", "y", "bottles.macro.salts", 2)])
    assert set(written.troubles) == {"bottles.2.density", "bottles.1.salts.2.is"}
