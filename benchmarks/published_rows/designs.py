"""Designs against values that we did not compute: crossover, before-after-control-impact, exact tests, many questions.

Rows that read the open data sets are there only where their folder is (../shared/data, or LITTORAL_DATA).
"""

from __future__ import annotations

import csv
import os
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import numpy as np
from rows import Row
from rows import printed_row as _row

from littoral.stats.before_after import randomised_intervention, step_change
from littoral.stats.compare import holm_levels, paired
from littoral.stats.crossover import one_pair
from littoral.stats.permutation import two_sample
from littoral.stats.series import Series
from littoral.stats.several_questions import false_discovery

DATA = Path(os.environ.get("LITTORAL_DATA", Path(__file__).parents[3] / "shared" / "data")) / "tables"

BACI = "R 4.2.2, t.test and combn on a before-after-control-impact example"
LM = "R 4.2.2, lm on six made-up periods"
COIN = "R 4.2.2, coin 1.4, oneway_test(distribution = 'exact')"
ADJUST = "R 4.2.2, p.adjust on the 15 p values of Benjamini & Hochberg 1995, J R Stat Soc B 57:289-300"
LAKES = "NTL-LTER Cascade project, Peter and Paul Lake, surface total phosphorus; R 4.2.2, t.test and aggregate"

P_VALUES = (
    0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0,
)  # fmt: skip


def rows() -> list[Row]:
    return [*_before_after(), *_crossover(), *_exact(), *_questions(), *_lakes()]


def _before_after() -> Iterator[Row]:
    control = np.array([10.2, 11.0, 9.7, 10.5, 10.9, 10.1, 10.6, 11.2, 9.9, 10.8])
    impact = np.array([12.1, 13.0, 11.5, 12.6, 12.7, 15.2, 15.9, 16.1, 15.0, 15.8])
    difference = Series("impact minus control", "1", "level", np.arange(10.0), impact - control)
    found = step_change(difference, change_day=5.0, structures=("white",))
    yield _row("Step of a difference, before", found.before.value, "1", "1.92", BACI)
    yield _row("Step of a difference, after", found.after.value, "1", "5.08", BACI)
    yield _row("Step of a difference, change", found.change.value, "1", "3.16", BACI)
    yield _row("Step of a difference, t", found.change.value / float(found.change.scale[0]), "1", "35.780", BACI)
    yield _row("Step of a difference, df", float(found.change.df[0]), "1", "8.000", BACI)
    test = randomised_intervention(difference.value, difference.day >= 5).test
    yield _row("Randomised intervention, arrangements", test.arrangements, "1", "252", BACI)
    yield _row("Randomised intervention, exact p", test.p_value, "1", "0.0079365", BACI)
    yield _row("Randomised intervention, least p of 5 and 5", test.smallest_p, "1", "0.0079365", BACI)


def _crossover() -> Iterator[Row]:
    difference = np.array([1.2, 0.4, 1.6, 0.1, 1.1, 0.5])
    order = np.array([True, False, True, False, False, True])
    plain = one_pair(difference, order)
    yield _row("Crossover of one pair, effect", plain.effect.value, "1", "0.283333", LM)
    yield _row("Crossover of one pair, its error", float(plain.effect.scale[0]), "1", "0.218581", LM)
    yield _row("Crossover of one pair, df: periods - 2", plain.df, "1", "4", LM)
    yield _row("Crossover of one pair, p", plain.effect.p_zero(), "1", "0.264623", LM)
    yield _row("Crossover of one pair, tanks' own difference", plain.standing.value, "1", "0.816667", LM)
    trend = one_pair(difference, order, trend=True)
    assert trend.trend is not None
    yield _row("Crossover with a trend, effect", trend.effect.value, "1", "0.2721154", LM)
    yield _row("Crossover with a trend, its error", float(trend.effect.scale[0]), "1", "0.2447688", LM)
    yield _row("Crossover with a trend, df: periods - 3", trend.df, "1", "3", LM)
    yield _row("Crossover with a trend, p", trend.effect.p_zero(), "1", "0.347334", LM)
    yield _row("Crossover with a trend, the trend", trend.trend.value, "1/period", "-0.0673077", LM)


def _exact() -> Iterator[Row]:
    first, second = np.array([1.0, 2, 2, 3, 4]), np.array([3.0, 4, 4, 5, 5])
    yield _row("Two arms of five, exact p", two_sample(second, first).p_value, "1", "0.0555556", COIN)


