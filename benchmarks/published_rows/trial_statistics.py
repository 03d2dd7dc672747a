"""Statistics against values that we did not compute: OECD formulas, a before-after comparison, Welch's test, t tables.

Rows that read the open data sets are there only where their folder is (../shared/data, or LITTORAL_DATA).
"""

from __future__ import annotations

import csv
import math
import os
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from rows import Row
from rows import printed_row as _row

from littoral.stats.compare import mean_levels, tanks_per_arm
from littoral.stats.estimate import Estimate
from littoral.stats.growth import growth_rate
from littoral.stats.oecd import average_specific_growth_rate, doubling_time_days, inhibition_percent, yield_of
from littoral.stats.series import Series

DATA = Path(os.environ.get("LITTORAL_DATA", Path(__file__).parents[3] / "shared" / "data")) / "tables"

LEMNA = "Schmitt et al. 2013, Ecol Model 255:1-10 (mean frond counts, metsulfuron-methyl), rates recomputed elsewhere"
OECD = "OECD 221 (2006); EU 761/2009 Annex VI"
BACI = "R 4.2.2, t.test on a before-after-control-impact example"
WELCH = "drcHelper 0.0.5 (R), expected results of an OECD 239 water-milfoil test"
MAPLES = "Juice & Fahey 2019, doi 10.6073/pasta/0ade53ede9a916a36962799b2407097e; R, t.test"
TABLE = "NIST/SEMATECH e-Handbook 1.3.6.7.2, critical values of Student's t (from memory)"

CONTROL_DAYS = np.array([0.0, 3.0, 5.0, 7.0])
CONTROL_FRONDS = np.array([12.0, 38.0, 92.0, 176.0])
# Concentration (ug/L), fronds on day 7, inhibition of rate and of yield (%), as printed
TREATED = (
    ("0.32", 172 + 2 / 3, "0.71", "2.03"),
    ("0.56", 68 + 1 / 3, "35.23", "65.65"),
    ("1.0", 33.0, "62.33", "87.20"),
    ("1.8", 23 + 1 / 3, "75.24", "93.09"),
    ("3.2", 22 + 2 / 3, "76.32", "93.50"),
)


def rows() -> list[Row]:
    return [*_lemna(), *_validity(), *_before_after(), *_t_table(), *_milfoil(), *_maples()]


def _lemna() -> Iterator[Row]:
    def mu(start: int, end: int) -> float:
        days = float(CONTROL_DAYS[end] - CONTROL_DAYS[start])
        return average_specific_growth_rate(
            size_start=float(CONTROL_FRONDS[start]), size_end=float(CONTROL_FRONDS[end]), days=days
        )

    yield _row("Lemna control, growth rate day 0 to 7", mu(0, 3), "1/day", "0.383654", LEMNA)
    yield _row("Lemna control, doubling time", doubling_time_days(mu(0, 3)), "days", "1.80670", LEMNA)
    for section, printed in enumerate(("0.384227", "0.442101", "0.324348")):
        yield _row(f"Lemna control, section {section + 1}", mu(section, section + 1), "1/day", printed, LEMNA)
    fronds = Series("control", "fronds", "count", CONTROL_DAYS, CONTROL_FRONDS)
    white = growth_rate(fronds, structures=("white",)).rate_per_day.value
    yield _row("Lemna control, slope of the averaged regression, white errors", white, "1/day", "0.389148", LEMNA)
    grown = yield_of(size_start=12.0, size_end=176.0)
    for concentration, day_7, of_rate, of_yield in TREATED:
        rate = average_specific_growth_rate(size_start=12.0, size_end=day_7, days=7.0)
        name = f"Lemna at {concentration} ug/L, inhibition of"
        yield _row(f"{name} growth rate", inhibition_percent(control=mu(0, 3), treated=rate), "%", of_rate, LEMNA)
        less = inhibition_percent(control=grown, treated=yield_of(size_start=12.0, size_end=day_7))
        yield _row(f"{name} yield", less, "%", of_yield, LEMNA)


def _validity() -> Iterator[Row]:
    seven_fold = average_specific_growth_rate(size_start=1.0, size_end=7.0, days=7.0)
    yield _row("OECD 221, rate at a doubling time of 2.5 days", math.log(2) / 2.5, "1/day", "0.27726", OECD)
    yield _row("OECD 221, doubling time at 0.27726 per day", doubling_time_days(0.27726), "days", "2.5000", OECD)
    yield _row("OECD 221, seven-fold in seven days", seven_fold, "1/day", "0.27799", OECD)
    yield _row("OECD 221, doubling time at 0.27799 per day", doubling_time_days(0.27799), "days", "2.4934", OECD)
    printed = doubling_time_days(0.275)
    yield _row("OECD 221, the printed 0.275 per day would fail at 2.5 days", printed, "days", "2.5205", OECD)
    doubled = average_specific_growth_rate(size_start=1.0, size_end=2.0, days=14.0)
    yield _row("OECD 239, doubling in 14 days", doubled, "1/day", "0.0495", "OECD 239 (2014), from memory")
    grown = average_specific_growth_rate(size_start=1.0, size_end=16.0, days=3.0)
    yield _row("OECD 201, 16-fold in 72 hours", grown, "1/day", "0.924", "OECD 201 (2011), from memory")


