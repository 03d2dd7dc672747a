"""A further trial on the same tanks: what comes along, what does not, and what the last treatment still does."""

from __future__ import annotations

import math
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from littoral.acts.choosing import chosen_trial
from littoral.acts.draw_view import draw_view
from littoral.acts.start_trial import keep_started, taken_keys
from littoral.errors import Fault, FaultsError
from littoral.findings.history import last_day
from littoral.logbook.book import Logbook
from littoral.quantities.counting import counted
from littoral.stats.crossover import WASHOUT_HALF_LIVES
from littoral.stats.power import carry_over_after
from littoral.trial.model import Trial
from littoral.trial.periods import half_life_days
from littoral.trial.written.copied import Change, copied_text
from littoral.trial.written.drawings import write_drawing
from littoral.trial.written.moments import read_date
from littoral.trial.written.reader import read_trial
from littoral.trial.written.report import WrongValueError

LONGEST = 120
FIELDS = ("title", "factor", "first", "second", "regime", "start")
NOT_CARRIED = (
    "Entries and photos: they stay with the trial they belong to.",
    "Levels: the new trial begins at its source water's levels, or at the start levels written in the file. Test the "
    "water on the first day.",
    "The draw: which tank gets which arm is drawn by lot anew.",
    "What was expected: questions that named the former arms are asked anew, without an expectation.",
)


@dataclass(frozen=True, slots=True)
class WashOut:
    """What the last treatment still does on the new trial's first day and when its arms begin to differ.

    `half_life_days` (NaN: not known) is that of what the arms dose; `left_percent` are at day 0 and at the end of the
    baseline; `enough_on` is the first day with three half-lives behind it, None where that is not known.
    """

    half_life_days: float
    days_between: int
    left_percent: tuple[float, float]
    enough_on: date | None
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Carried:
    """What a further trial takes over from `of`, in words, what it does not, and the warning of the last treatment."""

    of: str
    title: str
    carried: tuple[str, ...]
    not_carried: tuple[str, ...]
    wash_out: WashOut
    proposed_start: date
    regimes: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Further:
    """A further trial that was started: its key, title, arms by tank, first day, and what to look at."""

    key: str
    title: str
    start: date
    arms: Mapping[str, str]
    no_longer_held: tuple[str, ...]
    wash_out: WashOut

    def as_json(self) -> dict[str, Any]:
        """Return it as plain data; a half-life that is not known is null."""
        return {
            "trial": self.key,
            "title": self.title,
            "start": self.start.isoformat(),
            "arms": dict(self.arms),
            "no_longer_held": list(self.no_longer_held),
            "wash_out": wash_out_json(self.wash_out),
        }


def only_trial(book_folder: Path, key: str | None) -> str:
    """Return the key that was named, or that of the only trial; WhichTrialError, NoLogbookError."""
    with Logbook.open(book_folder) as book:
        return chosen_trial(book, key)


def what_carries(book_folder: Path, key: str, *, today: date) -> Carried:
    """Return what a further trial would take over, begun the day after the last one ends or `today`. NoTrialError."""
    with Logbook.open(book_folder) as book:
        trial = book.trial(key)
    start = max(last_day(trial) + timedelta(days=1), today)
    carried = (
        f"{counted(trial.tanks, 'tank')}: {', '.join(tank.name for tank in trial.tanks.values())}",
        f"{counted(trial.views, 'view')} and {counted(trial.stands, 'stand')}, as drawn last (look at the first photo)",
        f"{counted(trial.bottles, 'bottle')} and {counted(trial.regimes, 'regime')}",
        f"what is held the same: {'; '.join(trial.held_equal) or 'nothing is written down'}",
        "the schedule, the length, the baseline, and the questions",
    )
    regimes = {key: regime.name for key, regime in trial.regimes.items()}
    return Carried(trial.key, trial.title, carried, NOT_CARRIED, wash_out(trial, start), start, regimes)


