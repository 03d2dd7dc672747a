"""Rows of proof: what was measured, against what, and whether it holds. Printed as a table, written as JSON."""

from __future__ import annotations

import importlib.util
import json
import sys
from collections.abc import Sequence
from pathlib import Path
from types import ModuleType
from typing import Any

HERE = Path(__file__).parent
BUILD = HERE.parent / "build"
Row = dict[str, Any]


def row(
    name: str,
    value: float,
    unit: str,
    *,
    reference: str,
    limit: str,
    holds: bool,
    source: str,
    aim: bool = False,
    **compared: float,
) -> Row:
    """Return one row; `compared` is `ratio=` or `difference=`. An `aim` is wished for and not promised."""
    return {
        "name": name,
        "value": value,
        "unit": unit,
        "reference": reference,
        **compared,
        "limit": limit,
        "holds": holds,
        "source": source,
        "aim": aim,
    }


def half_digit(printed: str) -> float:
    """Return half of the last digit of a number as it is printed: "0.384" gives 0.0005, "1.2e-6" gives 5e-8."""
    mantissa, _, exponent = printed.partition("e")
    return 0.5 * 10.0 ** (int(exponent or 0) - len(mantissa.partition(".")[2]))


def printed_row(name: str, ours: float, unit: str, printed: str, source: str) -> Row:
    """Return a row that holds our value to the digits a source printed: half of the last one."""
    half = half_digit(printed)
    difference = ours - float(printed)
    return row(
        name,
        ours,
        unit,
        reference=printed,
        difference=difference,
        limit=f"±{half:g}, half the last digit",
        holds=abs(difference) <= half * (1 + 1e-9),
        source=source,
    )


def load(file: Path) -> ModuleType:
    """Import a module from a file of this folder."""
    spec = importlib.util.spec_from_file_location(f"littoral_benchmarks_{file.stem}", file)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def finish(kind: str, rows: Sequence[Row]) -> int:
    """Print the rows, write build/<kind>.json, and return the exit code: 1 where a promise does not hold."""
    BUILD.mkdir(exist_ok=True)
    file = BUILD / f"{kind}.json"
    file.write_text(json.dumps(list(rows), indent=1, ensure_ascii=False, default=float) + "\n", encoding="utf-8")
    wide = max((len(str(one["name"])) for one in rows), default=10)
    for one in rows:
        compared = next(
            (f"{key} {one[key]:.4g}" for key in ("ratio", "difference") if isinstance(one.get(key), int | float)), ""
        )
        mark = "holds" if one["holds"] else "aim: not yet" if one.get("aim") else "FAILS"
        value = one["value"]
        shown = f"{value:.6g}" if isinstance(value, int | float) else str(value)
        print(
            f"{mark:<12} {one['name']:<{wide}}  {shown:>12} {one['unit']:<12} {compared:<22} "
            f"{one['limit']}  [{one['source']}]"
        )
    held = sum(bool(one["holds"]) for one in rows)
    broken = sum(not one["holds"] and not one.get("aim") for one in rows)
    print(f"{held} of {len(rows)} rows hold; written to {file.relative_to(HERE.parent)}")
    return 1 if broken else 0
