"""The text of a further trial on the same tanks: all as before, but for the one thing that is changed."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from littoral.errors import Fault, FaultsError, LittoralError
from littoral.trial.design import draw_arms
from littoral.trial.measures import MEASURES
from littoral.trial.model import Trial
from littoral.trial.written.reader import read_trial
from littoral.trial.written.report import Path
from littoral.trial.written.starting import key_of, quoted
from littoral.trial.written.toml_keys import FoundKey, find_keys


class NotCopiedError(LittoralError):
    """A trial's text from which no further trial can be written; the message says what to do instead."""


@dataclass(frozen=True, slots=True)
class Change:
    """The one thing that is changed: the title, what differs, the two arms' names, the one regime for both, day 0.

    `regime` is "" where each arm keeps the regime that it has.
    """

    title: str
    factor: str
    first: str
    second: str
    regime: str
    start: date


@dataclass(frozen=True, slots=True)
class Copied:
    """A further trial with its text, and the lines that are no longer held the same since they name what differs."""

    trial: Trial
    text: str
    no_longer_held: tuple[str, ...]


def copied_text(text: str, trial: Trial, change: Change, *, taken: Sequence[str], seed: int) -> Copied:
    """Return the text of a further trial: tanks, views, stands, bottles, regimes and schedule as in `text`.

    Arms are drawn by lot anew from `seed`; their keys follow their new names, and questions that name the former arms
    are asked anew, without an expectation. Raises FaultsError naming what is wrong of `change`, and NotCopiedError
    where the text cannot be changed safely.
    """
    _check(trial, change)
    if trial.plan.kind == "crossover" or len(trial.arms) != 2 or trial.plan.start_drawn_from or trial.plan.pairs:
        why = "swaps regimes, pairs its tanks, draws its start, or has not two arms"
        raise NotCopiedError(f"{trial.key} {why}; download its trial file and write the next one from it by hand.")
    source = text.encode()
    found = list(find_keys(source))
    at = {one.path: one for one in found}
    keys = _arm_keys(change)
    drawn = draw_arms(tuple(trial.tanks), keys, rng=np.random.default_rng(seed))
    key = _free(key_of(change.title, otherwise="trial"), taken)
    held = tuple(line for line in trial.held_equal if not _names(line, change.factor))
    changes: dict[Path, str] = {
        ("trial", "key"): quoted(key),
        ("trial", "title"): quoted(change.title),
        ("trial", "factor"): quoted(change.factor),
        ("trial", "start"): change.start.isoformat(),
        ("trial", "draw"): f"{{ how = {quoted(_draw_said(trial, change, drawn[keys[1]]))}, seed = {seed} }}",
        ("trial", "held_equal"): f"[{', '.join(map(quoted, held))}]",
    }
    edits: list[tuple[int, int, str]] = []
    names = (change.first, change.second)
    for place, arm in enumerate(trial.arms):
        header = at.get(("arms", arm.key))
        if header is None or not header.header:
            raise NotCopiedError(
                f"{trial.key} does not write its arm {arm.key} as a table of its own; copy it by hand."
            )
        regime = change.regime or arm.regime
        body = f"[arms.{keys[place]}]\nname = {quoted(names[place])}\n"
        body += f"tanks = [{', '.join(map(quoted, drawn[keys[place]]))}]\n"
        edits.append((header.start, header.end, body + (f"regime = {quoted(regime)}\n" if regime else "")))
    edits += _of_questions(trial, at)
    absent = [path for path in changes if path not in at]
    if [path for path in absent if path[-1] not in ("draw", "held_equal")]:
        raise NotCopiedError(f"{trial.key} is written in a way that cannot be changed safely; copy it by hand.")
    for path, written in changes.items():
        if path in at:
            edits.append((at[path].start, at[path].end, f"{path[-1]} = {written}{_rest(source, at[path])}"))
        else:
            end = at["trial", "key"].end
            edits.append((end, end, f"\n{path[-1]} = {written}"))
    for start, end, written in sorted(edits, key=lambda one: one[:2], reverse=True):
        source = source[:start] + written.encode() + source[end:]
    made, faults = read_trial(source.decode(), where="the next trial")
    if made is None or faults:
        raise NotCopiedError(f"{trial.key} cannot be copied safely ({'; '.join(map(str, faults))}); do it by hand.")
    _compare(trial, made)
    return Copied(made, source.decode(), tuple(line for line in trial.held_equal if line not in held))


def _check(trial: Trial, change: Change) -> None:
    faults = [
        Fault("is empty.", "Write something there.", name)
        for name in ("title", "factor", "first", "second")
        if not getattr(change, name).strip()
    ]
    if not faults and change.first.casefold() == change.second.casefold():
        faults.append(Fault("is the name of the first arm, too.", "Give it a name of its own.", "second"))
    if change.regime and change.regime not in trial.regimes:
        right = f"Name one of {', '.join(trial.regimes)}, or none to leave each arm the regime it has."
        faults.append(Fault(f"is {change.regime!r}, which is no regime of {trial.key}.", right, "regime"))
    if faults:
        raise FaultsError(faults)


def _arm_keys(change: Change) -> tuple[str, str]:
    first, second = key_of(change.first, otherwise="first"), key_of(change.second, otherwise="second")
    return (first, second) if first != second else ("first", "second")


def _free(key: str, taken: Sequence[str]) -> str:
    number, own = 1, key
    while own in taken:
        number += 1
        own = f"{key[:36]}-{number}"
    return own


def _names(line: str, factor: str) -> bool:
    """Whether a line of what is held the same shares a word with what now differs."""
    words = {word for word in re.findall(r"\w+", factor.casefold()) if len(word) >= 3 and word not in ("and", "the")}
    return bool(words & set(re.findall(r"\w+", line.casefold())))


def _draw_said(trial: Trial, change: Change, tanks: Sequence[str]) -> str:
    return f"{change.second}: {', '.join(trial.tanks[tank].name for tank in tanks)}"


def _of_questions(trial: Trial, at: Mapping[Path, FoundKey]) -> list[tuple[int, int, str]]:
    former = [name.casefold() for arm in trial.arms for name in (arm.key, arm.name)]
    edits: list[tuple[int, int, str]] = []
    for place, question in enumerate(trial.questions):
        expect, ask = at.get(("questions", place, "expect")), at.get(("questions", place, "ask"))
        if expect is not None:
            edits.append((expect.start, expect.end, ""))
        if ask is not None and any(re.search(rf"\b{re.escape(name)}\b", question.ask.casefold()) for name in former):
            name = MEASURES[question.measure].name
            edits.append((ask.start, ask.end, f"ask = {quoted(f'Does it make a difference to {name}?')}"))
    return edits


def _rest(source: bytes, key: FoundKey) -> str:
    """Return the remark behind a date, which its node takes in."""
    remark = re.search(rb"[ \t]*#[^\n]*$", source[key.start : key.end]) if key.path[-1] == "start" else None
    return remark[0].decode() if remark else ""


def _compare(before: Trial, made: Trial) -> None:
    """Raise NotCopiedError where something that was to be carried over is another one."""
    for name in (
        "tanks",
        "views",
        "stands",
        "bottles",
        "regimes",
        "schedule",
        "bands",
        "source",
        "same_care",
        "methods",
    ):
        if getattr(before, name) != getattr(made, name):
            raise NotCopiedError(f"{before.key} is written in a way in which its {name} would change; do it by hand.")
