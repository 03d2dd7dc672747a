"""Scores, times to an event and doses against one control, against values that we did not compute.

Rows that read the open data sets are there only where their folder is (../shared/data, or LITTORAL_DATA).
"""

from __future__ import annotations

import csv
import math
import os
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from rows import Row, row
from rows import printed_row as _row
from scipy.optimize import brentq

from littoral.stats.many_to_one import Side, dunnett, residual_normality, williams, williams_tail
from littoral.stats.ordered import superiority
from littoral.stats.series import FloatArray
from littoral.stats.time_to_event import kaplan_meier, log_rank

DATA = Path(os.environ.get("LITTORAL_DATA", Path(__file__).parents[3] / "shared" / "data")) / "tables"

PAIN = "Brunner & Munzel 2000, Biom J 42:17-25, pain scores; estimate as R's lawstat prints it (from memory)"
COIN = "R 4.2.2, coin 1.4, wilcox_test(distribution = 'exact')"
LEUKAEMIA = (
    "Freireich et al. 1963, times as in Gehan 1965, Biometrika 52:203-223; R 4.2.2, survival, survfit and survdiff"
)
SURVDIFF = "R 4.2.2, survival, survdiff on eleven made-up tanks"
MILFOIL = "drcHelper 0.0.5 (R), expected results of an OECD 239 water-milfoil test"
TABLE = "Williams 1971, Biometrics 27:103-117, table 1 (one-sided 5 %), as drcHelper 0.0.5 holds it"

# Days in remission and whether it ended, 21 patients on 6-mercaptopurine and 21 on placebo
TREATED = (6, 6, 6, 6, 7, 9, 10, 10, 11, 13, 16, 17, 19, 20, 22, 23, 25, 32, 32, 34, 35)
TREATED_ENDED = (1, 1, 1, 0, 1, 0, 1, 0, 0, 1, 1, 0, 0, 0, 1, 1, 0, 0, 0, 0, 0)
PLACEBO = (1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23)


def rows() -> list[Row]:
    return [*_scores(), *_survival(), *_doses(), *_critical()]


def _scores() -> Iterator[Row]:
    first = np.array([1.0, 2, 1, 1, 1, 1, 1, 1, 1, 1, 2, 4, 1, 1])
    second = np.array([3.0, 3, 4, 3, 1, 2, 3, 1, 1, 5, 4])
    found = superiority(second, first, rng=np.random.default_rng(1))
    yield _row("Pain scores, probability of superiority", found.probability, "1", "0.788961", PAIN)
    tied = superiority(np.array([3.0, 4, 4, 5, 5]), np.array([1.0, 2, 2, 3, 4]))
    yield _row("Two arms of five scores with ties, exact p", tied.p_value, "1", "0.0555556", COIN)


def _survival() -> Iterator[Row]:
    found = kaplan_meier(np.array(TREATED, dtype=float), np.array(TREATED_ENDED, dtype=bool))
    printed = (
        (6, "0.85714", "0.076360", "0.61972", "0.95155"),
        (7, "0.80672", "0.086935", "0.56315", "0.92281"),
        (10, "0.75294", "0.096350", "0.50320", "0.88936"),
        (13, "0.69020", "0.106815", "0.43161", "0.84907"),
        (16, "0.62745", "0.114054", "0.36751", "0.80491"),
        (22, "0.53782", "0.128234", "0.26778", "0.74679"),
        (23, "0.44818", "0.134591", "0.18805", "0.68014"),
    )
    for at, (day, share, error, low, high) in enumerate(printed):
        name = f"Remission, treated, week {day}"
        yield _row(f"{name}: share", float(found.share[at]), "1", share, LEUKAEMIA)
        yield _row(f"{name}: error", float(found.error[at]), "1", error, LEUKAEMIA)
        yield _row(f"{name}: low end", float(found.low[at]), "1", low, LEUKAEMIA)
        yield _row(f"{name}: high end", float(found.high[at]), "1", high, LEUKAEMIA)
    yield _row("Remission, treated, median", found.median_day or math.nan, "weeks", "23", LEUKAEMIA)
    placebo = kaplan_meier(np.array(PLACEBO, dtype=float), np.ones(21, dtype=bool))
    yield _row("Remission, placebo, median", placebo.median_day or math.nan, "weeks", "8", LEUKAEMIA)
    both = log_rank(
        np.array(TREATED + PLACEBO, dtype=float),
        np.array((*TREATED_ENDED, *[1] * 21), dtype=bool),
        np.repeat([True, False], 21),
        rng=np.random.default_rng(1),
    )
    yield _row("Remission, expected among treated", both.expected, "1", "19.251", LEUKAEMIA)
    yield _row("Remission, log-rank chi-square", both.chi_square, "1", "16.793", LEUKAEMIA)
    tanks = log_rank(
        np.array([5.0, 6, 8, 9, 12, 12, 4, 4, 5, 6, 7]),
        np.array([1, 1, 1, 1, 0, 0, 1, 1, 1, 1, 1], dtype=bool),
        np.repeat([False, True], (6, 5)),
    )
    yield _row("Eleven tanks, expected in the second arm", tanks.expected, "1", "2.3472", SURVDIFF)
    yield _row("Eleven tanks, log-rank chi-square", tanks.chi_square, "1", "5.2703", SURVDIFF)


