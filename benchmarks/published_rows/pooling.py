"""Pooling against published worked examples: the BCG trials, Borenstein's effect sizes, Curtis's plants under CO2.

The last is there only where the open data sets are (../shared/data, or LITTORAL_DATA).
"""

from __future__ import annotations

import csv
import os
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from rows import Row, row
from rows import printed_row as _row

from littoral.stats.effect_sizes import Group, hedges_g, log_response_ratio, small_sample_factor
from littoral.stats.pooling import pool

DATA = Path(os.environ.get("LITTORAL_DATA", Path(__file__).parents[3] / "shared" / "data")) / "tables"

COUNTS = "Colditz et al. 1994, JAMA 271:698-702, counts from memory; log ratios as printed by R's metadat dat.bcg"
BCG = "R metafor, rma(yi, vi) of metadat's dat.bcg (Colditz et al. 1994, JAMA 271:698-702)"
BORENSTEIN = "Borenstein et al. 2009, Introduction to Meta-Analysis, chapter 4 (from memory)"
RATIO = "the formula of Hedges, Gurevitch & Curtis 1999, computed elsewhere"
CURTIS = "Hedges, Gurevitch & Curtis 1999, Ecology 80:1150-1156, data of R's metadat; statsmodels, combine_effects"

# Cases and healthy of the vaccinated, cases and healthy of the others, absolute latitude
TRIALS = np.array([
    (4, 119, 11, 128, 44), (6, 300, 29, 274, 55), (3, 228, 11, 209, 42), (62, 13536, 248, 12619, 52),
    (33, 5036, 47, 5761, 13), (180, 1361, 372, 1079, 44), (8, 2537, 10, 619, 19), (505, 87886, 499, 87892, 13),
    (29, 7470, 45, 7232, 27), (17, 1699, 65, 1600, 42), (186, 50448, 141, 27197, 18), (5, 2493, 3, 2338, 33),
    (27, 16886, 29, 17825, 33),
], dtype=float)  # fmt: skip
PRINTED = (
    ("-0.889311", "0.325585"), ("-1.585389", "0.194581"), ("-1.348073", "0.415368"), ("-1.441551", "0.020010"),
    ("-0.217547", "0.051210"), ("-0.786116", "0.006906"), ("-1.620898", "0.223017"), ("0.011952", "0.003962"),
    ("-0.469418", "0.056434"), ("-1.371345", "0.073025"), ("-0.339359", "0.012412"), ("0.445913", "0.532506"),
    ("-0.017314", "0.071405"),
)  # fmt: skip


def risk_ratios() -> tuple[np.ndarray, np.ndarray]:
    """Return log risk ratio and variance of the 13 trials, both shape (13,)."""
    a, b, c, d = TRIALS[:, :4].T
    return np.log(a / (a + b) * (c + d) / c), 1 / a - 1 / (a + b) + 1 / c - 1 / (c + d)


def rows() -> list[Row]:
    return [*_bcg_inputs(), *_bcg(), *_effects(), *_curtis()]


def _bcg_inputs() -> Iterator[Row]:
    for number, (y, v, printed) in enumerate(zip(*risk_ratios(), PRINTED, strict=True), start=1):
        yield _row(f"BCG trial {number}, log risk ratio", float(y), "1", printed[0], COUNTS)
        yield _row(f"BCG trial {number}, its variance", float(v), "1", printed[1], COUNTS)


