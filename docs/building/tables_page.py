"""Pages of the tables that the program computes with: published limits, substances, and every other one by its head."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from importlib.resources import files
from pathlib import Path

from littoral.chemistry.limits import Limit, WaterConditions, limit_here, limits
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.salts import Salt, salts

AS_AN_EXAMPLE = WaterConditions(
    hardness_mmol_per_l=1.8, ph=7.2, temperature_c=24.0, chloride_mg_per_l=20.0, doc_mg_per_l=2.0
)
"""The water that limits which depend on it are worked out for on the page: 10 dGH, pH 7.2, 24 °C."""

LIMITS_HEAD = """\
# Published limits

Made from `chemistry/limits.toml`, with which every warning is worked out. **None of these is an aquarium limit.** Most
protect the most sensitive wild species of a country's waters for a lifetime, with a margin. Being below one is no
promise that all is well: watch the animals, and ask qualified people.

*Long* is weeks to a lifetime, *short* is at any time, or hours to days. *Read* says that the figure was read in the
named document or in an official table that quotes it, *from memory* that it was not opened again. Limits that depend
on the water are worked out here for one water: 10 dGH, pH 7.2, 24 °C, chloride 20 mg/L, dissolved organic carbon
2 mg C/L. On the pages and in commands they are worked out for yours.
"""
SUBSTANCES_HEAD = """\
# Substances

The {count} salts, acids, chelates and preservatives that Littoral knows, made from `chemistry/salts.toml` and
`chemistry/hazards.toml`. What a gram holds follows from the formula by atomic weights. Hazard codes are those of
Regulation (EC) 1272/2008; that none stands here is no statement that a substance is harmless. **The supplier's safety
data sheet decides**, with local rules and qualified people. Others can be weighed in by their formula
(`littoral mix --own`) or by the label on the bag (`--own-label`).
"""


def limits_page() -> str:
    """Return the page of published limits, each with its source and what it protects."""
    lines = [LIMITS_HEAD]
    for analyte in dict.fromkeys(one.analyte for one in limits()):
        rows = [_limit_row(one) for one in limits() if one.analyte == analyte]
        lines += [
            f"## {analyte[:1].upper()}{analyte[1:]}",
            "",
            *_table(("Limit", "Term", "Depends on", "Protects", "Source"), rows),
        ]
    return "\n".join(lines)


def _limit_row(one: Limit) -> tuple[str, ...]:
    here = limit_here(one, AS_AN_EXAMPLE)
    sign = "at most" if one.operator == "<=" else "at least"
    number = "cannot be told here" if here.value is None else f"{sign} {here.value:.3g} {one.unit}"
    depends = {"constant": "", "steps": "steps", "line": "hardness", "curve": "a formula"}.get(
        one.rule, "pH, temperature"
    )
    said = one.protects + (f". {one.note}" if one.note else "")
    return number, one.term, depends, said, one.cited


def substances_page() -> str:
    """Return the page of substances that can be weighed out."""
    rows = [_salt_row(one) for one in salts().values()]
    heads = ("Substance", "Formula", "g/mol", "One gram holds, mg", "Hazards", "Grade that can be bought")
    return "\n".join([SUBSTANCES_HEAD.format(count=len(rows)), *_table(heads, rows)])


def _salt_row(one: Salt) -> tuple[str, ...]:
    holds = ", ".join(
        f"{NUTRIENTS[key].name.lower()} {mg:.0f}" if mg >= 1 else f"{NUTRIENTS[key].name.lower()} {mg:.2g}"
        for key, mg in one.content_mg_per_g.items()
    )
    grade = one.grade + (f", at least {100 * one.grade_at_least:g} %" if one.grade_at_least else "")
    return (
        one.name,
        f"`{one.key}`",
        f"{one.weight:.2f}",
        holds or "no nutrient",
        ", ".join(one.hazards) or "none listed",
        grade,
    )


def tables() -> dict[str, str]:
    """Return the text of every table in the package, by its path below `littoral`."""
    top = Path(str(files("littoral")))
    return {path.relative_to(top).as_posix(): path.read_text("utf-8") for path in sorted(top.rglob("*.toml"))}


def head_of(text: str) -> list[str]:
    """Return the lines of comment that a table begins with: what it is, its source, licence and date."""
    lines = []
    for line in text.splitlines():
        if not line.startswith("#"):
            break
        lines.append(line.removeprefix("#").removeprefix(" "))
    return lines


def sources_page() -> str:
    """Return the page of all tables, each by its head, with the file itself to take along."""
    lines = [
        "# Tables and their sources",
        "",
        "What is not computed is looked up in a table, and each table says at its head where its numbers are from. "
        "Beside them many rows name a source of their own. The files are those that the program reads.",
        "",
    ]
    for path, text in tables().items():
        lines += [f"## {path}", "", f"[The file](../tables/{path})", "", "```text", *head_of(text), "```", ""]
    return "\n".join(lines)


def _table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> list[str]:
    cells = [[_cell(one) for one in row] for row in rows]
    return [_line(heads), _line(["---"] * len(heads)), *(_line(row) for row in cells), ""]


def _line(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cells)} |"


def _cell(text: str) -> str:
    return " ".join(text.split()).replace("|", "\\|")