def _questions() -> Iterator[Row]:
    found = false_discovery(P_VALUES)
    printed = ("0.0015", "0.0030", "0.0095", "0.035625", "0.0603", "0.0638571429", "0.0638571429", "0.0645", "0.0765")
    for i, value in enumerate(printed):
        yield _row(f"False discovery, question {i + 1}, adjusted p", found.adjusted[i], "1", value, ADJUST)
    yield _row("False discovery, questions called of 15", sum(found.called), "1", "4", ADJUST)
    for i, value in enumerate(
        ("0.0015", "0.0056", "0.0247", "0.1140", "0.2211", "0.2780", "0.2780", "0.2780", "0.3213")
    ):
        yield _row(f"Holm, question {i + 1}, adjusted p", _called_from(i), "1", value, ADJUST)


def _called_from(question: int) -> float:
    """Return the chance of a false call from which on Holm's levels call a question: its adjusted p value."""
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        called = P_VALUES[question] < holm_levels(P_VALUES, alpha=middle)[question]
        low, high = (low, middle) if called else (middle, high)
    return high


def lakes() -> dict[str, Series]:
    """Return surface total phosphorus (ug/L) of both lakes over days, or nothing where the data are absent."""
    file = DATA / "NTL-LTER_Lake_Nutrients_PeterPaul_Processed.csv"
    if not file.is_file():
        return {}
    taken: dict[str, dict[float, float]] = {}
    with file.open(encoding="utf-8", newline="") as opened:
        for one in csv.DictReader(opened):
            if one["depth"] == "0" and one["tp_ug"] != "NA":
                day = float(date.fromisoformat(one["sampledate"]).toordinal())
                taken.setdefault(one["lakename"], {})[day] = float(one["tp_ug"])
    return {
        name: Series(name, "ug/L", "level", np.array(sorted(values)), np.array([values[day] for day in sorted(values)]))
        for name, values in taken.items()
    }


def yearly_difference(both: dict[str, Series]) -> tuple[np.ndarray, np.ndarray]:
    """Return Peter Lake's yearly means minus Paul Lake's, and the years."""
    means = []
    for name in ("Peter Lake", "Paul Lake"):
        year = np.array([date.fromordinal(int(day)).year for day in both[name].day])
        means.append({int(one): float(both[name].value[year == one].mean()) for one in np.unique(year)})
    years = sorted(means[0].keys() & means[1].keys())
    return np.array([means[0][one] - means[1][one] for one in years]), np.array(years)


def _lakes() -> Iterator[Row]:
    both = lakes()
    if not both:
        return
    difference = paired(both["Peter Lake"], both["Paul Lake"], within_days=0.0)
    year = np.array([date.fromordinal(int(day)).year for day in difference.day])
    until = Series(difference.name, "ug/L", "level", difference.day[year <= 1997], difference.value[year <= 1997])
    found = step_change(until, change_day=float(date(1993, 1, 1).toordinal()), structures=("white",))
    t = found.change.value / float(found.change.scale[0])
    yield _row("Lakes, pairs of one day before", found.values_before, "1", "16", LAKES)
    yield _row("Lakes, pairs of one day after", found.values_after, "1", "6", LAKES)
    yield _row("Lakes, difference before enrichment", found.before.value, "ug/L", "-4.633125", LAKES)
    yield _row("Lakes, difference after", found.after.value, "ug/L", "11.048667", LAKES)
    yield _row("Lakes, t of the change", t, "1", "3.48665", LAKES)
    yield _row("Lakes, p of the change", found.change.p_zero(), "1", "0.0023259", LAKES)
    low, high = found.change.interval()
    yield _row("Lakes, low end of the change", low, "ug/L", "6.2998309", LAKES)
    yield _row("Lakes, high end of the change", high, "ug/L", "25.0637524", LAKES)
    yearly, years = yearly_difference(both)
    for one, printed in ((1993, "16.767"), (1994, "7.177"), (1995, "10.778"), (1996, "38.599"), (1997, "19.364")):
        yield _row(f"Lakes, difference of the year {one}", float(yearly[years == one][0]), "ug/L", printed, LAKES)
    enriched = (years >= 1993) & (years <= 1997)
    yield _row(
        "Lakes, exact p over years", randomised_intervention(yearly, enriched).test.p_value, "1", "0.015873", COIN
    )
