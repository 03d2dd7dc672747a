"""Leaving values out from one factorisation is fitting what is left."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from littoral.stats.compare import LEVEL_STRUCTURES, levels_model
from littoral.stats.growth import ALL_STRUCTURES, growth_model
from littoral.stats.leave_out import fits_without, models_without
from littoral.stats.line_model import LineModel
from littoral.stats.regression import fit, spacing_of
from littoral.stats.series import FloatArray, Series


def series(seed: int, n: int, *, each_day: int = 1) -> Series:
    rng = np.random.default_rng(seed)
    day = np.sort(np.repeat(np.arange(n), each_day) + rng.uniform(0.3, 0.7, n * each_day))
    value = np.exp(0.03 * day + rng.normal(0, 0.05, day.size).cumsum() * 0.5 + rng.normal(0, 0.05, day.size))
    return Series("left", "cm", "level", day, value)


def slow(model: LineModel, keep: np.ndarray, structures) -> dict[str, FloatArray]:
    """Fit what is left, plainly, on the same grid of correlations."""
    fitted = fit(
        model.day[keep],
        model.response[keep],
        model.design[keep],
        structures=structures,
        spacing_days=spacing_of(model.day),
    )
    return {
        "coefficient": fitted.coefficient,
        "spread": fitted.covariance * fitted.variance[:, None, None],
        "weight": fitted.weight,
    }


@pytest.mark.parametrize("each_day", [1, 3])
@pytest.mark.parametrize("kind", ["growth", "levels"])
def test_the_fast_fits_are_those_of_what_is_left(kind: str, each_day: int) -> None:
    one = series(3, 24, each_day=each_day)
    structures = ALL_STRUCTURES if kind == "growth" else LEVEL_STRUCTURES
    model = growth_model(one, (12.0, 17.2), change_day=8.0) if kind == "growth" else levels_model(one, change_day=8.0)
    labels = np.floor(model.day).astype(int)
    fast = fits_without(model.day, model.response, model.design, labels, structures=structures)
    assert set(fast) == set(range(24))
    for label, fitted in fast.items():
        assert fitted is not None
        twin = slow(model, labels != label, structures)
        np.testing.assert_allclose(fitted.coefficient, twin["coefficient"], rtol=1e-6, atol=1e-9)
        spread = fitted.covariance * fitted.variance[:, None, None]
        for asked in (model.after, model.change):  # not the intercept: where a random walk begins, it is sure
            of = [asked @ one @ asked for one in spread]
            np.testing.assert_allclose(of, [asked @ one @ asked for one in twin["spread"]], rtol=1e-5)
        np.testing.assert_allclose(fitted.weight, twin["weight"], rtol=1e-5, atol=1e-12)


@settings(max_examples=5, deadline=None)
@given(seed=st.integers(0, 10_000), change=st.sampled_from([0.0, 7.0]))
def test_levels_without_a_day_are_those_of_the_series_without_it(seed: int, change: float) -> None:
    # whole days, one gap more does not move the median spacing, so that the grid is the same by itself
    rng = np.random.default_rng(seed)
    day = np.arange(22.0)
    one = Series("left", "a*", "level", day, rng.normal(5, 1, day.size))
    model = levels_model(one, change_day=change)
    found = models_without(model, day.astype(int), structures=LEVEL_STRUCTURES)
    for label in (0, 3, 7, 15, 21):
        keep = day != label
        left = Series("left", "a*", "level", day[keep], one.value[keep])
        again = levels_model(left, change_day=change)
        twin = fit(again.day, again.response, again.design, structures=LEVEL_STRUCTURES)
        without = found[label]
        assert without is not None
        assert without.after.value == pytest.approx(twin.contrast(again.after).value, rel=1e-7)
        assert without.after.interval() == pytest.approx(twin.contrast(again.after).interval(), rel=1e-5)
        if again.change is not None:
            assert without.change is not None
            assert without.change.value == pytest.approx(twin.contrast(again.change).value, rel=1e-6, abs=1e-9)


def test_no_day_of_a_constant_series_moves_it() -> None:
    day = np.arange(20.0)
    model = levels_model(Series("left", "a*", "level", day, np.full(20, 5.0)), change_day=8.0)
    for without in models_without(model, day.astype(int), structures=LEVEL_STRUCTURES).values():
        assert without is not None
        assert without.after.value == pytest.approx(5.0, abs=1e-9)
        assert without.change is not None
        assert without.change.value == pytest.approx(0.0, abs=1e-9)


def test_where_the_model_would_be_another_there_is_no_fast_answer() -> None:
    one = series(5, 10)
    # only day 6 lies between the trims, and four values stand before the change
    model = growth_model(one, (6.0, 7.0), change_day=4.0)
    found = models_without(model, np.floor(model.day).astype(int), structures=ALL_STRUCTURES)
    assert [label for label, without in found.items() if without is None] == [0, 1, 2, 3, 6]
