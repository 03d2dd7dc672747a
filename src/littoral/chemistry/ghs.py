"""Label elements of the Globally Harmonised System: signal word, pictograms and statements from hazard codes.

Rules of precedence: Regulation (EC) 1272/2008, Articles 20, 26 and 27 (GHS 1.4.10.5.3). Texts: `phrases.toml`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from littoral.chemistry.package_data import table
from littoral.errors import LittoralError

# What need not stand beside what: the second says no more than the first (Article 27, and Annex I, 4.1.4).
SAYS_LESS = {"H410": ("H400", "H411", "H412"), "H411": ("H412",), "H314": ("H318", "H315", "H319"), "H318": ("H319",)}
# Statements that the exclamation mark stands for on skin and eyes, and as a sensitiser.
_SKIN_AND_EYES = {"H315", "H319"}
_ACUTE = {"H302", "H312", "H332"}
CHILDREN = "P102"


@dataclass(frozen=True, slots=True)
class Statement:
    """A statement on a label: its code and its text."""

    code: str
    text: str


@dataclass(frozen=True, slots=True)
class GhsLabel:
    """What a label shows: `signal` ("Danger", "Warning" or ""), `pictograms` (GHS numbers), statements in order."""

    signal: str
    pictograms: tuple[str, ...]
    h: tuple[Statement, ...]
    p: tuple[Statement, ...]


class UnknownCodeError(LittoralError):
    """A hazard code is none that the table knows."""

    def __init__(self, code: str) -> None:
        self.code = code
        known = ", ".join(table("phrases")["hazard"])
        super().__init__(f'"{code[:20]}" is no hazard code in the table. Write one of: {known}.')


def ghs_label(codes: Iterable[str], *, most_p: int = 6) -> GhsLabel:
    """Return the label elements for hazard statement codes, such as ("H302", "H318", "H410").

    "Danger" leaves out "Warning". The skull leaves out the exclamation mark for acute toxicity, corrosion that for skin
    and eyes, the health hazard for respiratory sensitisation (H334) that for skin sensitisation, skin and eyes. A
    statement that another one includes is left out (H400 beside H410). Precautionary statements are the usual ones of
    `phrases.toml`, at most `most_p` (a count; Article 28 asks for no more than six) and "keep out of reach of children"
    first; the supplier's own label comes before this choice.
    Without codes all parts are empty. Raises UnknownCodeError.
    """
    hazard: Mapping[str, Mapping[str, object]] = table("phrases")["hazard"]
    given = list(dict.fromkeys(code.strip() for code in codes))
    for code in given:
        if code not in hazard:
            raise UnknownCodeError(code)
    covered = {less for code in given for less in SAYS_LESS.get(code, ())}
    shown = sorted((code for code in given if code not in covered), key=_order)
    signals = {str(hazard[code]["signal"]) for code in shown}
    h = tuple(Statement(code.partition(":")[0], str(hazard[code]["text"])) for code in shown)
    return GhsLabel(
        signal=next((word for word in ("Danger", "Warning") if word in signals), ""),
        pictograms=_pictograms(shown, hazard),
        h=h,
        p=_precautions(shown, most_p) if shown else (),
    )


def _order(code: str) -> tuple[int, str]:
    return int(code[1:4]), code


def _pictograms(shown: Iterable[str], hazard: Mapping[str, Mapping[str, object]]) -> tuple[str, ...]:
    of = {code: str(hazard[code]["pictogram"]) for code in shown}
    found = set(of.values())
    marked = {code for code, pictogram in of.items() if pictogram == "GHS07"}
    if "GHS06" in found:
        marked -= _ACUTE
    if "GHS05" in found and ("H314" in of or "H318" in of):  # corrosion of metals alone hides nothing
        marked -= _SKIN_AND_EYES
    if "H334" in of:
        marked -= _SKIN_AND_EYES | {"H317"}
    if not marked:
        found.discard("GHS07")
    return tuple(sorted(found - {""}))


def _precautions(shown: Iterable[str], most: int) -> tuple[Statement, ...]:
    """The first of each hazard, then the second of each, and so on, gravest hazards first; then by number."""
    text: Mapping[str, str] = table("phrases")["precaution"]
    hazard = table("phrases")["hazard"]
    rank = {"Danger": 0, "Warning": 1, "": 2}
    lists = [hazard[code]["precaution"] for code in sorted(shown, key=lambda code: rank[hazard[code]["signal"]])]
    longest = max(len(row) for row in lists)
    in_turn = [row[place] for place in range(longest) for row in lists if place < len(row)]
    kept = list(dict.fromkeys([CHILDREN, *in_turn]))
    if "P301+P310" in kept and "P301+P312" in kept:
        kept.remove("P301+P312")
    return tuple(Statement(code, text[code]) for code in sorted(kept[: max(1, most)]))