def wash_out(trial: Trial, start: date) -> WashOut:
    """Return what the treatment of `trial` still does in a trial on the same tanks that begins on `start`.

    The half-life is that of the slowest of what the arms dose, from water changes and stated uptake
    (`trial.periods.half_life_days`); three half-lives leave an eighth (`stats.crossover.WASHOUT_HALF_LIVES`).
    """
    between = max(0, (start - last_day(trial)).days - 1)
    half = half_life_days(trial)
    lasting = "What plants stored, grew and shed, and what the substrate took up, has no half-life that is known here: "
    lasting += "trim or replant alike in all tanks, and keep the baseline."
    unknown = (math.nan, math.nan)
    if len({arm.regime for arm in trial.arms}) == 1:
        said = (
            f"The last trial changed {trial.factor}, and all its tanks were dosed alike: nothing dosed must wash out."
        )
        return WashOut(math.nan, between, unknown, None, (said, lasting))
    if not math.isfinite(half) or half <= 0:
        said = "How long what the last trial dosed lingers is not known: no uptake and no `half_life` is written down."
        return WashOut(math.nan, between, unknown, None, (said, lasting))
    left_at = [100 * carry_over_after(days / half) for days in (between, between + float(trial.baseline_days))]
    needed = math.ceil(WASHOUT_HALF_LIVES * half - 1e-9)
    enough = last_day(trial) + timedelta(days=1 + needed)
    words = [
        f"What the arms of the last trial were dosed differently falls by half in {half:.2g} days, by water changes "
        f"and stated uptake. On the first day {_percent(left_at[0])} of that difference is left.",
        f"Three half-lives ({needed} days) leave an eighth: they have passed by then."
        if between >= needed
        else f"Three half-lives ({needed} days) leave an eighth: until {enough} feed all tanks alike. The baseline "
        f"lasts {float(trial.baseline_days):g} days, and {_percent(left_at[1])} is left when it ends.",
    ]
    if between + float(trial.baseline_days) < needed:
        words.append("That is too short: begin later, or write a longer baseline, so that the arms start alike.")
    return WashOut(half, between, (left_at[0], left_at[1]), enough, (*words, lasting))


def _percent(left: float) -> str:
    return f"{left:.0f} %" if left >= 1 else "less than 1 %"


def copy_trial(
    book_folder: Path, key: str, values: Mapping[str, str], *, today: date, seed: int | None = None
) -> Further:
    """Start a further trial on the tanks of the trial `key` from FIELDS as a person writes them.

    Raises FaultsError naming each field that is wrong, NotCopiedError, NoTrialError; then nothing is changed.
    """
    given = {name: values.get(name, "").strip() for name in FIELDS}
    long = [
        Fault(f"has {len(text)} characters.", f"Write at most {LONGEST}.", name)
        for name, text in given.items()
        if len(text) > LONGEST
    ]
    if long:
        raise FaultsError(long)
    with Logbook.open(book_folder) as book:
        trial, text = book.trial(key), book.trial_text(key)
    try:
        start = read_date(given["start"]) if given["start"] else max(last_day(trial) + timedelta(days=1), today)
    except WrongValueError as error:
        raise FaultsError([Fault(error.what, error.right, "start")]) from None
    if start <= last_day(trial):
        what = f"is {start}, and {trial.title} lasts until {last_day(trial)} on the same tanks."
        raise FaultsError([Fault(what, "Begin after that day.", "start")])
    named = given["title"], given["factor"], given["first"], given["second"]
    change = Change(*named, regime=given["regime"], start=start)
    written, _ = read_trial(text, where=key)  # without what was drawn on the page, which is an entry and no text
    made = copied_text(
        text,
        written or trial,
        change,
        taken=taken_keys(book_folder),
        seed=secrets.randbelow(2**31) if seed is None else seed,
    )
    keep_started(book_folder, made.trial, made.text, named=change.title)
    for view in trial.views.values():
        if made.trial.views[view.key].panes != view.panes:
            draw_view(book_folder, made.trial.key, view.key, write_drawing(view.panes))
    arms = {tank.name: made.trial.arm_of(tank.key).name for tank in made.trial.tanks.values()}
    return Further(made.trial.key, made.trial.title, start, arms, made.no_longer_held, wash_out(trial, start))


def carried_json(carried: Carried) -> dict[str, Any]:
    """Return what a further trial would take over as plain data; a half-life that is not known is null."""
    return {
        "of": carried.of,
        "title": carried.title,
        "carried": list(carried.carried),
        "not_carried": list(carried.not_carried),
        "regimes": dict(carried.regimes),
        "proposed_start": carried.proposed_start.isoformat(),
        "wash_out": wash_out_json(carried.wash_out),
    }


def wash_out_json(out: WashOut) -> dict[str, Any]:
    """Return a wash-out as plain data; what is not known is null."""
    known = not math.isnan(out.half_life_days)
    return {
        "half_life_days": out.half_life_days if known else None,
        "days_between": out.days_between,
        "left_percent": list(out.left_percent) if known else None,
        "enough_on": out.enough_on.isoformat() if out.enough_on else None,
        "words": list(out.words),
    }