def _before_after() -> Iterator[Row]:
    control = np.array([10.2, 11.0, 9.7, 10.5, 10.9, 10.1, 10.6, 11.2, 9.9, 10.8])
    impact = np.array([12.1, 13.0, 11.5, 12.6, 12.7, 15.2, 15.9, 16.1, 15.0, 15.8])
    difference = Series("impact minus control", "1", "level", np.arange(10.0), impact - control)
    levels = mean_levels(difference, change_day=5.0, structures=("white",))
    assert levels.before is not None
    assert levels.change is not None
    yield _row("Difference before", levels.before.value, "1", "1.92", BACI)
    yield _row("Difference after", levels.after.value, "1", "5.08", BACI)
    yield _row("Change of the difference", levels.change.value, "1", "3.16", BACI)
    t = levels.change.value / float(levels.change.scale[0])
    yield _row("t of the change, 8 degrees of freedom", t, "1", "35.780", BACI)
    parts = [[Estimate.exact(float(one)) for one in difference.value[part]] for part in (slice(5, 10), slice(0, 5))]
    yield _row("Welch's degrees of freedom", float(tanks_per_arm(*parts).df[0]), "1", "7.871", BACI)


def _t_table() -> Iterator[Row]:
    for df, printed in ((1, "12.706"), (2, "4.303"), (5, "2.571"), (8, "2.306"), (30, "2.042"), (100, "1.984")):
        one = np.ones(1)
        high = Estimate(0 * one, one, df * one, one).interval(0.95)[1]
        yield _row(f"End of the 95 % interval, {df} degrees of freedom", high, "1", printed, TABLE)


def _milfoil() -> Iterator[Row]:
    data, expected = DATA / "myriophyllum_oecd239_data.csv", DATA / "myriophyllum_oecd239_expected.csv"
    if not (data.is_file() and expected.is_file()):
        return
    rates: dict[float, list[Estimate]] = {}
    with data.open(encoding="utf-8", newline="") as file:
        for one in csv.DictReader(file):
            if one["Study ID"] == "MOCK0065":
                rates.setdefault(float(one["Dose"].replace(",", ".")), []).append(
                    Estimate.exact(float(one["Response"]))
                )
    with expected.open(encoding="utf-8", newline="") as file:
        for one in csv.DictReader(file):
            _, _, what = one["Brief description"].partition("Welch's test, two-sided, ")
            if (
                one["Study ID"] != "MOCK0065"
                or one["Test group"] != "Test item"
                or what in ("", "significance", "Mean")
            ):
                continue
            dose = next(known for known in rates if math.isclose(known, float(one["Dose"]), rel_tol=1e-9))
            effect = tanks_per_arm(rates[dose], rates[0.0])
            control = math.fsum(tank.value for tank in rates[0.0]) / len(rates[0.0])
            ours = {
                "%Inhibition": inhibition_percent(control=control, treated=control + effect.value),
                "df": float(effect.df[0]),
                "T-value": effect.value / float(effect.scale[0]),
                "p-value": effect.p_zero(),
            }[what]
            name = f"Water-milfoil at {dose:g} ug/L, Welch's {what}"
            yield _row(name, ours, "1", f"{float(one['expected result value']):.6e}", WELCH)


def _maples() -> Iterator[Row]:
    file = DATA / "hbr_maples.csv"
    if not file.is_file():
        return
    lengths: dict[str, list[Estimate]] = {}
    with file.open(encoding="utf-8", newline="") as opened:
        for one in csv.DictReader(opened):
            if one["year"] == "2003.0" and one["stem_length"]:
                lengths.setdefault(one["watershed"], []).append(Estimate.exact(float(one["stem_length"])))
    effect = tanks_per_arm(lengths["W1"], lengths["Reference"])
    yield _row("Maple seedlings 2003, Welch's t", effect.value / float(effect.scale[0]), "1", "3.780", MAPLES)
    yield _row("Maple seedlings 2003, Welch's degrees of freedom", float(effect.df[0]), "1", "237.8", MAPLES)
    yield _row("Maple seedlings 2003, Welch's p", effect.p_zero(), "1", "1.99e-4", MAPLES)
