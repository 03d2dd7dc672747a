"""What follows from a trial for next week, as lines for the terminal, in the order of the page."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from littoral.cli.tables import decision_table
from littoral.findings.decide import Decision
from littoral.findings.next_week.model import Conflict

WIDTH = 100


def decided(decision: Decision) -> Iterator[str]:
    """Yield the animals first, what the arms reached, small steps, what to watch, and what is not said."""
    ahead = decision.ahead
    if ahead is not None and ahead.animals:
        yield from _part("The animals first", ahead.animals)
        yield ""
    if decision.hold:
        yield from _put(decision.hold)
    yield from _put(decision.wording)
    if decision.reached.aims:
        yield decision_table(decision)
    steps = [(f"By the levels: {one.name}", one.do, one.because, one.watch) for one in (ahead.steps if ahead else ())]
    steps += [(f"If you want most: {', '.join(one.aims)}", one.do, (one.because,), one.watch) for one in decision.steps]
    if steps:
        yield from _part("Small steps", ["One at a time, for one week, then look."])
    for head, do, because, watch in steps:
        yield from _put(head, first="- ")
        yield from _put(do, first="  ")
        yield from _put(f"Why: {' '.join(because)}", first="  ")
        yield from _put(f"Watch: {' '.join(watch)}", first="  ")
    if ahead is not None and ahead.conflicts:
        yield from _part(
            "Where the reasons do not agree", ["No step follows: test, look, and decide what counts more."]
        )
        for conflict in ahead.conflicts:
            yield from _conflict(conflict)
    if ahead is not None:
        yield from _part("What to watch", ahead.watch)
    held = (*(ahead.held_back if ahead else ()), *decision.held_back, *decision.open_questions)
    yield from _part("Where no step follows", [*held, *decision.reached.left_out])
    yield from _part("The levels behind it", [decision.levels_said] if decision.levels_said else [])
    yield from _part("What this does not say", decision.limits)


def _conflict(one: Conflict) -> Iterator[str]:
    yield from _put(f"{one.name}: {one.about}", first="- ")
    both = bool(one.more and one.less)
    for head, lines in (("For more", one.more), ("For less", one.less)):
        if lines:
            yield from _put(f"{head if both else 'Said'}: {' '.join(lines)}", first="  ")


def _part(head: str, texts: Sequence[str]) -> Iterator[str]:
    """Yield a heading with its texts, or nothing where there are none."""
    if texts:
        yield ""
        yield head
    for text in texts:
        yield from _put(f"{text[:1].upper()}{text[1:]}", first="- ")


def _put(text: str, *, first: str = "") -> list[str]:
    return textwrap.wrap(
        text, WIDTH, initial_indent=first, subsequent_indent=" " * len(first), break_long_words=False
    )  # fmt: skip
