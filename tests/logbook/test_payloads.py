"""Every kind of entry comes back from the database as it went in."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.logbook.payloads import KINDS, UnknownKindError, from_json, kind_of, to_json
from littoral.trial.entries import Dose, GaugeReading, Payload, Reading

finite = st.floats(allow_nan=False, allow_infinity=False)
st.register_type_strategy(float, finite)
payloads = st.one_of(*(st.builds(cls) for cls in KINDS.values()))
off_scale = st.builds(Reading, high_mg_per_l=st.just(math.inf)) | st.builds(GaugeReading, high=st.just(math.inf))


@given(payloads | off_scale)
def test_round_trip(payload: Payload) -> None:
    assert from_json(kind_of(payload), to_json(payload)) == payload


def test_a_kind_of_a_newer_version_is_refused_by_name() -> None:
    with pytest.raises(UnknownKindError, match=r"kind 'moon phase'.*knows dose, water change"):
        from_json("moon phase", "{}")


def test_every_kind_is_tried() -> None:
    assert set(KINDS.values()) == set(Payload.__args__)  # type: ignore[attr-defined]


@given(st.text())
def test_the_amount_as_it_was_measured_comes_back_too(written: str) -> None:
    # it is no part of what is compared, so the round trip above would not miss it
    dose = from_json("dose", to_json(Dose("macro", ml=2.2, written=written)))
    assert isinstance(dose, Dose)
    assert dose.written == written


def test_payloads_of_earlier_versions_are_read() -> None:
    assert from_json("dose", '{"g": null, "given": true, "ml": 2.2, "of": "macro"}') == Dose("macro", ml=2.2)
