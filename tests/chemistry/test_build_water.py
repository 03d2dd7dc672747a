"""Building water: against hand calculation, against brute force, and what cannot be built."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from littoral.chemistry.build_water import SaltOnShelf, WaterTarget, build_water
from littoral.chemistry.mix_water import mix_water
from littoral.chemistry.raising import WATER_SALTS, effect_of_gram, grams_to_raise_gh, grams_to_raise_kh
from littoral.chemistry.salts import UnknownSaltError
from littoral.chemistry.water_errors import WaterError
from littoral.chemistry.whole_steps import EACH_SALT, SIDE_WEIGHT, grams_without_steps, whole_steps

THREE = (SaltOnShelf("CaSO4·2H2O"), SaltOnShelf("MgSO4·7H2O"), SaltOnShelf("KHCO3"))


def test_a_usual_target() -> None:
    water = build_water(WaterTarget(6.0, 4.0, 3.0), shelf=THREE, volume_l=54.0)
    assert water.gh_dgh == pytest.approx(6.0, abs=0.05)
    assert water.kh_dkh == pytest.approx(4.0, abs=0.05)
    assert water.calcium_to_magnesium == pytest.approx(3.0, abs=0.1)
    assert all(row.verdict == "holds" for row in water.checks)
    # each salt is within one step of its exact grams, and the exact grams reach the target alone
    for line in water.weighings:
        assert line.grams == pytest.approx(line.steps * line.step_g)
        assert abs(line.grams - line.exact_g) <= line.step_g
    assert water.weighings[2].exact_g == pytest.approx(
        grams_to_raise_kh("KHCO3", dkh=4.0, volume_l=54.0).grams, rel=1e-4
    )
    assert "safety data sheet" in water.weighings[0].hazard
    assert water.steps[0].what == "target as levels"


def test_gypsum_alone_reaches_the_published_dose() -> None:
    # +1 dGH in 100 L: 3.070 g CaSO4·2H2O, recomputed independently
    shelf = [SaltOnShelf("CaSO4·2H2O", step_g=0.001)]
    water = build_water(WaterTarget(1.0, 0.0, math.inf), shelf=shelf, volume_l=100.0)
    assert water.weighings[0].grams == pytest.approx(3.070, abs=5.1e-4)
    assert water.calcium_to_magnesium is None


def test_one_salt_of_a_kind_is_preferred_to_many() -> None:
    shelf = [SaltOnShelf(salt, step_g=0.01) for salt in WATER_SALTS]
    water = build_water(WaterTarget(6.0, 4.0, 3.0), shelf=shelf, volume_l=54.0)
    assert sum(line.steps > 0 for line in water.weighings) == 3
    assert water.deviation_meq_per_l < 0.005


def test_from_a_mixture_with_tap_water() -> None:
    tap = {"calcium": 92.0, "magnesium": 34.0, "bicarbonate": 325.0, "nitrate": 13.0}
    base = mix_water(tap, {}, share_of_first=0.2)
    water = build_water(WaterTarget(6.0, 4.0, 3.0), shelf=THREE, volume_l=40.0, base_mg_per_l=base)
    assert water.levels_mg_per_l["nitrate"] == pytest.approx(2.6)
    assert water.gh_dgh == pytest.approx(6.0, abs=0.1)
    assert water.kh_dkh == pytest.approx(4.0, abs=0.1)
    hard = build_water(WaterTarget(3.0, 1.0, 3.0), shelf=THREE, volume_l=40.0, base_mg_per_l=tap)
    assert [line.steps for line in hard.weighings] == [0, 0, 0]
    assert {row.comment for row in hard.checks} == {
        "The water to start from holds more than the target; only purer water lowers it."
    }


def test_mass_is_kept() -> None:
    water = build_water(WaterTarget(8.0, 3.0, 4.0), shelf=THREE, volume_l=30.0)
    for key, level in water.levels_mg_per_l.items():
        weighed = sum(
            line.grams * 30.0 * effect_of_gram(line.salt, volume_l=30.0).adds_mg_per_l.get(key, 0.0)
            for line in water.weighings
        )
        assert 30.0 * level == pytest.approx(weighed)


def test_a_salt_that_is_missing_is_said() -> None:
    water = build_water(WaterTarget(6.0, 4.0, 3.0), shelf=THREE[:2], volume_l=54.0)
    row = next(row for row in water.checks if row.what.startswith("alkalinity"))
    assert row.verdict == "warns"
    assert "no salt on the shelf brings it" in row.comment


small = st.lists(
    st.tuples(
        st.tuples(st.floats(0, 0.6), st.floats(0, 0.6), st.floats(0, 0.6)), st.floats(0, 30), st.floats(0.3, 1.0)
    ),
    min_size=1,
    max_size=3,
)


@settings(max_examples=60, deadline=None)
@given(salts=small, missing=st.tuples(st.floats(-0.5, 2), st.floats(-0.5, 2), st.floats(-0.5, 2)))
def test_whole_steps_against_brute_force(
    salts: list[tuple[tuple[float, float, float], float, float]], missing: tuple[float, float, float]
) -> None:
    """Every combination of up to 12 steps of up to three salts is tried; none is better than what the solver says."""
    # gains below the solver's feasibility tolerance (1e-6) are no salts
    gains = [[round(gain, 2) for gain in salt[0]] for salt in salts]
    per_gram = [[gain[aim] for gain in gains] for aim in range(3)]
    unasked = [salt[1] for salt in salts]
    step_g = [round(salt[2], 2) for salt in salts]

    def cost(counts: tuple[int, ...]) -> float:
        apart = sum(
            abs(sum(n * g * row for n, g, row in zip(counts, step_g, per_gram[aim], strict=True)) - missing[aim])
            for aim in range(3)
        )
        side = sum(n * g * mg for n, g, mg in zip(counts, step_g, unasked, strict=True))
        return apart + EACH_SALT * sum(n > 0 for n in counts) + SIDE_WEIGHT * side

    found = tuple(whole_steps(per_gram, missing, unasked, step_g))
    best = min(cost(counts) for counts in itertools.product(range(13), repeat=len(salts)))
    assert all(n >= 0 for n in found)
    assert cost(found) <= best + 1e-5


@settings(max_examples=30, deadline=None)
@given(
    gh=st.floats(1, 15),
    kh=st.floats(0, 10),
    ratio=st.floats(1, 8),
    volume_l=st.floats(20, 500),
    step_g=st.sampled_from([0.01, 0.1, 0.5]),
)
def test_no_aim_is_further_off_than_its_own_step(
    gh: float, kh: float, ratio: float, volume_l: float, step_g: float
) -> None:
    """With one salt per aim, rounding alone stands between the target and what is reached."""
    shelf = [SaltOnShelf(item.salt, step_g) for item in THREE]
    water = build_water(WaterTarget(gh, kh, ratio), shelf=shelf, volume_l=volume_l)
    for row, item in zip(water.checks, shelf, strict=True):
        effect = effect_of_gram(item.salt, volume_l=volume_l)
        meq_per_step = step_g * (effect.gh_dgh + effect.kh_dkh) * 20 / 56.0774
        assert row.value is not None
        # half a step by rounding; a whole one where the salt does not earn its place
        assert abs(row.value) <= max(0.5 * meq_per_step, EACH_SALT) + 0.01


def test_least_squares_gives_exact_grams() -> None:
    # 2 of the first and 3 of the second, by hand
    assert grams_without_steps([[1.0, 0.0], [0.0, 2.0]], [2.0, 6.0], [0.0, 0.0]) == pytest.approx([2.0, 3.0])
    assert grams_without_steps([[1.0, 0.0], [0.0, 2.0]], [-2.0, 6.0], [0.0, 0.0]) == pytest.approx([0.0, 3.0])


def test_doses_of_single_salts() -> None:
    raising = grams_to_raise_gh("MgSO4·7H2O", dgh=2.0, volume_l=50.0)
    assert raising.grams == pytest.approx(4.395, abs=1e-3)  # +1 dGH in 100 L: 4.395 g
    assert raising.steps[-1].result == "4.395 g"
    assert grams_to_raise_kh("K2CO3", dkh=1, volume_l=100, purity=0.5).grams == pytest.approx(2 * 2.465, abs=2e-3)
    with pytest.raises(WaterError, match="KNO3 holds no calcium or magnesium"):
        grams_to_raise_gh("KNO3", dgh=1.0, volume_l=10)
    with pytest.raises(WaterError, match="holds no bicarbonate or carbonate"):
        grams_to_raise_kh("CaCl2·2H2O", dkh=1.0, volume_l=10)
    with pytest.raises(WaterError, match="a raise of 0 dKH"):
        grams_to_raise_kh("KHCO3", dkh=0.0, volume_l=10)
    with pytest.raises(WaterError, match="a volume of -10 L"):
        effect_of_gram("KHCO3", volume_l=-10)
    with pytest.raises(UnknownSaltError):
        grams_to_raise_gh("MgSO4", dgh=1.0, volume_l=10)  # which hydrate?


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"target": WaterTarget(-1.0, 4.0, 3.0)}, "the target's hardness is -1 dGH"),
        ({"target": WaterTarget(6.0, 400.0, 3.0)}, "the target's alkalinity is 400 dKH"),
        ({"target": WaterTarget(6.0, 4.0, -3.0)}, "a calcium to magnesium ratio of -3"),
        ({"target": WaterTarget(6.0, 4.0, math.nan)}, "a calcium to magnesium ratio of nan"),
        ({"target": WaterTarget(math.nan, 4.0, 3.0)}, "the target's hardness is no number"),
        ({"shelf": ()}, "no salt to build with"),
        ({"shelf": (*THREE, SaltOnShelf("KHCO3"))}, "KHCO3 is on the shelf twice"),
        ({"shelf": (SaltOnShelf("KHCO3", step_g=0.0),)}, "a step of 0 g for KHCO3"),
        ({"shelf": (SaltOnShelf("KHCO3", step_g=math.nan),)}, "a step of nan g"),
        ({"volume_l": 0.0}, "a volume of 0 L"),
        ({"volume_l": -54.0}, "a volume of -54 L"),
        ({"base_mg_per_l": {"calcium": -1.0}}, "the level of calcium is -1"),
        ({"tolerance_meq_per_l": -1.0}, "the tolerance is -1"),
    ],
)
def test_what_cannot_be_built(changed: dict[str, object], message: str) -> None:
    wanted: dict[str, object] = {"target": WaterTarget(6.0, 4.0, 3.0), "shelf": THREE, "volume_l": 54.0} | changed
    target = wanted.pop("target")
    with pytest.raises(WaterError) as refused:
        build_water(target, **wanted)  # type: ignore[arg-type]
    assert message in str(refused.value)
