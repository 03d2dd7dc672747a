"""Mixed models against R: Orthodont and Oats, whole and with values missing; tanks counted, not their values."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from rows import Row
from rows import printed_row as _row

from littoral.stats.mixed_model import Grouping, MixedFit, fit_mixed, nested
from littoral.stats.series import FloatArray
from littoral.stats.small_sample import Method

HERE = Path(__file__).parent
NLME = "R 4.2.2, nlme 3.1-162, lme by REML; as Pinheiro & Bates 2000, Mixed-Effects Models in S and S-PLUS"
SATTERTHWAITE = "R 4.2.2, lme4 1.1-31 with lmerTest 3.1-3, Satterthwaite"
KENWARD_ROGER = "R 4.2.2, lme4 1.1-31 with lmerTest 3.1-3 and pbkrtest 0.5.2, Kenward-Roger"

LEFT_OUT_OF_ORTHODONT = (1, 2, 7, 15, 33, 34, 35, 60, 77, 90, 101)
"""Values left out (1-based, children in the file's order, ages within) to make a trial in which no group is whole."""
LEFT_OUT_OF_OATS = (1, 2, 3, 14, 30, 31, 55, 70)


def rows() -> list[Row]:
    return [*_orthodont(), *_unbalanced_children(), *_oats(), *_unbalanced_oats()]


def read(name: str) -> tuple[list[list[str]], FloatArray, FloatArray]:
    """Return a table's labels (one list a row), the four conditions of its columns, and its values (rows, 4)."""
    lines = [
        line for line in (HERE / name).read_text(encoding="utf-8").splitlines() if line and not line.startswith("#")
    ]
    head, *body = csv.reader(lines)
    condition = np.array([float(name.partition("_")[2]) for name in head[2:]])
    return [line[:2] for line in body], condition, np.array([[float(one) for one in line[2:]] for line in body])


def children() -> tuple[FloatArray, FloatArray, FloatArray, NDArray[np.str_]]:
    """Return distance, age, 1 for a girl, and the child, all (108,)."""
    labels, ages, distance = read("orthodont.csv")
    child = np.repeat([label[0] for label in labels], 4)
    girl = np.repeat([float(label[1] == "Female") for label in labels], 4)
    return distance.ravel(), np.tile(ages, len(labels)), girl, child


def oats() -> tuple[FloatArray, FloatArray, NDArray[np.str_], NDArray[np.str_]]:
    """Return yield, nitrogen, variety and block, all (72,)."""
    labels, nitrogen, yields = read("oats.csv")
    variety = np.repeat([label[1] for label in labels], 4)
    return yields.ravel(), np.tile(nitrogen, len(labels)), variety, np.repeat([label[0] for label in labels], 4)


def kept(total: int, left_out: tuple[int, ...]) -> NDArray[np.int64]:
    return np.setdiff1d(np.arange(total), np.array(left_out) - 1)


def _coefficient(name: str, fitted: MixedFit, at: int, printed: tuple[str, str, str], method: Method) -> Iterator[Row]:
    source = SATTERTHWAITE if method == "satterthwaite" else KENWARD_ROGER
    found = fitted.contrast(np.eye(fitted.coefficient.size)[at], method=method)
    what = f"{name}, {method}"
    for part, ours, value in zip(
        ("estimate", "standard error", "degrees of freedom"),
        (found.value, float(found.scale[0]), float(found.df[0])),
        printed,
        strict=True,
    ):
        yield _row(f"{what}: {part}", ours, "1", value, source)


def _orthodont() -> Iterator[Row]:
    distance, age, girl, child = children()
    one = np.ones(distance.size)
    line = np.column_stack([one, age])
    fitted = fit_mixed(distance, line, [Grouping("child", child)])
    name = "Orthodont, child"
    intercept, slope = fitted.contrast([1, 0]), fitted.contrast([0, 1])
    yield _row(f"{name}: intercept", intercept.value, "mm", "16.7611111", NLME)
    yield _row(f"{name}: slope", slope.value, "mm/a", "0.6601852", NLME)
    yield _row(f"{name}: error of the intercept", float(intercept.scale[0]), "mm", "0.80239522", NLME)
    yield _row(f"{name}: error of the slope", float(slope.scale[0]), "mm/a", "0.06160592", NLME)
    yield _row(f"{name}: spread of children", fitted.variances["child"] ** 0.5, "mm", "2.114724", NLME)
    yield _row(f"{name}: residual", fitted.residual_variance**0.5, "mm", "1.431592", NLME)
    yield _row(f"{name}: log likelihood", fitted.log_likelihood, "1", "-223.5013", NLME)
    yield _row(f"{name}: df of the intercept", float(intercept.df[0]), "1", "105.02536", KENWARD_ROGER)
    yield _row(f"{name}: df of the slope", float(slope.df[0]), "1", "80.0000", KENWARD_ROGER)

    fitted = fit_mixed(distance, line, [Grouping("child", child, age)])
    name = "Orthodont, child with slope"
    intercept, slope = fitted.contrast([1, 0]), fitted.contrast([0, 1])
    both = fitted.variances["child"] ** 0.5, fitted.variances["child, slope"] ** 0.5
    together = fitted.variances["child, offset and slope"] / (both[0] * both[1])
    yield _row(f"{name}: error of the intercept", float(intercept.scale[0]), "mm", "0.775246", NLME)
    yield _row(f"{name}: error of the slope", float(slope.scale[0]), "mm/a", "0.0712533", NLME)
    yield _row(f"{name}: spread of children", both[0], "mm", "2.3270", NLME)
    yield _row(f"{name}: spread of slopes", both[1], "mm/a", "0.226428", NLME)
    yield _row(f"{name}: correlation", together, "1", "-0.609", NLME)
    yield _row(f"{name}: residual", fitted.residual_variance**0.5, "mm", "1.310040", NLME)
    yield _row(f"{name}: log likelihood", fitted.log_likelihood, "1", "-221.3183", NLME)
    yield _row(f"{name}: df of the slope", float(slope.df[0]), "1", "26.0000", KENWARD_ROGER)

    fitted = fit_mixed(distance, np.column_stack([line, girl, age * girl]), [Grouping("child", child)])
    name = "Orthodont by sex, child"
    for at, value in enumerate(("16.340625", "0.784375", "1.0321023", "-0.3048295")):
        yield _row(f"{name}: coefficient {at}", float(fitted.coefficient[at]), "1", value, NLME)
    yield from _coefficient(
        f"{name}: slope of girls", fitted, 3, ("-0.3048295", "0.1214209", "79.0000"), "satterthwaite"
    )
    yield _row(f"{name}: spread of children", fitted.variances["child"] ** 0.5, "mm", "1.816214", NLME)
    yield _row(f"{name}: residual", fitted.residual_variance**0.5, "mm", "1.386382", NLME)
    yield _row(f"{name}: log likelihood", fitted.log_likelihood, "1", "-216.8786", NLME)


def _unbalanced_children() -> Iterator[Row]:
    distance, age, girl, child = children()
    keep = kept(distance.size, LEFT_OUT_OF_ORTHODONT)
    design = np.column_stack([np.ones(distance.size), age, girl, age * girl])[keep]
    plain = fit_mixed(distance[keep], design, [Grouping("child", child[keep])])
    name = "Orthodont with 11 values missing, child"
    printed: dict[Method, tuple[tuple[str, str, str], ...]] = {
        "satterthwaite": (
            ("16.70433", "0.944985", "92.8057"),
            ("0.747578", "0.0720573", "69.7497"),
            ("0.838265", "1.466891", "92.8468"),
            ("-0.281438", "0.111417", "68.9102"),
        ),
        "kenward-roger": (
            ("16.70433", "0.946328", "92.8072"),
            ("0.747578", "0.0721489", "69.8894"),
            ("0.838265", "1.468015", "92.8481"),
            ("-0.281438", "0.111497", "69.0531"),
        ),
    }
    for method, values in printed.items():
        for at, value in enumerate(values):
            yield from _coefficient(f"{name}: coefficient {at}", plain, at, value, method)
    sloped = fit_mixed(distance[keep], design, [Grouping("child", child[keep], age[keep])])
    name = "Orthodont with 11 values missing, child with slope"
    printed = {
        "satterthwaite": (
            ("16.62602", "1.10821", "24.1760"),
            ("0.752983", "0.0950089", "24.6684"),
            ("1.02296", "1.70684", "24.8775"),
            ("-0.295305", "0.146670", "24.4864"),
        ),
        "kenward-roger": (
            ("16.62602", "1.11514", "22.5444"),
            ("0.752983", "0.0954961", "23.7732"),
            ("1.02296", "1.71451", "23.2184"),
            ("-0.295305", "0.147215", "23.6841"),
        ),
    }
    for method, values in printed.items():
        for at, value in enumerate(values):
            yield from _coefficient(f"{name}: coefficient {at}", sloped, at, value, method)


def _oats() -> Iterator[Row]:
    yields, nitrogen, variety, block = oats()
    groupings = [Grouping("block", block), Grouping("plot", nested(block, variety))]
    fitted = fit_mixed(yields, np.column_stack([np.ones(72), nitrogen]), groupings)
    intercept, slope = fitted.contrast([1, 0]), fitted.contrast([0, 1])
    yield _row("Oats on nitrogen: intercept", intercept.value, "1", "81.87222", NLME)
    yield _row("Oats on nitrogen: its error", float(intercept.scale[0]), "1", "6.94528", NLME)
    yield _row("Oats on nitrogen: slope", slope.value, "1", "73.66667", NLME)
    yield _row("Oats on nitrogen: its error", float(slope.scale[0]), "1", "6.78148", NLME)
    yield _row("Oats on nitrogen: spread of blocks", fitted.variances["block"] ** 0.5, "1", "14.506", NLME)
    yield _row("Oats on nitrogen: spread of plots", fitted.variances["plot"] ** 0.5, "1", "11.0047", NLME)
    yield _row("Oats on nitrogen: residual", fitted.residual_variance**0.5, "1", "12.8670", NLME)
    yield _row("Oats on nitrogen: log likelihood", fitted.log_likelihood, "1", "-296.5209", NLME)
    yield _row("Oats on nitrogen: df of the intercept", float(intercept.df[0]), "1", "5.978", KENWARD_ROGER)

    levels, plots = _deviations(nitrogen.astype(str)), _deviations(variety)
    both = np.column_stack([levels[:, a] * plots[:, b] for a in range(3) for b in range(2)])
    full = fit_mixed(yields, np.column_stack([np.ones(72), levels, plots, both]), groupings)
    printed = (
        ("nitrogen", slice(1, 4), "37.6856", "45.0000", None),
        ("variety", slice(4, 6), "1.48534", "10.0000", "0.27239"),
        ("both together", slice(6, 12), "0.30282", "45.0000", "0.93220"),
    )
    for name, part, f, df, p_value in printed:
        for method in ("kenward-roger", "satterthwaite"):
            test = full.test(np.eye(12)[part], method=method)
            source = KENWARD_ROGER if method == "kenward-roger" else SATTERTHWAITE
            yield _row(f"Oats, F of {name}, {method}", test.f, "1", f, source)
            yield _row(f"Oats, denominator df of {name}, {method}", test.denominator_df, "1", df, source)
            if p_value:
                yield _row(f"Oats, p of {name}, {method}", test.p_value, "1", p_value, source)


def _unbalanced_oats() -> Iterator[Row]:
    yields, nitrogen, variety, block = oats()
    keep = kept(72, LEFT_OUT_OF_OATS)
    columns = [(nitrogen == level).astype(float) for level in (0.2, 0.4, 0.6)]
    columns += [(variety == name).astype(float) for name in ("Marvellous", "Victory")]
    groupings = [Grouping("block", block[keep]), Grouping("plot", nested(block, variety)[keep])]
    fitted = fit_mixed(yields[keep], np.column_stack([np.ones(72), *columns])[keep], groupings)
    name = "Oats with 8 plots missing"
    yield from _coefficient(f"{name}: Victory", fitted, 5, ("-7.99720", "7.787996", "9.22840"), "satterthwaite")
    yield from _coefficient(f"{name}: Victory", fitted, 5, ("-7.99720", "7.814731", "10.19003"), "kenward-roger")
    printed: tuple[tuple[str, slice, Method, str, str], ...] = (
        ("nitrogen", slice(1, 4), "satterthwaite", "37.53574", "41.46366"),
        ("nitrogen", slice(1, 4), "kenward-roger", "37.43249", "44.02916"),
        ("variety", slice(4, 6), "satterthwaite", "1.48224", "8.90706"),
        ("variety", slice(4, 6), "kenward-roger", "1.47238", "9.84307"),
    )
    for what, part, method, f, df in printed:
        test = fitted.test(np.eye(6)[part], method=method)
        source = KENWARD_ROGER if method == "kenward-roger" else SATTERTHWAITE
        yield _row(f"{name}: F of {what}, {method}", test.f, "1", f, source)
        yield _row(f"{name}: denominator df of {what}, {method}", test.denominator_df, "1", df, source)


def _deviations(label: NDArray[np.str_]) -> FloatArray:
    """Return columns (n, levels - 1) that add to zero over the levels, so that main effects are averages."""
    levels = np.unique(label)
    last = (label == levels[-1]).astype(float)
    return np.column_stack([(label == level) - last for level in levels[:-1]])
