"""What a reader should know of the photos behind a finding: set aside, hidden, taken for trimmed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from littoral.findings.measured import Measured
from littoral.findings.showing import ranged, shown
from littoral.findings.tank_values import TankSeries, difference, difference_of_pairs, value_of
from littoral.imaging.results import PARTLY_HIDDEN
from littoral.trial.model import Question, Trial
from littoral.trial.periods import pairs_of


def in_pairs(trial: Trial, arms: Sequence[Sequence[TankSeries]]) -> list[tuple[TankSeries, TankSeries]]:
    """Return the tanks that belong together, first arm's first; nothing where tanks do not stand in pairs."""
    by_key = {tank.tank: tank for arm in arms for tank in arm}
    return [(by_key[first], by_key[second]) for first, second in pairs_of(trial)]


def photo_remarks(trial: Trial, measured: Measured, tanks: Sequence[TankSeries]) -> tuple[str, ...]:
    """Return remarks on the photos of some tanks, each a sentence or the rest of one."""
    views = {photo.view for tank in tanks for member in tank.used for photo in member.photos}
    remarks: list[str] = []
    aside = [photo for photo in measured.photos if photo.excluded and photo.view in views]
    if aside:
        reasons = Counter(photo.excluded for photo in aside)
        counted = "1 photo was" if len(aside) == 1 else f"{len(aside)} photos were"
        said = [why if len(reasons) == 1 else f"{why} ({count})" for why, count in reasons.items()]
        remarks.append(f"{counted} set aside: {'; '.join(said)}")
    for tank in tanks:
        name = trial.tanks[tank.tank].name
        for member, step in tank.steps:
            remarks.append(
                f"{member.place.name}, {name}: between days {step.before_day:.1f} and {step.after_day:.1f} its size "
                f"fell to {100 * step.left:.0f} % and no trim was written down. Was it one? It was taken for one."
            )
        remarks += [
            f"{member.place.name}, {name}: measured on too few photos, left out of the tank's mean."
            for member in tank.left_out
        ]
        for member in tank.used:
            if member.contradicted:
                days = ", ".join(f"{photo.day:.1f}" for photo in member.contradicted)
                remarks.append(
                    f"{member.place.name}, {name}: the size on day {days} was set aside; the light was another, and "
                    "the photos before and after contradict it."
                )
            partly = sum(
                PARTLY_HIDDEN in region.flags
                for photo in member.photos
                for region in photo.regions
                if (region.pane, region.region) == (member.place.tank, member.place.region)
            )
            if partly:
                counted = "1 photo" if partly == 1 else f"{partly} photos"
                remarks.append(
                    f"{member.place.name}, {name}: plants hid part of it on {counted}; the share is of what was still "
                    "seen, and may rise or fall with what they hide."
                )
        unusable = sum(member.unusable for member in tank.used)
        if unusable:
            remarks.append(f"{name}: {unusable} values could not be measured or were 0 and are left out.")
    return tuple(remarks)


def presumed_trims(trial: Trial, tanks: Sequence[TankSeries]) -> dict[str, str]:
    """Return each trim that was presumed, by the id of the first photo after it."""
    return {
        photo.entry_id: (
            f"{trial.tanks[tank.tank].name}, day {int(photo.day)}: {member.place.name} fell to "
            f"{100 * step.left:.0f} %, taken for a trim that nobody wrote down"
        )
        for tank in tanks
        for member, step in tank.steps
        for photo in member.photos
        if photo.day == step.after_day
    }


def without_presumed_trims(trial: Trial, question: Question, arms: Sequence[Sequence[TankSeries]]) -> tuple[str, ...]:
    """Return the rates and their difference as they would be if no presumed trim had been one; nothing without any."""
    if not any(tank.steps for arm in arms for tank in arm):
        return ()
    measure, change_day = question.measure, trial.baseline_days
    plain = [[replace(tank, trims=tank.recorded) for tank in arm] for arm in arms]
    said = []
    for tank in (tank for arm in reversed(plain) for tank in arm):
        rate = value_of(measure, tank.series, tank.trims, change_day=change_day).after
        low, high = rate.interval()
        said.append(f"{trial.tanks[tank.tank].name} {shown(measure, rate.value, doubt=(high - low) / 2)}")
    pairs = in_pairs(trial, plain)
    if pairs:
        effect = difference_of_pairs(measure, pairs, change_day=change_day).after
    else:
        effect = difference(measure, plain[1], plain[0], change_day=change_day)[0].after
    gap = ranged(measure, effect.value, *effect.interval(), level=0.95)
    return (f"If no such fall was a trim: {', '.join(said)}; difference {gap}.",)
