"""The strip under the twin view: where each moment lies, what happened at it, and where a photo is missing."""

from __future__ import annotations

from dataclasses import dataclass

from littoral.acts.trial_page import EventKind, TrialPage, TwinTank

DRAWN: tuple[EventKind, ...] = ("dose", "missed dose", "water change", "trim", "reading")
"""The kinds that have a mark, in the order of the legend; the others are told in words only."""


@dataclass(frozen=True, slots=True)
class Mark:
    """One mark: all events of one kind at one moment (by index); `at` is percent of the strip's width."""

    kind: EventKind
    moment: int
    at: float


@dataclass(frozen=True, slots=True)
class Lane:
    """One tank's lane: marks, and the stretches (from, to, in percent) over which it has a photo at every moment."""

    tank: TwinTank
    marks: tuple[Mark, ...]
    stretches: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Strip:
    """The whole strip: a lane for each tank, the week lines, and where the baseline ends (None without one)."""

    lanes: tuple[Lane, ...]
    weeks: tuple[float, ...]
    baseline_to: float | None
    kinds: tuple[EventKind, ...]


def place(page: TrialPage, moment: float) -> float:
    """Return where a moment (by index, fractions allowed) lies on the strip: from 0 to 100 percent."""
    last = max(len(page.moments) - 1, 1)
    return round(100 * min(max(moment, 0.0), last) / last, 3)


def strip_of(page: TrialPage) -> Strip:
    """Lay out the strip of a trial's page."""
    lanes = []
    for tank in page.tanks:
        happened = {(page.moment_at(event.day), event.kind) for event in page.events if event.tank == tank.key}
        marks = sorted((moment, DRAWN.index(kind), kind) for moment, kind in happened if kind in DRAWN)
        taken = [
            (place(page, moment - 0.5), place(page, moment + 0.5))
            for moment, shown in enumerate(tank.shown)
            if shown.photo is not None and not shown.held
        ]
        drawn = tuple(Mark(kind, moment, place(page, moment)) for moment, _, kind in marks)
        lanes.append(Lane(tank, drawn, _joined(taken)))
    first, last = page.moments[0].day, page.moments[-1].day
    weeks = [page.moment_at(day) for day in range(0, int(last) + 1, 7) if day >= first]
    baseline = page.trial.baseline_days
    # Past the last moment of a running trial everything is still baseline.
    until = page.moment_at(baseline) - 0.5 if baseline <= last else len(page.moments)
    return Strip(
        lanes=tuple(lanes),
        weeks=tuple(place(page, week) for week in weeks),
        baseline_to=place(page, until) if baseline > 0 else None,
        kinds=tuple(kind for kind in DRAWN if any(event.kind == kind for event in page.events)),
    )


def _joined(pieces: list[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    joined: list[tuple[float, float]] = []
    for start, end in pieces:
        if joined and start <= joined[-1][1] + 1e-9:
            joined[-1] = (joined[-1][0], end)
        else:
            joined.append((start, end))
    return tuple(joined)
