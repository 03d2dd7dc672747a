"""From signs seen on leaves to what may be behind them, and whether the levels say the same."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from littoral.chemistry.symptoms import GUIDE_ONLY, Sign, causes, signs
from littoral.findings.estimates.model import Estimates
from littoral.tank.limiting import ALSO_LIGHT, agreement_with_symptoms

PLACES = {"old": "Old leaves", "young": "Young leaves", "tips": "Tips", "whole": "The whole plant"}
MOST_CAUSES = 5


@dataclass(frozen=True, slots=True)
class CauseWords:
    """One cause: its name, how well it fits the signs (percent), and a sentence or two."""

    name: str
    percent: int
    comment: str
    source: str


@dataclass(frozen=True, slots=True)
class LeafSigns:
    """The signs to tick, by place, and what was made of those ticked; `verdict` is "" where nothing was ticked."""

    places: tuple[tuple[str, tuple[Sign, ...]], ...]
    ticked: frozenset[str]
    causes: tuple[CauseWords, ...]
    verdict: str
    comment: str
    guide: str = GUIDE_ONLY


def leaf_signs(estimates: Estimates, *, tank: str, ticked: Collection[str]) -> LeafSigns:
    """Return the form with what the ticked signs (keys of `signs`) point at. Raises UnknownSignError."""
    rows = causes(ticked)
    every = signs().values()
    places = tuple((words, tuple(one for one in every if one.place == place)) for place, words in PLACES.items())
    of_tank = estimates.limiting.get(tank, ())
    agreement = agreement_with_symptoms(of_tank[0], rows) if ticked and of_tank else None
    return LeafSigns(
        places=places,
        ticked=frozenset(ticked),
        causes=tuple(
            CauseWords(row.name, round(100 * row.agreement), row.comment, row.source) for row in rows[:MOST_CAUSES]
        ),
        verdict="" if agreement is None else agreement.verdict,
        comment="" if agreement is None else agreement.comment.replace(ALSO_LIGHT, "").strip(),
    )
