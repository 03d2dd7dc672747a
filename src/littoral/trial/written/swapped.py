"""The text of a trial's sequel: the same trial with the arms swapped between the tanks, ready to be edited."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

from littoral.errors import LittoralError
from littoral.trial.design import after_crossover
from littoral.trial.model import Trial
from littoral.trial.written.reader import read_trial
from littoral.trial.written.report import Path
from littoral.trial.written.toml_keys import find_keys

LONGEST_STEM = 28
"""What is kept of a key before "-swapped-2" is put behind it: keys have at most 40 characters."""

_SWAPPED = re.compile(r"-swapped(-\d+)?$")
_SWAPPED_TITLE = re.compile(r", arms swapped( \(\d+\))?$")
_DATE_REMARK = re.compile(rb"[ \t]*#[^\n]*$")


class NotSwappedError(LittoralError):
    """A trial's text from which no sequel can be written; the message says what to do instead."""


def swapped_text(text: str, trial: Trial, *, start: date, taken: Sequence[str] = ()) -> str:
    """Return the text of the next trial: all as in `text`, but each tank gets the other arm, from `start` on.

    Comments and order stay. Key and title say that it is the sequel (no key of `taken`); the draw is no longer one and
    says so. Raises NotSwappedError where the trial swaps its regimes itself, has no two arms of equal size, or is
    written in a way that cannot be changed safely: what is written is read again, and must be that trial.
    """
    if trial.plan.kind == "crossover":
        why = f"{trial.key} swaps its regimes itself, period by period; there is nothing left to swap."
        raise NotSwappedError(f"{why} {after_crossover(trial)}")
    if len(trial.arms) != 2 or len(trial.arms[0].tanks) != len(trial.arms[1].tanks):
        raise NotSwappedError(f"{trial.key} has not two arms of equally many tanks; write the next trial by hand.")
    if trial.plan.start_drawn_from:
        raise NotSwappedError(
            f"{trial.key} began on a day that was drawn by lot for it. Draw a day for the next trial, write it with "
            "its `start_drawn_from` by hand, and swap the arms' tanks."
        )
    first, second = trial.arms
    key, title = _sequel(trial, taken)
    drawn = f"arms swapped from the trial {trial.key}"
    found = {one.path: (one.start, one.end) for one in find_keys(text.encode()) if not one.header}
    changes: dict[Path, str] = {
        ("trial", "key"): _quoted(key),
        ("trial", "title"): _quoted(title),
        ("trial", "start"): start.isoformat(),
        ("arms", first.key, "tanks"): f"[{', '.join(map(_quoted, second.tanks))}]",
        ("arms", second.key, "tanks"): f"[{', '.join(map(_quoted, first.tanks))}]",
    }
    if ("trial", "draw") in found:
        changes["trial", "draw"] = f"{{ how = {_quoted(drawn)} }}"
    written = _changed(text.encode(), found, changes)
    expected = replace(
        trial,
        key=key,
        title=title,
        start=start,
        arms=(replace(first, tanks=second.tanks), replace(second, tanks=first.tanks)),
        drawn=drawn if ("trial", "draw") in found else trial.drawn,
        draw_seed=None if ("trial", "draw") in found else trial.draw_seed,
        plan=replace(trial.plan, pairs=tuple((two, one) for one, two in trial.plan.pairs)),  # first arm's tank first
    )
    read, faults = read_trial(written, where="the next trial")
    if read != expected or faults:
        why = f" ({faults[0]})" if faults else ""
        raise NotSwappedError(f"{trial.key} is written in a way that cannot be swapped safely{why}; do it by hand.")
    return written


def _changed(source: bytes, found: Mapping[Path, tuple[int, int]], changes: Mapping[Path, str]) -> str:
    lacking = [".".join(map(str, path)) for path in changes if path not in found]
    if lacking:
        raise NotSwappedError(f"the trial file has no line for {', '.join(lacking)}; swap the arms by hand.")
    for path in sorted(changes, key=lambda one: found[one], reverse=True):
        start, end = found[path]
        written = source[start:end]
        comma = b", " if written.lstrip().startswith(b",") else b""
        remark = _DATE_REMARK.search(written) if path[-1] == "start" else None  # a date's node takes in what follows it
        rest = remark[0] if remark else b""
        source = source[:start] + comma + f"{path[-1]} = {changes[path]}".encode() + rest + source[end:]
    return source.decode()


def _sequel(trial: Trial, taken: Sequence[str]) -> tuple[str, str]:
    """Return key and title of a sequel: "moss" becomes "moss-swapped", that one "moss-swapped-2"."""
    stem = f"{_SWAPPED.sub('', trial.key)[:LONGEST_STEM].rstrip('-_')}-swapped"
    title = f"{_SWAPPED_TITLE.sub('', trial.title)}, arms swapped"
    number, key = 1, stem
    while key in taken or key == trial.key:
        number += 1
        key = f"{stem}-{number}"
    return key, title if number == 1 else f"{title} ({number})"


def _quoted(text: str) -> str:
    """Write text as a TOML string: JSON's escapes are TOML's, but for the delete character."""
    quoted = json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
    assert tomllib.loads(f"x = {quoted}")["x"] == text
    return quoted