def milfoil() -> tuple[list[FloatArray], FloatArray, list[float]]:
    """Return the doses' growth rates (1/day), the control's, and the doses (ug/L); nothing without the data."""
    file = DATA / "myriophyllum_oecd239_data.csv"
    rates: dict[float, list[float]] = {}
    if file.is_file():
        with file.open(encoding="utf-8", newline="") as opened:
            for one in csv.DictReader(opened):
                if one["Study ID"] == "MOCK0065":
                    rates.setdefault(float(one["Dose"].replace(",", ".")), []).append(float(one["Response"]))
    control = np.array(rates.pop(0.0, []))
    return [np.array(rates[dose]) for dose in sorted(rates)], control, sorted(rates)


def _doses() -> Iterator[Row]:
    doses, control, dose = milfoil()
    file = DATA / "myriophyllum_oecd239_expected.csv"
    if not doses or not file.is_file():
        return
    normal = residual_normality([control, *doses])
    sides: dict[str, Side | None] = {"two-sided": None, "smaller": "less", "greater": "greater"}
    against = {name: dunnett(doses, control, side=side) for name, side in sides.items()}
    smaller = williams(doses, control, side="less")
    with file.open(encoding="utf-8", newline="") as opened:
        for one in csv.DictReader(opened):
            if one["Study ID"] != "MOCK0065":
                continue
            what, printed = one["Brief description"], one["expected result value"]
            for name, ours in (("W-value", normal.w), ("p(W)-value", normal.p_value)):
                if what == f"model test, Shapiro-Wilk's {name}":
                    yield _row(f"Water-milfoil, {name}", ours, "1", f"{float(printed):.6f}", MILFOIL)
            if one["Test group"] != "Test item":
                continue
            at = int(np.argmin([abs(float(one["Dose"]) - known) for known in dose]))
            place = f"Water-milfoil at {dose[at]:g} ug/L"
            for name, found in against.items():
                if what == f"Dunnett's test, {name}, T-value":
                    ours = float(found.statistic[at])
                    yield _row(
                        f"{place}, Dunnett's t, {name}",
                        ours,
                        "1",
                        f"{float(printed):.6e}",
                        MILFOIL,
                    )
                elif what == f"Dunnett's test, {name}, p-value":
                    yield _close(
                        f"{place}, Dunnett's p, {name}",
                        float(found.p_value[at]),
                        float(printed),
                    )
            if what == "Williams' test, smaller, T-value (adjusted)":
                ours = float(smaller.statistic[at])
                yield _row(f"{place}, Williams' t", ours, "1", f"{float(printed):.6e}", MILFOIL)


def _close(name: str, ours: float, printed: float) -> Row:
    """A p value that the source integrated with random points: its own doubt is about 5e-5."""
    return row(
        name, ours, "1", reference=f"{printed:.6g}", difference=ours - printed,
        limit="±5e-5, the source's random points", holds=abs(ours - printed) <= 5e-5, source=MILFOIL,
    )  # fmt: skip


def _critical() -> Iterator[Row]:
    file = DATA / "williams_table.csv"
    if not file.is_file():
        return
    with file.open(encoding="utf-8", newline="") as opened:
        table = {int(one["df"]): one for one in csv.DictReader(opened)}
    for df in (5, 8, 15, 23, 40, 60):  # two entries of the table are off by just over half a digit
        for k in (2, 3, 6, 10):
            ours = float(
                brentq(
                    lambda t, k=k, df=df: williams_tail(t, sizes=(4.0,) * k, control=4.0, df=df) - 0.05,
                    0,
                    20,
                    xtol=1e-6,
                )
            )
            printed = float(table[df][f"Q{k}"])
            yield row(
                f"Williams' critical t, dose {k}, {df} df", ours, "1", reference=f"{printed:.3f}",
                difference=ours - printed, limit="±0.001, the last digit",
                holds=abs(ours - printed) < 0.001, source=TABLE,
            )  # fmt: skip


def _beyond(t: float, k: int, df: int) -> float:
    return williams_tail(t, sizes=(4.0,) * k, control=4.0, df=df) - 0.05
