"""Every kind of entry comes back from the database as it went in."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.logbook.payloads import KINDS, UnknownKindError, from_json, kind_of, to_json
from littoral.trial.entries import Payload, Reading

finite = st.floats(allow_nan=False, allow_infinity=False)
st.register_type_strategy(float, finite)
payloads = st.one_of(*(st.builds(cls) for cls in KINDS.values()))
off_scale = st.builds(Reading, high_mg_per_l=st.just(math.inf))


@given(payloads | off_scale)
def test_round_trip(payload: Payload) -> None:
    assert from_json(kind_of(payload), to_json(payload)) == payload


def test_a_kind_of_a_newer_version_is_refused_by_name() -> None:
    with pytest.raises(UnknownKindError, match=r"kind 'moon phase'.*knows dose, water change"):
        from_json("moon phase", "{}")


def test_every_kind_is_tried() -> None:
    assert set(KINDS.values()) == set(Payload.__args__)  # type: ignore[attr-defined]
