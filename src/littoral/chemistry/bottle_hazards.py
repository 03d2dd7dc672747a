"""Hazards of a diluted bottle from those of its salts, by the generic limits for mixtures.

Limits: Regulation (EC) 1272/2008, Annex I, Tables 3.1.2, 3.2.3, 3.3.3, 3.5.2 to 3.9.4 and 4.1.1 to 4.1.2, from memory.
An aid for the label of a bottle at home, not a classification: who gives bottles to others must have that done.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from littoral.chemistry.density import made_up_to
from littoral.chemistry.own_substances import OwnSubstance
from littoral.chemistry.stock import weighed
from littoral.quantities.check_row import CheckRow

SOURCE = "Regulation (EC) 1272/2008, Annex I, generic limits for mixtures, from memory"
# acute toxicity estimates that stand for a category, mg per kg of body
_ATE = {"H301": 100.0, "H302": 500.0}
# multiplying factors of substances very toxic to water life (Annex VI and suppliers, from memory); 1 otherwise
_M = {"CuSO4·5H2O": 10.0, "CuSO4": 10.0, "CuCl2·2H2O": 10.0, "CoCl2·6H2O": 10.0, "Co(NO3)2·6H2O": 10.0}
# percent from which one ingredient alone gives its statement to the mixture; for sensitisers and carcinogens the lowest
# limit of any entry here (0.01 %), which is careful for the others
_ALONE = {
    "H317": 0.01,
    "H334": 0.01,
    "H350i": 0.01,
    "H341": 1.0,
    "H360D": 0.3,
    "H360F": 0.3,
    "H360FD": 0.3,
    "H372": 10.0,
    "H373": 10.0,
    "H335": 20.0,
}
# specific limits of single entries that are stricter than the generic ones (Annex VI, entry 028-009-00-5, from memory)
_SPECIFIC = {"NiSO4·6H2O": {"H372": 1.0, "H373": 0.1}}


class _Percent(Protocol):
    """The sum of percents by mass of all that carry one of the codes, each times its factor."""

    def __call__(self, *codes: str, factor: Mapping[str, float] | None = None) -> float: ...


@dataclass(frozen=True, slots=True)
class BottleHazards:
    """Hazard codes of a bottle, the rows that they come from, and what could not be told.

    `undiluted` are the codes of its salts as bought: what the person who weighs them is up against.
    """

    codes: tuple[str, ...]
    undiluted: tuple[str, ...]
    rows: tuple[CheckRow, ...]
    not_told: tuple[str, ...]


def bottle_hazards(
    salts_g: Mapping[str, float], *, made_up_to_ml: float, own: Sequence[OwnSubstance] = ()
) -> BottleHazards:
    """Return the hazard codes of a stock of salts (g) made up to a volume (mL), from percent by mass.

    Of the specific limits of single entries those that are stricter are used (nickel sulphate: H372 from 1 %, H373 from
    0.1 %); laxer ones are not, which errs on the careful side for acids. Whether a solution is
    oxidising or attacks metals is found by tests, not by sums: it is named under `not_told`, as are salts whose hazards
    are not known here. Raises UnknownSaltError, StockError.
    """
    bottle = made_up_to(salts_g, made_up_to_ml=made_up_to_ml, own=own)
    total_g = bottle.density_kg_per_l * made_up_to_ml
    parts = [(this, 100.0 * grams / total_g) for this, grams in weighed(salts_g, own) if grams > 0]
    share = {this.formula or this.name: percent for this, percent in parts}
    codes_of = {this.formula or this.name: this.hazards for this, _ in parts}
    not_told = [
        f"{this.short}: its hazards are not known here"
        for this, _ in parts
        if isinstance(this, OwnSubstance) or this.hazard.status == "not looked up"
    ]
    for code, why in (("H272", "oxidising"), ("H290", "corrosive to metals")):
        with_it = [this.short for this, _ in parts if any(c.partition(":")[0] == code for c in this.hazards)]
        if with_it:
            not_told.append(f"whether the solution is {why} ({', '.join(with_it)} is, undiluted)")

    def percent(*codes: str, factor: Mapping[str, float] | None = None) -> float:
        return sum(
            value * (factor or {}).get(name, 1.0) for name, value in share.items() if set(codes) & set(codes_of[name])
        )

    rows = [*_acute(share, codes_of), *_skin_and_eyes(percent), *_alone(share, codes_of), *_water(percent)]
    found = [row.what for row in rows if row.verdict == "fails"]
    undiluted = dict.fromkeys(code for codes in codes_of.values() for code in codes)
    return BottleHazards(_gravest(found), tuple(undiluted), tuple(rows), tuple(not_told))


def _row(code: str, value: float, limit: float, unit: str) -> CheckRow:
    """`what` is the code; "fails" means that the bottle carries it."""
    reached = value >= limit
    comment = "Goes on the label of the bottle." if reached else "Too thin for it."
    return CheckRow(code, value, "<", limit, unit, "fails" if reached else "holds", comment, SOURCE)


def _acute(share: Mapping[str, float], codes_of: Mapping[str, Iterable[str]]) -> list[CheckRow]:
    """The mixture's acute toxicity estimate against 300 and 2000 mg/kg, written as its inverse."""
    inverse = sum(
        percent / min(_ATE[code] for code in codes_of[name] if code in _ATE)
        for name, percent in share.items()
        if set(_ATE) & set(codes_of[name])
    )
    if inverse == 0:
        return []
    unit = "% per mg/kg"
    if inverse >= 100.0 / 300.0:
        return [_row("H301", inverse, 100.0 / 300.0, unit)]
    return [_row("H302", inverse, 100.0 / 2000.0, unit)]


