"""Start a trial from three answers: what one wants to know, which tanks, what is fed. The first dose is due at once."""

from __future__ import annotations

import re
import secrets
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from littoral.acts.machine_zone import machine_zone
from littoral.acts.start_trial import keep_started, taken_keys
from littoral.errors import Fault, FaultsError
from littoral.logbook.book import Logbook
from littoral.trial.days import local_date
from littoral.trial.written.first_feed import Feed
from littoral.trial.written.first_trial import Wish, first_text, wish_of
from littoral.trial.written.reader import read_trial

LONGEST_ANSWER = 200
ANSWERS = ("know", "words", "tanks", "glass", "feed", "holds", "dose", "often")
"""The answers by name; `words` are those of a question of one's own, `feed` to `often` say what is fed and how."""


@dataclass(frozen=True, slots=True)
class Begun:
    """A trial that was begun: its key, its title, the arm of each tank by the tanks' names, and when arms differ."""

    key: str
    title: str
    arms: Mapping[str, str]
    baseline_days: int


def start_first(
    book_folder: Path, answers: Mapping[str, str], *, now: datetime, zone: str = "", seed: int | None = None
) -> Begun:
    """Start a trial in the logbook at `book_folder` from `answers` (see ANSWERS), day 0 being today in `zone`.

    The logbook is made where there is none, on the server that LITTORAL_DATABASE_URL names, if any. Without a `zone` it
    is this computer's; the lot is drawn from `seed`, or anew. Raises FaultsError naming each answer that is wrong; then
    nothing is changed.
    """
    given = {name: answers.get(name, "").strip() for name in ANSWERS}
    faults = [
        Fault(f"has {len(text)} characters.", f"Write at most {LONGEST_ANSWER}.", name)
        for name, text in given.items()
        if len(text) > LONGEST_ANSWER
    ]
    if faults:
        raise FaultsError(faults)
    wish = _wish(given)
    zone = zone or machine_zone()
    text = first_text(
        wish,
        tanks=[one for one in re.split(r"\s*[,;\n]\s*", given["tanks"]) if one],
        glass=given["glass"],
        feed=_feed(given),
        start=local_date(now, zone),
        zone=zone,
        seed=secrets.randbelow(2**31) if seed is None else seed,
        taken=taken_keys(book_folder),
    )
    trial, read = read_trial(text, where="the new trial")
    if trial is None or read:
        raise FaultsError([_of_answer(fault) for fault in read])
    Logbook.create(book_folder, shared=True).close()
    key = keep_started(book_folder, trial, text, named=trial.title)
    arms = {tank.name: trial.arm_of(tank.key).name for tank in trial.tanks.values()}
    return Begun(key, trial.title, arms, int(trial.baseline_days))


def _wish(given: Mapping[str, str]) -> Wish:
    if given["know"] != "other":
        return wish_of(given["know"])
    if not given["words"].rstrip("? "):
        raise FaultsError([Fault("is empty.", "Say in one line what you want to know.", "words")])
    return wish_of(given["words"])


def _feed(given: Mapping[str, str]) -> Feed | None:
    if given["often"] == "nothing":
        return None
    return Feed(given["feed"], given["holds"], given["dose"], given["often"])


def _of_answer(fault: Fault) -> Fault:
    """Return a fault of the trial file that was not written as one of the answer that it comes from."""
    key = re.match(r"`([^`]+)`(?:, )?", fault.what)
    where = key[1] if key else ""
    named = (("bottles.feed", "holds"), ("tanks", "glass"), ("trial.zone", "zone"), ("regimes", "dose"))
    answer = next((name for start, name in named if where.startswith(start)), "know")
    what = fault.what[key.end() :].strip() if key else fault.what
    hint = " Or leave that one out: it is then not counted." if answer == "holds" else ""
    return replace(fault, where=answer, line=None, what=what, right=f"{fault.right}{hint}")