def _bcg() -> Iterator[Row]:
    y, v = risk_ratios()
    reml = pool(y, v, interval="normal")
    yield _row("BCG by REML, mean log risk ratio", reml.value, "1", "-0.714532", BCG)
    yield _row("BCG by REML, standard error", float(reml.standard_error[0]), "1", "0.179782", BCG)
    z = reml.value / float(reml.standard_error[0])
    yield _row("BCG by REML, z", z, "1", "-3.974448", BCG)
    for name, end, printed in zip(("low", "high"), reml.interval, ("-1.066898", "-0.362167"), strict=True):
        yield _row(f"BCG by REML, interval, {name}", end, "1", printed, BCG)
    for name, value, printed in (
        ("variance between trials", reml.tau2, "0.313243"),
        ("its standard error", reml.tau2_error, "0.166426"),
        ("Q on 12 degrees of freedom", reml.q, "152.233008"),
        ("H2", reml.h2, "12.86"),
    ):
        yield _row(f"BCG by REML, {name}", value, "1", printed, BCG)
    yield _row("BCG by REML, I2", reml.i2_percent, "%", "92.22", BCG)
    yield _row("BCG by REML, risk ratio", float(np.exp(reml.value)), "1", "0.489421", BCG)
    for end, printed in zip(np.exp(reml.interval), ("0.344074", "0.696166"), strict=True):
        yield _row(f"BCG by REML, end of the risk ratio's interval, {printed}", float(end), "1", printed, BCG)
    assert reml.prediction is not None
    for end, printed in zip(np.exp(reml.prediction), ("0.154634", "1.549028"), strict=True):
        yield _row(f"BCG by REML, end of the normal prediction interval, {printed}", float(end), "1", printed, BCG)
    moments = pool(y, v, between="dersimonian-laird", interval="normal")
    yield _row("BCG by DerSimonian and Laird, mean", moments.value, "1", "-0.714117", BCG)
    yield _row("BCG by DerSimonian and Laird, variance between trials", moments.tau2, "1", "0.308760", BCG)
    equal = pool(y, v, between="none", interval="normal")
    yield _row("BCG with equal effects, mean", equal.value, "1", "-0.430285", BCG)
    yield _row("BCG with equal effects, standard error", float(equal.standard_error[0]), "1", "0.040499", BCG)
    knapp = pool(y, v, interval="hartung-knapp")
    yield _row("BCG by Hartung and Knapp, standard error", float(knapp.standard_error[0]), "1", "0.180792", BCG)
    yield _row("BCG by Hartung and Knapp, p", float(knapp.p_value[0]), "1", "0.001920", BCG)
    latitude = pool(y, v, moderators=TRIALS[:, 4], interval="normal")
    # metafor stops at steps under 1e-5, and its 0.076355 is less likely than our 0.076348: so fewer digits here
    yield _row("BCG on latitude, log risk ratio at the equator", latitude.value, "1", "0.2515", BCG)
    yield _row("BCG on latitude, slope", float(latitude.coefficient[1]), "1/degree", "-0.0291", BCG)
    yield _row("BCG on latitude, error of the slope", float(latitude.standard_error[1]), "1/degree", "0.0072", BCG)
    away = latitude.tau2 - 0.076355
    yield row(
        "BCG on latitude, variance left between trials", latitude.tau2, "1", reference="0.076355", difference=away,
        limit="±1e-05, where the reference's search stops", holds=abs(away) <= 1e-5, source=BCG,
    )  # fmt: skip


def _effects() -> Iterator[Row]:
    second, first = Group(103.0, 5.5, 50), Group(100.0, 4.5, 50)
    g = hedges_g(second, first)
    yield _row("Worked example, d", g.value / small_sample_factor(98), "1", "0.5970", BORENSTEIN)
    yield _row("Worked example, J", small_sample_factor(98), "1", "0.9923", BORENSTEIN)
    yield _row("Worked example, Hedges' g", g.value, "1", "0.5924", BORENSTEIN)
    yield _row("Worked example, variance of g", g.variance, "1", "0.0411", BORENSTEIN)
    ratio = log_response_ratio(second, first)
    yield _row("Worked example, log response ratio", ratio.value, "1", "0.0295588", RATIO)
    yield _row("Worked example, variance of the log response ratio", ratio.variance, "1", "0.00009753", RATIO)


def _curtis() -> Iterator[Row]:
    file = DATA / "meta_curtis1998.csv"
    if not file.is_file():
        return
    with file.open(encoding="utf-8", newline="") as opened:
        studies = list(csv.DictReader(opened))
    sizes = [
        log_response_ratio(*(Group(float(one[f"m{i}i"]), float(one[f"sd{i}i"]), int(one[f"n{i}i"])) for i in (1, 2)))
        for one in studies
    ]
    y, v = (np.array([getattr(size, name) for size in sizes]) for name in ("value", "variance"))
    worst = max(abs(size.value - float(one["yi"])) for size, one in zip(sizes, studies, strict=True))
    yield _row("Plants under CO2, worst of 102 log ratios", worst, "1", "0.000000000000", CURTIS)
    worst = max(abs(size.variance - float(one["vi"])) for size, one in zip(sizes, studies, strict=True))
    yield _row("Plants under CO2, worst of 102 variances", worst, "1", "0.000000000000", CURTIS)
    moments = pool(y, v, between="dersimonian-laird", interval="normal")
    yield _row("Plants under CO2, mean log ratio", moments.value, "1", "0.2531", CURTIS)
    yield _row("Plants under CO2, low end", moments.interval[0], "1", "0.2168", CURTIS)
    yield _row("Plants under CO2, high end", moments.interval[1], "1", "0.2893", CURTIS)
    yield _row("Plants under CO2, variance between studies", moments.tau2, "1", "0.02165", CURTIS)
    yield _row("Plants under CO2, Q", moments.q, "1", "769.0", CURTIS)
    yield _row("Plants under CO2, equal effects", pool(y, v, between="none").value, "1", "0.2088", CURTIS)
    fed = np.array([one["xtrt"] == "FERT" and one["level"] == "LOW" for one in studies])
    low = pool(y[fed], v[fed], between="dersimonian-laird", interval="normal")
    yield _row("Plants under CO2, poorly fed, studies", float(low.keepers), "1", "15", CURTIS)
    yield _row("Plants under CO2, poorly fed, mean log ratio", low.value, "1", "0.1343", CURTIS)
    yield _row("Plants under CO2, poorly fed, low end", low.interval[0], "1", "0.0375", CURTIS)
    yield _row("Plants under CO2, poorly fed, high end", low.interval[1], "1", "0.2310", CURTIS)
