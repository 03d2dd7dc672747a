"""The sheet's pictures: each arm's tank on a few days, as small JPEGs inside the page."""

from __future__ import annotations

import base64
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass

from littoral.findings.measured import Measured
from littoral.findings.model import Finding
from littoral.publish.flags import kind_of
from littoral.publish.moments import Moment, Shown, day_words, moments
from littoral.publish.panes import pane_of, photos_by_tank, picture, shown_tanks
from littoral.publish.words import tank_said
from littoral.trial.days import date_of
from littoral.trial.model import Trial

FIT_PX = (560, 520)
SMALL_PX = (300, 280)
QUALITY = 82
ROWS = 5


@dataclass(frozen=True, slots=True)
class Still:
    """One picture as a data URI, with its size in pixels; `data` is empty where there is no photo to show."""

    data: str
    alt: str
    width: int = 0
    height: int = 0
    note: str = ""


@dataclass(frozen=True, slots=True)
class StillRow:
    """One day's pictures, one for each arm; `words` says which day."""

    words: str
    pictures: tuple[Still, ...]


def stills(trial: Trial, measured: Measured) -> tuple[StillRow, ...]:
    """Return rows of pictures from the first day to the last, the day when the regimes began among them."""
    tanks = shown_tanks(trial)
    made = moments(trial, photos_by_tank(trial, measured, tanks))
    return tuple(
        StillRow(_words(trial, one, made), tuple(_still(trial, tank, one.shown[tank], one) for tank in tanks))
        for one in chosen(made, baseline_days=trial.baseline_days)
    )


@dataclass(frozen=True, slots=True)
class CarryingRow:
    """One day that carries findings: its words, why and for which measures, and the pictures with their tanks."""

    day: int
    words: str
    reasons: tuple[tuple[str, str], ...]
    pictures: tuple[tuple[str, Still], ...]


def carrying_stills(trial: Trial, measured: Measured, findings: Sequence[Finding]) -> tuple[CarryingRow, ...]:
    """Return the days that carry any of the findings, each once, ascending, with small pictures of every arm."""
    why: dict[int, dict[str, list[str]]] = {}
    for finding in findings:
        for one in finding.evidence.carrying:
            for reason in one.why.split(", "):
                why.setdefault(one.day, {}).setdefault(reason, []).append(finding.measure)
    tanks = shown_tanks(trial)
    made = moments(trial, photos_by_tank(trial, measured, tanks)) if why else []
    rows = []
    for day in sorted(why):
        at = next((one for one in made if int(one.day) == day), None)
        if at is not None:
            shown = tuple(
                (tank_said(trial, tank), _still(trial, tank, at.shown[tank], at, fit=SMALL_PX)) for tank in tanks
            )
            reasons = tuple((reason, ", ".join(dict.fromkeys(of))) for reason, of in why[day].items())
            rows.append(CarryingRow(day, _words(trial, at, made), reasons, shown))
    return tuple(rows)


def chosen(made: Sequence[Moment], *, baseline_days: float) -> list[Moment]:
    """Choose up to ROWS moments, evenly: first, the first with its regimes, last, and between; whole ones first.

    Around each wanted day the nearest moment is taken at which every tank has a photo of its own, at most two moments
    away; else the wanted one, which then says that it is held.
    """
    if not made:
        return []
    last = len(made) - 1
    wanted = {round(i * last / (ROWS - 1)) for i in range(ROWS)}
    begin = next((i for i, one in enumerate(made) if one.day >= baseline_days), 0)
    if baseline_days > 0 and begin:
        inner = [i for i in wanted if i not in (0, last)]
        if inner and begin not in wanted:
            wanted.remove(min(inner, key=lambda i: abs(i - begin)))
        wanted.add(begin)
    places = {_nearest_whole(made, place) for place in wanted}
    return [made[place] for place in sorted(places)]


def _nearest_whole(made: Sequence[Moment], place: int) -> int:
    for away in (0, 1, -1, 2, -2):
        if 0 <= place + away < len(made) and not any(one.held for one in made[place + away].shown.values()):
            return place + away
    return place


def _words(trial: Trial, moment: Moment, made: Sequence[Moment]) -> str:
    phase = "baseline" if moment.day < trial.baseline_days else ""
    step = made[1].day - made[0].day if len(made) > 1 else 1.0
    if not phase and trial.baseline_days > 0 and moment.day - trial.baseline_days < max(1.0, step):
        phase = "the regimes begin"
    label = moment.label[:1].upper() + moment.label[1:]
    return ", ".join(part for part in (label, f"{date_of(moment.day, trial)}", phase) if part)


def _still(trial: Trial, tank: str, shown: Shown, moment: Moment, *, fit: tuple[int, int] = FIT_PX) -> Still:
    seen = pane_of(trial, tank)
    arm = tank_said(trial, tank)
    if shown.photo is None or seen is None:
        return Still("", f"{arm}: no photo")
    image = picture(shown.photo, *seen, fit)
    buffer = io.BytesIO()
    image.save(buffer, "JPEG", quality=QUALITY, optimize=True, subsampling=0)
    alt = f"{'Rendered picture' if trial.rendered else 'Photo'} of {arm} on {moment.label}"
    return Still(
        data=f"data:image/jpeg;base64,{base64.b64encode(buffer.getvalue()).decode('ascii')}",
        alt=alt,
        width=image.width,
        height=image.height,
        note=_note(shown),
    )


def _note(shown: Shown) -> str:
    if shown.held and shown.photo is not None:
        why = kind_of(shown.flags[0]) if shown.flags else "no photo then"
        return f"{why}; {day_words(math.floor(shown.photo.day), 1.0)} shown"
    return f"flagged: {'; '.join(shown.flags)}" if shown.flags else ""
