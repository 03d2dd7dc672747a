"""The command that shows a trial's design before, while and after it runs."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from littoral.cli.choosing import AsJson, TrialKey
from littoral.cli.saying import print_json, refusals, say

if TYPE_CHECKING:
    from littoral.acts.design_page import DesignPage, Locked

WIDTH = 100


def design(
    where: Annotated[Path, typer.Argument(help="The logbook's folder, or a trial file.", metavar="LOGBOOK|FILE")],
    trial: TrialKey = None,
    as_json: AsJson = False,
) -> None:
    """Show a trial's design: what is asked, who gets what when, what it can show, and since when it stands."""
    from littoral.acts.view_design import view_design

    with refusals():
        page = view_design(where, trial)
    if as_json:
        print_json(page.as_json())
    else:
        _say_design(page)


def _say_design(page: DesignPage) -> None:
    _put(page.trial.title)
    _put(page.lead)
    _head("Asked")
    for one in page.asked:
        _put(f"{one.ask}{' (the primary question)' if one.primary else ''}", first="- ")
        parts = [f"by {one.measure}"]
        parts += [f"expected {one.expected}"] if one.expected else []
        if not one.account:
            parts += [f"under {one.smallest} does not matter" if one.smallest else "no smallest difference was set"]
        _put("; ".join(parts), first="  ")
        if one.meaning:
            _put(f"measured as {one.meaning}", first="  ")
    _head(f"Arms: they differ in {page.trial.factor}")
    for name, words in page.arms:
        _put(f"{name}{f': {words}' if words else ''}", first="- ")
    for text in page.drawn:
        _put(text)
    if page.trial.held_equal:
        _put(f"Held equal: {'; '.join(page.trial.held_equal)}.")
    _head("Who gets what when (days)")
    for bar in page.bars:
        named = (f"{one.from_day:g}-{one.to_day:g} {'baseline' if one.arm_place is None else one.words}"
                 for one in bar.stretches)  # fmt: skip
        _put(f"{bar.name}: {' | '.join(named)}", first="- ")
    for name, text in page.rules:
        _put(f"{name}: {text}")
    _head("What it can show")
    _put(f"{page.design.name[:1].upper()}{page.design.name[1:]}. {page.design.can} {page.design.cannot}")
    for text in page.power.words if page.power is not None else ():
        _put(text)
    _head("Locked")
    _say_locked(page.locked, page.sha256)


def _say_locked(locked: Locked | None, sha256: str) -> None:
    if locked is None:
        _put("Not yet: this is a file in no logbook. `littoral import FILE` takes it in, with the time.")
        _put(f"SHA-256 {sha256}")
        return
    _put(locked.words())
    _put(f"SHA-256 {locked.sha256}")
    for one in locked.versions:
        when = "after the start" if one.after_start else "before the start"
        _put(f"{locked.when(one.at)}, {when}: SHA-256 {one.sha256}", first="- ")
        unread = ("what it changed cannot be told: the text before it can no longer be read",)
        for change in unread if one.changes is None else one.changes:
            _put(change, first="  - ")


def _head(text: str) -> None:
    say()
    say(text)


def _put(text: str, *, first: str = "") -> None:
    lines = textwrap.wrap(
        text, WIDTH, initial_indent=first, subsequent_indent=" " * len(first), break_long_words=False
    )  # fmt: skip
    for line in lines:
        say(line)