def _skin_and_eyes(percent: _Percent) -> list[CheckRow]:
    rows = []
    burns = percent("H314")
    skin = 10.0 * burns + percent("H315")
    if burns:
        rows.append(_row("H314", burns, 5.0, "%"))
    if skin and burns < 5.0:
        rows.append(_row("H315", skin, 10.0, "% weighted"))
    damage = percent("H314", "H318")
    eyes = 10.0 * damage + percent("H319")
    if damage:
        rows.append(_row("H318", damage, 3.0, "%"))
    if eyes and damage < 3.0:
        rows.append(_row("H319", eyes, 10.0, "% weighted"))
    return rows


def _alone(share: Mapping[str, float], codes_of: Mapping[str, Iterable[str]]) -> list[CheckRow]:
    rows = []
    for code, generic in _ALONE.items():
        having = [(name, value) for name, value in share.items() if value and code in codes_of[name]]
        if not having:
            continue
        # the ingredient that comes nearest to its limit, or passes it the furthest, decides
        most, limit = max(((value, _limit_of(name, code, generic)) for name, value in having), key=_over)
        rows.append(_row(code, most, limit, "%"))
        if code == "H372" and most < limit:
            rows.append(_row("H373", *max(((v, _limit_of(n, "H373", 1.0)) for n, v in having), key=_over), "%"))
    return rows


def _limit_of(name: str, code: str, generic: float) -> float:
    return _SPECIFIC.get(name, {}).get(code, generic)


def _over(value_and_limit: tuple[float, float]) -> float:
    return value_and_limit[0] / value_and_limit[1]


def _water(percent: _Percent) -> list[CheckRow]:
    acute, first, second = percent("H400", factor=_M), percent("H410", factor=_M), percent("H411")
    rows = [_row("H400", acute, 25.0, "% weighted")] if acute else []
    for code, value in (
        ("H410", first),
        ("H411", 10.0 * first + second),
        ("H412", 100.0 * first + 10.0 * second + percent("H412")),
    ):
        if value:
            rows.append(_row(code, value, 25.0, "% weighted"))
            if value >= 25.0:
                break
    return rows


def _gravest(codes: Iterable[str]) -> tuple[str, ...]:
    return tuple(sorted(dict.fromkeys(codes), key=lambda code: (int(code[1:4]), code)))
