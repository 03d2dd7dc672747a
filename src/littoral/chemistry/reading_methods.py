"""Kinds of tests a keeper has, and what each shows. The table: `reading_methods.toml`; results: `reading_results`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any, Literal

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.package_data import table
from littoral.quantities.amounts import factor_of

Kind = Literal["steps", "drops", "instrument"]
UNITS = {"hardness": "mmol/L", "alkalinity": "meq/L", "conductivity": "µS/cm", "ph": ""}
"""What intervals are in, where they are not of a nutrient: those are always in mg/L as the ion."""


@dataclass(frozen=True, slots=True)
class Interference:
    """What disturbs a test: by what, what it does to the result, and who says so."""

    by: str
    does: str
    source: str


@dataclass(frozen=True, slots=True)
class ReadingMethod:
    """One kind of test; the numbers are in its own `unit`, of the form `reported_as` (see reading_methods.toml)."""

    key: str
    of: str
    kind: Kind
    reported_as: str
    unit: str
    steps: tuple[float, ...]
    per_drop: float
    low: float
    high: float
    detection_limit: float
    relative_error: float
    absolute_error: float
    reader_blur: float
    interference: tuple[Interference, ...]
    source: str

    @property
    def factor(self) -> float:
        """What one of the test's own unit is in the unit of intervals: 4.4268 for a test that gives NO3-N."""
        if self.of in ("hardness", "alkalinity"):
            return factor_of(self.unit, kind=self.of)
        if self.of in NUTRIENTS and self.reported_as != NUTRIENTS[self.of].formula:
            return 1.0 / NUTRIENTS[self.of].element_share
        return 1.0

    @property
    def interval_unit(self) -> str:
        """The unit of `low` and `high` of its intervals."""
        return UNITS.get(self.of, "mg/L")

    @property
    def form(self) -> str:
        """How to name the form of its numbers to a person: "mg/L as N"."""
        return f"{self.unit} as {self.reported_as}" if self.of in NUTRIENTS else self.unit or self.reported_as


@cache
def reading_methods() -> Mapping[str, ReadingMethod]:
    """Return every kind of test, by key."""
    return MappingProxyType({row["key"]: _method_of(row) for row in table("reading_methods")["method"]})


def methods_of(what: str) -> tuple[ReadingMethod, ...]:
    """Return the tests of a nutrient (a key of NUTRIENTS), or of "hardness", "alkalinity", "conductivity", "ph"."""
    return tuple(method for method in reading_methods().values() if method.of == what)


def _method_of(row: Mapping[str, Any]) -> ReadingMethod:
    return ReadingMethod(
        key=row["key"],
        of=row["of"],
        kind=row["kind"],
        reported_as=row["reported_as"],
        unit=row["unit"],
        steps=tuple(float(step) for step in row.get("steps", ())),
        per_drop=float(row.get("per_drop", 0.0)),
        low=float(row.get("low", 0.0)),
        high=float(row["high"]),
        detection_limit=float(row["detection_limit"]),
        relative_error=float(row.get("relative_error", 0.0)),
        absolute_error=float(row.get("absolute_error", 0.0)),
        reader_blur=float(row["reader_blur"]),
        interference=tuple(Interference(**one) for one in row["interference"]),
        source=row["source"],
    )
