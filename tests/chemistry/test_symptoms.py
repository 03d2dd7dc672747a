"""The symptom guide: its table, its ranking, and published keys it must agree with."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.chemistry.symptoms import GUIDE_ONLY, UnknownSignError, causes, known_causes, signs

NUTRIENTS = {"N", "P", "K", "Mg", "Ca", "Fe", "Mn", "Zn", "B", "S", "Cu", "Mo"}
some_signs = st.sets(st.sampled_from(sorted(signs())), min_size=1, max_size=6)


def test_shape_and_sums_of_the_table() -> None:
    """Pinned, so that a changed cell cannot hide."""
    table = known_causes()
    assert {key for key, cause in table.items() if cause.kind == "nutrient"} == NUTRIENTS
    assert {key for key, cause in table.items() if cause.kind == "other"} == {"light", "moved", "eaten", "co2"}
    assert len(signs()) == 22
    assert sum(sum(cause.weights.values()) for cause in table.values()) == 127
    assert sum(len(cause.against) for cause in table.values()) == 52


def test_every_row_is_whole() -> None:
    for cause in known_causes().values():
        assert set(cause.weights) <= set(signs())
        assert set(cause.against) <= set(signs())
        assert not set(cause.weights) & set(cause.against)
        assert set(cause.weights.values()) <= {1, 2, 3}
        assert 3 in cause.weights.values() or cause.key == "Mo"
        assert "from memory" in cause.source or "no source" in cause.source
    for sign in signs().values():
        assert sign.place in ("old", "young", "tips", "whole")


def test_most_signs_have_several_causes_and_none_has_none() -> None:
    """A guide that names one cause only would be a diagnosis."""
    count = {key: sum(key in cause.weights for cause in known_causes().values()) for key in signs()}
    assert min(count.values()) >= 1
    assert sum(number >= 2 for number in count.values()) >= 14


@pytest.mark.parametrize("key", ["N", "P", "K", "Mg"])
def test_mobile_nutrients_show_on_old_leaves(key: str) -> None:
    """4R Plant Nutrition Manual, IPNI 2012 (read as quoted): N, P, K and Mg move; older leaves show it first."""
    cause = known_causes()[key]
    assert cause.moves == "well"
    strongest = max(cause.weights, key=lambda sign: (cause.weights[sign], signs()[sign].place == "old"))
    assert signs()[strongest].place == "old"
    assert not any(signs()[sign].place in ("young", "tips") for sign in cause.weights)


@pytest.mark.parametrize("key", ["Mn", "S", "Cu", "Fe", "Ca", "B"])
def test_immobile_nutrients_show_on_new_growth(key: str) -> None:
    """The same list: Mn, S, Cu, Fe, Ca and B move little; symptoms come on new growth first."""
    cause = known_causes()[key]
    assert cause.moves in ("hardly", "partly")
    for sign, weight in cause.weights.items():
        if weight == 3:
            assert signs()[sign].place in ("young", "tips")


@pytest.mark.parametrize(
    ("observed", "first"),
    [
        # Green, Maloy & Capizzi's key (read in part)
        ({"young-pale-between"}, "Fe"),
        ({"young-pale-between", "young-spots"}, "Mn"),
        ({"young-pale-between", "young-small"}, "Zn"),
        ({"tips-dead", "brittle"}, "B"),
        # general keys (from memory)
        ({"old-yellow", "whole-pale"}, "N"),
        ({"old-dark", "stunted"}, "P"),
        ({"old-yellow-edges", "old-pinholes"}, "K"),
        ({"old-yellow-between"}, "Mg"),
        ({"young-pale", "whole-pale"}, "S"),
        ({"young-limp", "tips-twisted"}, "Cu"),
        ({"leggy", "old-dropped"}, "light"),
        ({"glassy", "old-dropped"}, "moved"),
        ({"bitten"}, "eaten"),
    ],
)
def test_published_keys(observed: set[str], first: str) -> None:
    assert causes(observed)[0].key == first


def test_iron_and_manganese_are_both_named_for_pale_young_leaves() -> None:
    rows = {row.key: row for row in causes({"young-pale-between"})}
    assert {"Fe", "Mn", "Zn"} <= set(rows)
    assert rows["Fe"].agreement == rows["Mn"].agreement == 1.0


def test_what_contradicts_is_said() -> None:
    rows = {row.key: row for row in causes({"old-yellow", "young-pale-between"})}
    assert [sign.key for sign in rows["Fe"].contradicts] == ["old-yellow"]
    assert rows["Fe"].agreement == 0.0
    assert "Against it: old leaves turn yellow all over" in rows["Fe"].comment
    assert [sign.key for sign in rows["Fe"].look_for] == ["young-white"]
    assert [sign.key for sign in rows["Zn"].unexplained] == ["old-yellow"]


def test_copper_is_never_dosed_on_suspicion() -> None:
    row = next(row for row in causes({"young-limp"}) if row.key == "Cu")
    assert "never dose it on suspicion" in row.comment
    assert "one thing at a time" in GUIDE_ONLY
    assert "qualified" in GUIDE_ONLY


@given(observed=some_signs)
def test_rows_part_what_was_seen(observed: set[str]) -> None:
    rows = causes(observed)
    assert [row.agreement for row in rows] == sorted((row.agreement for row in rows), reverse=True)
    for row in rows:
        assert 0.0 <= row.agreement <= 1.0
        parted = [sign.key for sign in (*row.agrees, *row.contradicts, *row.unexplained)]
        assert sorted(parted) == sorted(observed)
        assert row.agrees
        assert "safe" not in row.comment


@given(observed=some_signs)
def test_order_and_repetition_do_not_matter(observed: set[str]) -> None:
    assert causes(sorted(observed)) == causes([*sorted(observed, reverse=True), *observed])


def test_nothing_seen_and_nonsense() -> None:
    assert causes([]) == ()
    with pytest.raises(UnknownSignError) as refused:
        causes(["old-yellow", "blue smoke"])
    assert refused.value.keys == ("blue smoke",)
    assert "blue smoke is no sign here. There are: old-yellow" in str(refused.value)
