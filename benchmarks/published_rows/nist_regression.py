"""Our regression with white errors against NIST's certified values, an easy data set and a hard one."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
from rows import Row, row

from littoral.stats.regression import fit
from littoral.stats.series import FloatArray

HERE = Path(__file__).parent
SOURCE = "NIST/ITL Statistical Reference Datasets, linear regression, certified values of {}"

NORRIS = ((-0.262323073774029, 0.232818234301152), (1.00211681802045, 0.429796848199937e-03))
LONGLEY = (
    (-3482258.63459582, 890420.383607373),
    (15.0618722713733, 84.9149257747669),
    (-0.358191792925910e-01, 0.334910077722432e-01),
    (-2.02022980381683, 0.488399681651699),
    (-1.03322686717359, 0.214274163161675),
    (-0.511041056535807e-01, 0.226073200069370),
    (1829.15146461355, 455.478499142212),
)
DIGITS = 10
"""Significant digits that must agree, of the 15 certified."""


def rows() -> list[Row]:
    return [
        *_against("Norris.dat", *read("nist_norris.csv"), certified=NORRIS),
        *_against("Longley.dat", *read("nist_longley.csv"), certified=LONGLEY),
    ]


def read(name: str) -> tuple[FloatArray, FloatArray]:
    """Return the response (n,) and the design (n, p), a column of ones first."""
    lines = [line for line in (HERE / name).read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    table = np.array([[float(one) for one in line.split(",")] for line in lines[1:]])
    return table[:, 0], np.column_stack([np.ones(table.shape[0]), table[:, 1:]])


def _against(
    name: str, value: FloatArray, design: FloatArray, *, certified: tuple[tuple[float, float], ...]
) -> Iterator[Row]:
    fitted = fit(np.arange(value.size, dtype=float), value, design, structures=("white",), what=name)
    least = 10.0**-DIGITS
    for at, both in enumerate(certified):
        found = fitted.contrast(np.eye(len(certified))[at])
        for what, ours, printed in zip(
            ("coefficient", "error"), (found.value, float(found.scale[0])), both, strict=True
        ):
            off = abs(ours / printed - 1)
            yield row(
                f"{name}, {what} {at}", ours, "1", reference=f"{printed:.15g}", difference=ours - printed,
                limit=f"{DIGITS} digits; off by {off:.1e} of it", holds=off <= least, source=SOURCE.format(name),
            )  # fmt: skip
