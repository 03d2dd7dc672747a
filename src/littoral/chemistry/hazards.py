"""Hazards of salts: statement codes, where each classification comes from, and rules on buying. See `hazards.toml`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Literal

from littoral.chemistry.package_data import table

Status = Literal["harmonised", "self", "not classified", "not looked up"]
SHEET = "see the supplier's safety data sheet"


@dataclass(frozen=True, slots=True)
class Hazards:
    """Hazards of one substance as it is bought, undiluted.

    `codes` are hazard statement codes (H272 is category 3 unless written "H272:2"); `status` says whose classification
    it is; `entry` is the index number in Regulation (EC) 1272/2008, Annex VI, "" where not known; `suppliers` what
    suppliers add; `precursor` the rule on buying explosives precursors, "" for none known; `basis` what was read and
    what is from memory.
    """

    formula: str
    codes: tuple[str, ...]
    status: Status
    entry: str
    suppliers: str
    precursor: str
    basis: str

    @property
    def text(self) -> str:
        """What to print beside the substance; it always defers to the supplier's safety data sheet."""
        if self.codes:
            by = "in the harmonised list" if self.status == "harmonised" else "by suppliers, who differ"
            phrases = table("phrases")["hazard"]
            told = [(phrases[code]["text"].rstrip("."), code) for code in self.codes]
            said = "; ".join(f"{text[0].lower()}{text[1:]} ({code})" for text, code in told)
            return f"{said}, classified {by}; {SHEET}"
        if self.status == "not classified":
            return f"not classified as hazardous, which is not the same as harmless; {SHEET}"
        return f"hazards not looked up; {SHEET}"


@cache
def hazards() -> Mapping[str, Hazards]:
    """Return the whole table by formula."""
    return MappingProxyType(
        {
            row["formula"]: Hazards(
                formula=row["formula"],
                codes=tuple(row["codes"]),
                status=row["status"],
                entry=row.get("entry", ""),
                suppliers=row.get("suppliers", ""),
                precursor=row.get("precursor", ""),
                basis=row["basis"],
            )
            for row in table("hazards")["substance"]
        }
    )


def hazards_of(formula: str) -> Hazards:
    """Return the hazards of a formula; one that is not in the table is "not looked up", never "harmless"."""
    unknown = Hazards(formula, (), "not looked up", "", "", "", "not in the table")
    return hazards().get(formula, unknown)
