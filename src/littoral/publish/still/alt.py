"""The words that stand for a still, for people who cannot see it: what is shown, of when, what was measured there."""

from __future__ import annotations

from collections.abc import Sequence

from littoral.findings.measured import MeasuredPhoto
from littoral.publish.flags import kind_of
from littoral.publish.moments import Moment, day_words
from littoral.publish.words import tank_said
from littoral.trial.model import Trial

MOST_STANDS = 4
"""Stands told of on one day; half as many where there are several days, of which the first and last are told."""


def still_alt(
    trial: Trial, tanks: Sequence[str], shown: Sequence[Moment], *, step: float, scale_cm: float | None = None
) -> str:
    """Return the alternative text of a still that shows `tanks` at some moments; `scale_cm` is that of a scale bar."""
    days = [one.label.removeprefix("day ") for one in shown]
    when = f"day {days[0]}" if len(days) == 1 else f"days {', '.join(days[:-1])} and {days[-1]}"
    what = "Rendered pictures, not real tanks," if trial.rendered else "Photos"
    many = "one tank" if len(tanks) == 1 else f"{len(tanks)} planted tanks"
    parts = [f"{what} of {many} on {when} of {trial.length_days:g} of the trial “{trial.title}”."]
    parts += [_tank(trial, tank, shown, step) for tank in tanks]
    if scale_cm is not None:
        parts.append(f"A scale bar is {scale_cm:g} cm long in the plane of the tank's corners.")
    return " ".join(parts)


def _tank(trial: Trial, tank: str, shown: Sequence[Moment], step: float) -> str:
    said = []
    for moment in shown:
        one = moment.shown[tank]
        if one.photo is None:
            said.append(f"{moment.label}: no photo")
            continue
        most = MOST_STANDS if len(shown) == 1 else MOST_STANDS // 2 if moment in (shown[0], shown[-1]) else 0
        heights = _heights(trial, one.photo, tank, most=most)
        words = f"{moment.label}, {heights}" if heights else moment.label
        if one.held:
            why = kind_of(one.flags[0]) if one.flags else "no photo then"
            words += f" ({why}; {day_words(one.photo.day, step)} shown)"
        said.append(words)
    name = tank_said(trial, tank)
    return f"{name[:1].upper()}{name[1:]}: {'; '.join(said)}."


def _heights(trial: Trial, photo: MeasuredPhoto, tank: str, *, most: int) -> str:
    """Return the canopy heights of the highest stands on a photo, "" where none was measured."""
    found = [
        (region.height_cm, trial.stands[region.region].name)
        for region in photo.regions
        if region.pane == tank and region.height_cm is not None and region.region in trial.stands
    ]
    found.sort(key=lambda one: (-one[0], one[1]))
    return ", ".join(f"{name} {height:.1f} cm high" for height, name in found[:most])
