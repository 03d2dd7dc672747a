"""From what leaves look like to what may be missing: causes in order, with what agrees and what contradicts.

A guide, not a diagnosis: several causes share each sign, and the keys behind it were made for land plants. The table is
`symptoms.toml` beside this file, with its sources.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from littoral.chemistry.package_data import table
from littoral.errors import LittoralError

TYPICAL = 3
"""Weight of a sign that is typical of a cause; 2 is usual, 1 now and then."""
GUIDE_ONLY = (
    "Several causes can look alike, and old damage does not heal: judge by new leaves, change one thing at a time, and "
    "give it two weeks. If animals are unwell, look after them first and ask someone qualified."
)


@dataclass(frozen=True, slots=True)
class Sign:
    """Something to be seen on a plant: its `place` is "old" or "young" leaves, "tips" or the "whole" plant."""

    key: str
    place: str
    words: str


@dataclass(frozen=True, slots=True)
class Cause:
    """What may be behind signs: `weights` by sign, 1 to 3, and the signs `against` it.

    `key` is an element's symbol for a nutrient; `moves` says how well a plant shifts it to new leaves.
    """

    key: str
    name: str
    kind: str
    moves: str
    weights: Mapping[str, int]
    against: tuple[str, ...]
    note: str
    source: str


@dataclass(frozen=True, slots=True)
class CauseRow:
    """One cause for what was seen. `agreement` is 0 to 1: 1 where every sign seen is typical of it.

    `agrees`, `contradicts` and `unexplained` part the signs seen; `look_for` are typical signs that were not seen.
    """

    key: str
    name: str
    kind: str
    agreement: float
    agrees: tuple[Sign, ...]
    contradicts: tuple[Sign, ...]
    unexplained: tuple[Sign, ...]
    look_for: tuple[Sign, ...]
    comment: str
    source: str


class UnknownSignError(LittoralError):
    """No sign is called that; `keys` are all that are unknown."""

    def __init__(self, keys: Collection[str]) -> None:
        self.keys = tuple(sorted(keys))
        named = ", ".join(key[:40] for key in self.keys)
        super().__init__(f"symptoms: {named} is no sign here. There are: {', '.join(signs())}.")


@cache
def signs() -> Mapping[str, Sign]:
    """Return every sign, by key."""
    rows = table("symptoms")["sign"]
    return MappingProxyType({key: Sign(key, row["place"], row["words"]) for key, row in rows.items()})


@cache
def known_causes() -> Mapping[str, Cause]:
    """Return every cause, by key."""
    found = {}
    for row in table("symptoms")["cause"]:
        weights = MappingProxyType(dict(row["signs"]))
        rest = {key: row[key] for key in ("key", "name", "kind", "moves", "note", "source")}
        found[row["key"]] = Cause(weights=weights, against=tuple(row["against"]), **rest)
    return MappingProxyType(found)


def causes(observed: Collection[str]) -> tuple[CauseRow, ...]:
    """Return what may be behind the signs seen (keys of `signs`), likeliest first; causes without any are left out.

    `agreement` is the mean weight of the signs seen over 3, each contradiction counting -1, never below zero; equal
    ones are ordered by how much of their own typical picture was seen. Nothing seen gives no rows.
    Raises UnknownSignError.
    """
    seen = sorted(set(observed))
    if unknown := set(seen) - set(signs()):
        raise UnknownSignError(unknown)
    rows = [_row(cause, seen) for cause in known_causes().values() if any(key in cause.weights for key in seen)]
    return tuple(sorted(rows, key=lambda row: (-row.agreement, len(row.contradicts), len(row.look_for), row.name)))


def _row(cause: Cause, seen: list[str]) -> CauseRow:
    every = signs()
    agrees = tuple(every[key] for key in seen if key in cause.weights)
    contradicts = tuple(every[key] for key in seen if key in cause.against)
    rest = tuple(every[key] for key in seen if key not in cause.weights and key not in cause.against)
    weight = sum(cause.weights[sign.key] for sign in agrees) / TYPICAL - len(contradicts)
    typical = tuple(every[key] for key, size in cause.weights.items() if size == TYPICAL and key not in seen)
    return CauseRow(
        key=cause.key,
        name=cause.name,
        kind=cause.kind,
        agreement=max(weight / len(seen), 0.0),
        agrees=agrees,
        contradicts=contradicts,
        unexplained=rest,
        look_for=typical,
        comment=_comment(cause, agrees, contradicts, typical),
        source=cause.source,
    )


def _comment(cause: Cause, agrees: tuple[Sign, ...], contradicts: tuple[Sign, ...], typical: tuple[Sign, ...]) -> str:
    short = f"A lack of {cause.name}" if cause.kind == "nutrient" else cause.name[0].upper() + cause.name[1:]
    best = max(cause.weights[sign.key] for sign in agrees)
    said = {3: "is typically seen so", 2: "is often seen so", 1: "is seen so now and then"}[best]
    text = [f"{short} {said if cause.kind == 'nutrient' else 'may look so'}."]
    if contradicts:
        text.append(f"Against it: {'; '.join(_lower(sign.words) for sign in contradicts)}.")
    if typical:
        text.append(f"Look whether {' or '.join(_lower(sign.words) for sign in typical)}.")
    return " ".join([*text, cause.note])


def _lower(words: str) -> str:
    return words[0].lower() + words[1:]
