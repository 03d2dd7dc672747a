"""All questions of a trial at once: how many differences are called, and what share of them luck would make."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from littoral.findings.model import Finding
from littoral.findings.showing import percent
from littoral.quantities.counting import counted
from littoral.stats.several_questions import false_discovery

SOURCE = "Benjamini & Hochberg 1995, J R Stat Soc B 57:289-300"


@dataclass(frozen=True, slots=True)
class Several:
    """The differences tested in one trial. `called` are those that leave out 0 at the level they are held to (Holm).

    `passing` are those whose false-discovery rate is held to `false_share`; `adjusted` are p values for that, by
    question. `by_luck` would be called at 5 % each if nothing at all were going on. `text` says it, "" below two.
    """

    tested: int
    called: int
    passing: int
    false_share: float
    by_luck: float
    adjusted: tuple[tuple[str, float], ...]
    text: str


def several(findings: Sequence[Finding]) -> Several:
    """Return what is to be said of all tested differences together; Holm's levels decide, this stands beside them.

    The rate holds for questions that are independent or rise and fall together; others would need a stricter one.
    """
    tested = [(one.question, one.p_value, one.level) for one in findings if one.p_value is not None]
    found = false_discovery([p for _, p, _ in tested])
    called = sum(p < 1 - level for _, p, level in tested)
    passing = sum(found.called)
    text = ""
    if len(tested) > 1:
        text = (
            f"Of {counted(len(tested), 'difference')} tested, {called} {_stands(called)} out from scatter at the "
            "levels that decide; margins and what cameras do by themselves come on top of that. "
            f"With a false-discovery rate of {percent(found.false_share)} instead, {passing} would pass: over many "
            f"such trials the share of false ones among those that pass averages {percent(found.false_share)} at most "
            f"(Benjamini & Hochberg 1995). If nothing at all were going on, {found.by_luck:.2g} of {len(tested)} would "
            "be called at 5 % each. False means made by scatter alone: below three tanks per arm these numbers leave "
            "out that equal tanks differ."
        )
    return Several(
        tested=len(tested),
        called=called,
        passing=passing,
        false_share=found.false_share,
        by_luck=found.by_luck,
        adjusted=tuple((key, p) for (key, _, _), p in zip(tested, found.adjusted, strict=True)),
        text=text,
    )


def _stands(count: int) -> str:
    return "stands" if count == 1 else "stand"
