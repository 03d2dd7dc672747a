"""Which iron holds at a tank's pH: a range with its sources, since they disagree. The table is `iron_chelates.toml`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from littoral.chemistry.own_substances import OwnSubstance, Substance, substance
from littoral.chemistry.package_data import table
from littoral.chemistry.stock import check_ph
from littoral.quantities.check_row import CheckRow, Verdict


@dataclass(frozen=True, slots=True)
class IronChelate:
    """One kind of iron: the lowest and the highest upper pH that sources claim, and the claims as text."""

    agent: str
    formulas: tuple[str, ...]
    lowest_upper_ph: float
    highest_upper_ph: float
    claims: tuple[str, ...]
    photodegrades: bool
    note: str


@cache
def iron_chelates() -> tuple[IronChelate, ...]:
    """Return the table."""
    return tuple(
        IronChelate(
            agent=row["agent"],
            formulas=tuple(row["formulas"]),
            lowest_upper_ph=min(claim["upper_ph"] for claim in row["claims"]),
            highest_upper_ph=max(claim["upper_ph"] for claim in row["claims"]),
            claims=tuple(f"up to pH {claim['upper_ph']:g} ({claim['source']})" for claim in row["claims"]),
            photodegrades=row["photodegrades"],
            note=row["note"],
        )
        for row in table("iron_chelates")["chelate"]
    )


def iron_chelate_of(this: Substance) -> IronChelate | None:
    """Return what is known of the iron in a substance, or None (also where it holds no iron)."""
    return next((chelate for chelate in iron_chelates() if this.formula in chelate.formulas), None)


def check_iron(name: str, *, ph: float, own: Sequence[OwnSubstance] = ()) -> CheckRow:
    """Return whether the iron of a substance holds at a tank's pH: one row.

    It holds below the lowest limit that any source names, warns between the lowest and the highest, and fails above.
    Raises UnknownSaltError; StockError for a pH outside 0 to 14.
    """
    check_ph(ph)
    this = substance(name, own)
    chelate = iron_chelate_of(this)
    what = f"iron of {this.short} at pH {ph:g}"
    if chelate is None:
        comment = "How long this iron holds is not in the table: look for the chelating agent on its label."
        return CheckRow(what, ph, "<=", None, "pH", "cannot tell", comment, "")
    verdict: Verdict = "holds" if ph <= chelate.lowest_upper_ph else "warns"
    said = f"Sources disagree: {'; '.join(chelate.claims)}." if len(chelate.claims) > 1 else ""
    advice = ""
    if ph > chelate.highest_upper_ph:
        verdict = "fails"
        better = [other.agent for other in iron_chelates() if other.lowest_upper_ph >= ph and other.agent != "none"]
        advice = f"It will rust out: use a stronger chelate ({' or '.join(better)}), or dose little and often."
        if not better:
            advice = "It will rust out, and no chelate in the table is said to hold here by all sources."
    elif verdict == "warns":
        advice = "Dose it in smaller, more frequent amounts, or take the next stronger chelate."
    comment = " ".join(part for part in (advice, said, chelate.note) if part)
    return CheckRow(what, ph, "<=", chelate.lowest_upper_ph, "pH", verdict, comment, "; ".join(chelate.claims))
