"""What must not stand together in a concentrated bottle, and how to split salts into bottles that do not clash.

These are rules for concentrated stocks, each with its reason and validity. In a tank the same ions are thousands of
times thinner. Where PHREEQC is installed, `saturation` computes instead.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations

from littoral.chemistry.own_substances import OwnSubstance, Substance, substance

FREE_METALS = ("iron", "manganese", "zinc", "copper", "cobalt", "nickel")
PRACTICE = "common practice, no source"
PHREEQC = "PHREEQC, phreeqc.dat, 20 °C"


@dataclass(frozen=True, slots=True)
class Clash:
    """Two substances (by `short`, which finds them) that should not share a bottle, why, and where that comes from.

    `always` is False where it is a matter of concentration or of pH only.
    """

    one: str
    other: str
    why: str
    source: str
    always: bool


@dataclass(frozen=True, slots=True)
class Group:
    """What may share a bottle, by `short`; `apart_because` are the clashes that keep it from the other groups."""

    salts: tuple[str, ...]
    apart_because: tuple[Clash, ...]


def clashes(names: Iterable[str], own: Sequence[OwnSubstance] = ()) -> tuple[Clash, ...]:
    """Return every pair among some substances that clashes in a concentrated stock. Raises UnknownSaltError."""
    each = list({this.key: this for this in (substance(name, own) for name in names)}.values())
    return tuple(clash for one, other in combinations(each, 2) if (clash := clash_of(one, other)) is not None)


def clash_of(one: Substance, other: Substance) -> Clash | None:
    """Return why two substances clash, the gravest reason only, or None."""
    return _one_way(one, other) or _one_way(other, one)


def split_bottles(names: Iterable[str], own: Sequence[OwnSubstance] = ()) -> tuple[Group, ...]:
    """Return the fewest groups in which nothing clashes; each substance is in one group, earlier groups fill first.

    Where several splits need as few bottles, the one that keeps the order given is taken.
    Raises UnknownSaltError.
    """
    each = list(dict.fromkeys(substance(name, own).short for name in names))
    if not each:
        return ()
    found = clashes(each, own)
    apart = {frozenset((clash.one, clash.other)) for clash in found}
    groups = next(split for count in range(1, len(each) + 1) if (split := _colour(each, apart, count)) is not None)
    return tuple(
        Group(tuple(group), tuple(clash for clash in found if (clash.one in group) != (clash.other in group)))
        for group in groups
    )


def _colour(each: Sequence[str], apart: set[frozenset[str]], count: int) -> list[list[str]] | None:
    """Depth first: put each into the first group that bears it; None where `count` groups are too few."""

    def place(at: int, groups: list[list[str]]) -> list[list[str]] | None:
        if at == len(each):
            return groups
        for i in range(min(count, len(groups) + 1)):
            mates = groups[i] if i < len(groups) else []
            if all(frozenset((each[at], mate)) not in apart for mate in mates):
                now = [*groups[:i], [*mates, each[at]], *groups[i + 1 :]]
                if (done := place(at + 1, now)) is not None:
                    return done
        return None

    return place(0, [])


def _one_way(one: Substance, other: Substance) -> Clash | None:
    def clash(why: str, source: str, *, always: bool = True) -> Clash:
        return Clash(one.short, other.short, why, source, always)

    free = [] if one.chelate else [key for key in FREE_METALS if one.content_mg_per_g.get(key, 0.0) > 0]
    brings = {key for key, mg in other.content_mg_per_g.items() if mg > 0}
    if one.content_mg_per_g.get("calcium", 0.0) > 0 and not one.chelate:
        if "sulphate" in brings:
            why = "gypsum falls out where calcium and sulphate are above about 20 mmol/L each"
            return clash(why, PHREEQC, always=False)
        if "phosphate" in brings:
            return clash("calcium phosphates fall out as a white mud", PRACTICE)
        if "bicarbonate" in brings:
            return clash("calcium carbonate falls out", PRACTICE)
    if free and "phosphate" in brings:
        return clash(f"phosphates of {' and '.join(free)} hardly dissolve", PRACTICE)
    if free and "bicarbonate" in brings:
        return clash(f"carbonates and hydroxides of {' and '.join(free)} hardly dissolve", PRACTICE)
    if one.content_mg_per_g.get("magnesium", 0.0) > 0 and "bicarbonate" in brings:
        return clash("magnesium carbonates fall out slowly", PRACTICE)
    if one.content_mg_per_g.get("ammonium", 0.0) > 0 and "bicarbonate" in brings:
        return clash("the alkali drives ammonia gas out: it stinks, burns, and the nitrogen is lost", PRACTICE)
    if _is_sour(one) and "bicarbonate" in brings:
        return clash("acid on carbonate gives carbon dioxide: a closed bottle may burst", PRACTICE)
    if _is_phosphate_of_ammonium(one, other):
        return clash("magnesium ammonium phosphate (struvite) falls out unless it is sour", PRACTICE, always=False)
    if one.chelate and one.content_mg_per_g.get("iron", 0.0) > 0 and "bicarbonate" in brings:
        return clash("iron chelates fall apart in alkali: iron rust falls out", PRACTICE)
    return None


def _is_sour(one: Substance) -> bool:
    return one.kind == "acid" and "boron" not in one.content_mg_per_g and "molybdenum" not in one.content_mg_per_g


def _is_phosphate_of_ammonium(one: Substance, other: Substance) -> bool:
    magnesium = one.content_mg_per_g.get("magnesium", 0.0) > 0
    return magnesium and {"ammonium", "phosphate"} <= {key for key, mg in other.content_mg_per_g.items() if mg > 0}
