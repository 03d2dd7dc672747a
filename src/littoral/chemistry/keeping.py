"""How long a stock keeps, and what it needs: `keeping.toml`. Nothing here promises that a bottle is good."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from littoral.chemistry.own_substances import OwnSubstance, Substance, substance
from littoral.chemistry.package_data import table
from littoral.quantities.check_row import CheckRow, Verdict

MOULDS = "organic matter (gluconate, citrate, urea, sorbate)"
PRESERVATIVE = "C6H7KO2"


@dataclass(frozen=True, slots=True)
class Keeping:
    """How many days a stock is kept, what it `needs` ("dark", "cold"...), and the rows that say why."""

    days: int
    needs: tuple[str, ...]
    rows: tuple[CheckRow, ...]


def keeping_of(names: Iterable[str], *, own: Sequence[OwnSubstance] = ()) -> Keeping:
    """Return how long a stock of some substances keeps: the shortest time of any in it, in days.

    The rows do not hold or fail; each warns of one thing that spoils it. Raises UnknownSaltError.
    """
    each = [substance(name, own) for name in names]
    preserved = any(this.formula == PRESERVATIVE for this in each)
    found: dict[str, tuple[dict[str, Any], list[str]]] = {}
    for this in each:
        row = _row_of(this)
        found.setdefault(row["what"], (row, []))[1].append(this.short)
    needs = dict.fromkeys(need for row, _ in found.values() for need in row["needs"])
    rows = tuple(_check(row, keys, preserved=preserved) for row, keys in found.values())
    days = min((int(row["days"]) for row, _ in found.values()), default=365)
    return Keeping(days, tuple(needs), rows)


def _row_of(this: Substance) -> dict[str, Any]:
    rows: list[dict[str, Any]] = table("keeping")["keeps"]
    return next((row for row in rows if this.formula in row.get("formulas", ())), rows[0])


def _check(row: dict[str, Any], keys: Sequence[str], *, preserved: bool) -> CheckRow:
    comment = row["why"]
    if row["what"] == MOULDS and not preserved:
        comment += " Make small bottles with boiled water and keep them cold, or add a preservative and keep it sour."
    verdict: Verdict = "warns" if row["needs"] else "holds"
    what = f"{', '.join(keys)}: keeps about {row['days']} days"
    return CheckRow(what, float(row["days"]), ">=", None, "days", verdict, comment, row["source"])
