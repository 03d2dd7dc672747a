"""What happens in a trial that its film stops for: the regimes begin or are swapped, trims, first algae, looks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from littoral.findings.measured import Measured, MeasuredPhoto
from littoral.trial.days import day_of
from littoral.trial.entries import Entry, Trim
from littoral.trial.model import Trial
from littoral.trial.periods import periods_of

HappeningKind = Literal["regimes begin", "swap", "look", "trim", "first algae"]

FIRST_ALGAE = 0.03
"""Share of a stone, wood or glass that must have turned green, in two photos running, to be called its first algae.
Rule of thumb, no source: smaller shares come and go with the camera."""


BEGIN_WORDS = "The regimes begin: until now all tanks were alike."


@dataclass(frozen=True, slots=True)
class Happening:
    """One thing that happened at `day` (float days since day 0), in words; `tank` is "" for all tanks."""

    day: float
    kind: HappeningKind
    words: str
    tank: str = ""


def happenings(
    trial: Trial, measured: Measured, entries: Sequence[Entry], tanks: Sequence[str]
) -> tuple[Happening, ...]:
    """Return what a film of `tanks` stops for, by day."""
    found: list[Happening] = []
    periods = periods_of(trial)
    if trial.baseline_days > 0 and not periods:
        found.append(Happening(trial.baseline_days, "regimes begin", BEGIN_WORDS))
    for before, period in zip((None, *periods), periods, strict=False):
        if before is None:
            if trial.baseline_days > 0:
                found.append(Happening(period.from_day, "regimes begin", "The regimes begin: first period."))
        elif before.swapped != period.swapped:
            words = f"The tanks swap regimes: period {period.number} of {len(periods)}."
            found.append(Happening(period.from_day, "swap", words))
        else:
            words = f"Period {period.number} of {len(periods)} begins; each tank keeps its regime."
            found.append(Happening(period.from_day, "swap", words))
    found += [
        Happening(day, "look", "A look at the results planned beforehand.")
        for day in trial.plan.looks_days
        if 0 <= day < trial.length_days
    ]
    found += _trims(trial, entries, tanks)
    found += _first_algae(trial, measured, tanks)
    return tuple(sorted(found, key=lambda one: (one.day, one.tank, one.words)))


def _trims(trial: Trial, entries: Sequence[Entry], tanks: Sequence[str]) -> list[Happening]:
    """Return the trims of one day and tank as one happening, as they are done in one go."""
    by_day: dict[tuple[int, str], list[tuple[float, str]]] = {}
    for entry in entries:
        if entry.tank is not None and entry.tank in tanks and isinstance(entry.payload, Trim):
            day = day_of(entry.at, trial)
            by_day.setdefault((int(day // 1), entry.tank), []).append((day, _trimmed(trial, entry.payload)))
    return [
        Happening(
            min(day for day, _ in some),
            "trim",
            f"Trim, {trial.tanks[tank].name}: {', '.join(dict.fromkeys(words for _, words in some))}.",
            tank,
        )
        for (_, tank), some in by_day.items()
    ]


def _trimmed(trial: Trial, trim: Trim) -> str:
    if trim.stand is None:
        what = "all plants"
    else:
        what = trial.stands[trim.stand].name if trim.stand in trial.stands else trim.stand
    return what if trim.left_cm is None else f"{what} to {trim.left_cm:.3g} cm"


def _first_algae(trial: Trial, measured: Measured, tanks: Sequence[str]) -> list[Happening]:
    found = []
    for tank in tanks:
        onsets = _onsets(measured.photos, tank)
        if onsets:
            day, region = min(onsets)
            words = f"First algae, {trial.tanks[tank].name}: on the {region}."
            found.append(Happening(day, "first algae", words, tank))
    return found


def _onsets(photos: Sequence[MeasuredPhoto], tank: str) -> list[tuple[float, str]]:
    """Return (day, region) of the first photo of each region that is green enough, and whose next one is too."""
    seen: dict[tuple[str, str], list[tuple[float, float]]] = {}
    for photo in photos:
        if photo.excluded:
            continue
        for region in photo.regions:
            if region.pane == tank and region.algae is not None:
                seen.setdefault((photo.view, region.region), []).append((photo.day, region.algae))
    onsets = []
    for (_, name), some in seen.items():
        some.sort()
        for (day, share), (_, following) in pairwise(some):
            if share >= FIRST_ALGAE and following >= FIRST_ALGAE:
                onsets.append((day, name))
                break
    return onsets
