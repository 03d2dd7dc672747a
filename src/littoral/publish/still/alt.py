"""The words that stand for a still, for people who cannot see it: what is shown, of when, what was measured there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from littoral.findings.measured import MeasuredPhoto
from littoral.publish.flags import kind_of
from littoral.publish.moments import Moment, day_words
from littoral.publish.words import tank_said
from littoral.trial.model import Trial

MOST_STANDS = 4
"""Stands told of on one day; half as many, the same in every tank, where there are several days: first and last."""


def still_alt(
    trial: Trial, tanks: Sequence[str], shown: Sequence[Moment], *, step: float, scale_cm: float | None = None
) -> str:
    """Return the alternative text of a still that shows `tanks` at some moments; `scale_cm` is that of a scale bar."""
    days = [one.label.removeprefix("day ") for one in shown]
    when = f"day {days[0]}" if len(days) == 1 else f"days {', '.join(days[:-1])} and {days[-1]}"
    what = "Rendered pictures, not real tanks," if trial.rendered else "Photos"
    many = "one tank" if len(tanks) == 1 else f"{len(tanks)} planted tanks"
    parts = [f"{what} of {many} on {when} of {trial.length_days:g} of the trial “{trial.title}”."]
    stands = _highest(trial, tanks, shown)[: MOST_STANDS // 2] if len(shown) > 1 else None
    parts += [_tank(trial, tank, shown, step, stands) for tank in tanks]
    if scale_cm is not None:
        parts.append(f"A scale bar is {scale_cm:g} cm long in the plane of the tank's corners.")
    return " ".join(parts)


def _highest(trial: Trial, tanks: Sequence[str], shown: Sequence[Moment]) -> list[str]:
    """Return the stands measured on the first and the last moment, those that most tanks have and then the highest."""
    heights: dict[str, list[float]] = {}
    for moment in (shown[0], shown[-1]):
        for tank in tanks:
            if (photo := moment.shown[tank].photo) is not None:
                for stand, height_cm in _measured(trial, photo, tank).items():
                    heights.setdefault(stand, []).append(height_cm)
    return sorted(heights, key=lambda stand: (-len(heights[stand]), -max(heights[stand]), trial.stands[stand].name))


def _tank(trial: Trial, tank: str, shown: Sequence[Moment], step: float, stands: Sequence[str] | None) -> str:
    """Return what is shown of a tank; `stands` are those told of, the highest of its own where None."""
    said = []
    for moment in shown:
        one = moment.shown[tank]
        if one.photo is None:
            said.append(f"{moment.label}: no photo")
            continue
        told = moment in (shown[0], shown[-1])
        heights = _heights(trial, _measured(trial, one.photo, tank), stands) if told else ""
        words = f"{moment.label}, {heights}" if heights else moment.label
        if one.held:
            why = kind_of(one.flags[0]) if one.flags else "no photo then"
            words += f" ({why}; {day_words(one.photo.day, step)} shown)"
        said.append(words)
    name = tank_said(trial, tank)
    return f"{name[:1].upper()}{name[1:]}: {'; '.join(said)}."


def _measured(trial: Trial, photo: MeasuredPhoto, tank: str) -> dict[str, float]:
    """Return the canopy heights of a photo's stands in cm."""
    return {
        region.region: region.height_cm
        for region in photo.regions
        if region.pane == tank and region.height_cm is not None and region.region in trial.stands
    }


def _heights(trial: Trial, heights_cm: Mapping[str, float], stands: Sequence[str] | None) -> str:
    """Return the heights of some stands in words, of the highest where None; "" where none of them was measured."""
    names = {stand: trial.stands[stand].name for stand in heights_cm}
    if stands is None:
        stands = sorted(heights_cm, key=lambda stand: (-heights_cm[stand], names[stand]))[:MOST_STANDS]
    return ", ".join(f"{names[one]} {heights_cm[one]:.1f} cm high" for one in stands if one in heights_cm)
