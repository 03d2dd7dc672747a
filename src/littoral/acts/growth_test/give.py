"""Give a growth test its answer, from the bytes of a table; and the same answer as plain data for every door."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from littoral.acts.growth_test.read import read_growth_table
from littoral.acts.past_table.grid import read_grid
from littoral.errors import Fault, FaultsError, LittoralError
from littoral.findings.growth_test.model import Compared, GrowthTest, Guideline, MeasuredGrowth, Versus
from littoral.findings.growth_test.run import growth_test
from littoral.quantities.check_row import CheckRow
from littoral.stats.many_to_one import Side
from littoral.trial.written.csv_text import LARGEST_BYTES

GUIDELINES: dict[str, Guideline | None] = {"": None, "221": "221", "239": "239", "none": ""}
SIDES: dict[str, Side | None] = {"": None, "both": None, "lower": "less", "higher": "greater"}
EXAMPLE = """vessel,dose (mg/L),day 0,day 3,day 5,day 7
c1,0,12,34,71,148
c2,0,12,33,69,139
c3,0,12,36,74,153
c4,0,12,32,66,134
a1,2,12,33,70,141
a2,2,12,34,67,137
a3,2,12,31,66,144
b1,8,12,28,50,88
b2,8,12,27,52,93
b3,8,12,29,49,85
d1,32,12,19,26,34
d2,32,12,20,27,37
d3,32,12,18,25,31
"""
"""Made-up counts of duckweed fronds, to try the page with."""


class NoTableError(LittoralError):
    """The file with the table cannot be opened."""

    def __init__(self, path: Path, why: str) -> None:
        super().__init__(f"{path}: {why}. Name a CSV file or a workbook (.xlsx) with one row for each vessel and day.")


def give_growth_test(
    data: bytes, *, where: str, sheet: str = "", control: str = "", guideline: str = "", side: str = "",
    ask_williams: bool = False,
) -> GrowthTest:  # fmt: skip
    """Return what a table of counts, lengths or masses says. `where` names it in faults.

    `guideline` is "221", "239", "none" or "" (what fits), `side` "lower", "higher" or "" for both. Raises FaultsError,
    UnreadableTableError, MissingExtraError.
    """
    faults = []
    if guideline not in GUIDELINES:
        faults.append(Fault(f'is "{guideline[:20]}".', "Give 221, 239 or none.", "guideline"))
    if side not in SIDES:
        faults.append(Fault(f'is "{side[:20]}".', "Give lower, higher or both.", "side"))
    if faults:
        raise FaultsError(faults)
    table = read_growth_table(read_grid(data, sheet=sheet), where=where, control=control)
    return growth_test(table, guideline=GUIDELINES[guideline], side=SIDES[side], ask_williams=ask_williams)


def table_bytes(path: Path) -> bytes:
    """Return a table's file, at most as much of it as is read. Raises NoTableError."""
    try:
        with path.open("rb") as opened:
            return opened.read(LARGEST_BYTES + 1)
    except OSError as error:
        raise NoTableError(path, (error.strerror or "cannot be opened").lower()) from None


def growth_test_json(found: GrowthTest) -> dict[str, Any]:
    """Return the result as plain data; rates per day, yields in the unit of what was measured."""
    return {
        "lead": found.lead,
        "dose_unit": found.table.unit,
        "control": found.table.groups[0].name,
        "guideline": found.guideline or None,
        "validity": [_row(row) for row in found.validity],
        "validity_words": found.validity_words,
        "measured": [_measured(one) for one in found.results],
        "rules": list(found.rules),
        "remarks": list(found.table.remarks),
        "sources": list(found.sources),
    }


def _row(row: CheckRow) -> dict[str, Any]:
    return {
        "what": row.what, "value": row.value, "operator": row.operator, "limit": row.limit, "unit": row.unit,
        "verdict": row.verdict, "comment": row.comment, "source": row.source,
    }  # fmt: skip


def _measured(one: MeasuredGrowth) -> dict[str, Any]:
    return {
        "name": one.measured.name,
        "kind": one.measured.kind,
        "unit": one.measured.unit,
        "days": one.days,
        "vessels": [
            {
                "vessel": vessel.vessel,
                "dose": vessel.group,
                "start": vessel.start,
                "end": vessel.end,
                "rate_per_day": vessel.rate,
                "yield": vessel.grown,
                "doubling_days": vessel.doubling_days,
                "sections": [
                    {"from_day": part.from_day, "to_day": part.to_day, "rate_per_day": part.rate}
                    for part in vessel.sections
                ],
            }
            for vessel in one.vessels
        ],
        "compared": [_compared(one.rate), _compared(one.grown)],
    }


def _compared(one: Compared) -> dict[str, Any]:
    normal = one.normality
    return {
        "of": one.of,
        "unit": one.unit,
        "wording": one.wording,
        "why_no_test": one.why_not or None,
        "df": one.df,
        "side": {"less": "lower", "greater": "higher", None: "both"}[one.side],
        "residual_normality": None if normal is None else {"w": normal.w, "p_value": normal.p_value},
        "control": _versus(one.control),
        "doses": [_versus(dose) for dose in one.doses],
    }


def _versus(one: Versus) -> dict[str, Any]:
    return {
        "dose": one.group,
        "vessels": one.vessels,
        "mean": one.mean,
        "sd": one.spread,
        "inhibition_percent": one.inhibition_percent,
        "difference": one.difference,
        "interval": None if one.reach is None else [one.low, one.high],
        "dunnett_t": one.t,
        "dunnett_p": one.p_value,
        "williams_t": one.williams_t,
        "williams_critical_t": one.williams_critical,
        "williams_p": one.williams_p,
        "williams_called": one.williams_called,
        "rule": one.rule,
        "wording": one.wording,
    }
