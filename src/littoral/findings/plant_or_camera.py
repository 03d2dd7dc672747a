"""Is it the plant, or the camera? The colour of each stand by the rules of the findings, and what the camera makes.

Nothing is decided here: each stand is asked as a question about redness, through the same comparison, rules and words.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from littoral.findings.answers import answer
from littoral.findings.camera import Camera, redness_camera
from littoral.findings.camera_advice import left_open
from littoral.findings.measured import Measured
from littoral.findings.model import Finding, Interval, Rule
from littoral.findings.one_frame import SHARED_IN_FRAME
from littoral.findings.photo_course import Course, courses
from littoral.findings.photo_measures import KNOWN
from littoral.findings.repeats import REACH_95, RepeatError
from littoral.findings.rules import Numbers, decide
from littoral.findings.showing import ranged, sentence, shown
from littoral.findings.tank_values import value_of
from littoral.logbook.book import Logbook
from littoral.stats.compare import nearest_pairs
from littoral.stats.regression import TooFewPointsError
from littoral.stats.series import Series
from littoral.trial.entries import Entry
from littoral.trial.model import Question, Trial

REDNESS = next(one for one in KNOWN if one.key == "redness")
SHORT: Mapping[Rule, str] = {
    "not answered": "Not answered",
    "cannot tell": "Cannot tell",
    "not distinguishable from the camera": "It may be the camera",
    "no larger than": "No difference that matters",
}
"""A word for each rule that claims no difference; all others are MORE."""
MORE = "More than the camera makes"


@dataclass(frozen=True, slots=True, eq=False)
class DayDifference:
    """Second arm minus first arm in a*, by day, all shape (n,): `half` is what two single photos leave open (95 %).

    `band` is half of what no number of photos averages out, around `centre` (0, or the baseline's difference where
    only a change may be claimed); `centre` is None where there is nothing to hold against. `together` (n,) says where
    both values are of one photo: what the camera does to both is then not in `half`, and `apart` is what it would be
    otherwise.
    """

    day: NDArray[np.float64]
    value: NDArray[np.float64]
    half: NDArray[np.float64]
    band: float
    centre: float | None
    together: NDArray[np.bool_]
    apart: NDArray[np.float64]

    def outside(self, since_day: float) -> tuple[int, int]:
        """Return on how many days from `since_day` the difference leaves what the camera makes, and of how many."""
        after = self.day >= since_day
        if self.centre is None:
            return 0, int(after.sum())
        reach = np.hypot(self.band, self.half)
        return int((np.abs(self.value - self.centre) > reach)[after].sum()), int(after.sum())


@dataclass(frozen=True, slots=True)
class TankChange:
    """One tank's own change since the baseline in a*, with its interval at the finding's level, and a sentence."""

    arm: str
    tank: str
    change: Interval | None
    rule: Rule
    said: str


@dataclass(frozen=True, slots=True, eq=False)
class StandColour:
    """One stand: the finding, what it rests on by day, and the parts of the camera.

    `asked` says that the trial asked about it beforehand. `photo_half` is half of the 95 % that a single photo leaves
    open (median), `repeats` the spread of repeat shots by tank, `least` the smallest difference that is claimed, all
    a*; `left_open` says how much of the open is the camera's, `together` what one frame for both tanks makes surer.
    """

    stand: str
    name: str
    finding: Finding
    asked: bool
    short: str
    difference: DayDifference | None
    outside: str
    changes: tuple[TankChange, ...]
    courses: tuple[Course, ...]
    photo_half: float | None
    repeats: Mapping[str, RepeatError]
    least: float | None
    left_open: str
    together: str = ""


def colour_questions(trial: Trial) -> tuple[Question, ...]:
    """Return one question about redness for each stand that the trial does not ask about by itself."""
    own = {question.of for question in trial.questions if question.measure == "redness"}
    return tuple(
        Question(f"colour of {stand.key}", f"Is the {stand.name} redder, or is it the camera?", "redness", (stand.key,))
        for stand in trial.stands.values()
        if (stand.key,) not in own
    )


def plant_or_camera(
    book: Logbook, trial: Trial, measured: Measured, *, marks: Mapping[str, tuple[str, ...]]
) -> tuple[StandColour, ...]:
    """Return the answer for each stand, those that the trial asked about first.

    A question that was written down keeps its finding, as everywhere. The other stands are looked at afterwards, and
    share a 5 % chance of one false call among themselves (Holm). `marks` says what is wrong with single photos.
    """
    own = [question for question in trial.questions if question.measure == "redness" and len(question.of) == 1]
    found = {}
    if own:
        asked = {question.key: question.of[0] for question in own}
        for finding in answer(book, trial, measured=measured):
            if finding.question in asked:
                found[asked[finding.question]] = (finding, True)
    for finding in answer(book, replace(trial, questions=colour_questions(trial)), measured=measured):
        found[finding.question.removeprefix("colour of ")] = (finding, False)
    entries = book.entries(trial.key)
    return tuple(
        _stand(trial, measured, entries, stand, finding, asked=asked_, marks=marks)
        for stand, (finding, asked_) in found.items()
        if stand in trial.stands
    )


def _stand(
    trial: Trial,
    measured: Measured,
    entries: Sequence[Entry],
    stand: str,
    finding: Finding,
    *,
    asked: bool,
    marks: Mapping[str, tuple[str, ...]],
) -> StandColour:
    course = courses(trial, measured, entries, REDNESS, stand, marks=marks)
    halves = [half for one in course for point in one.used if (half := one.half_of(point)) is not None]
    difference = day_difference(trial, course, finding)
    views = {point.view for one in course for point in one.used}
    camera = redness_camera(trial, views, {one.tank for one in course})
    return StandColour(
        stand=stand,
        name=trial.stands[stand].name,
        finding=finding,
        asked=asked,
        short=SHORT.get(finding.rule, MORE),
        difference=difference,
        outside="" if difference is None else _outside_said(trial, difference),
        changes=tuple(_change(trial, one, finding) for one in course),
        courses=course,
        photo_half=float(np.median(halves)) if halves else None,
        repeats={one.tank: one.camera.repeats for one in course if one.camera.repeats is not None},
        least=finding.camera_term,
        left_open=left_open(trial, finding),
        together="" if difference is None else _together_said(difference, camera),
    )


def day_difference(trial: Trial, course: Sequence[Course], finding: Finding) -> DayDifference | None:
    """Return second arm minus first arm photo by photo (of several tanks per arm: their means by day); None without."""
    sides = [_of_arm([one for one in course if one.arm == arm.key]) for arm in trial.arms[:2]]
    if len(sides) < 2:
        return None
    (first_photos, (day_1, value_1, var_1)), (second_photos, (day_2, value_2, var_2)) = sides
    pairs = nearest_pairs(day_2, day_1)
    if not pairs:
        return None
    second, first = (np.array(places, dtype=int) for places in zip(*pairs, strict=True))
    before = finding.before.value if finding.before is not None else None
    together = np.array(
        [bool(second_photos and first_photos and second_photos[i] == first_photos[j]) for i, j in pairs], dtype=bool
    )
    apart = REACH_95 * np.sqrt(var_2[second] + var_1[first])
    return DayDifference(
        day=(day_2[second] + day_1[first]) / 2,
        value=value_2[second] - value_1[first],
        half=np.where(together, np.sqrt(1 - SHARED_IN_FRAME), 1.0) * apart,
        band=finding.camera_term or 0.0,
        centre=0.0 if finding.absolute else before,
        together=together,
        apart=apart,
    )


def _of_arm(some: Sequence[Course]) -> tuple[tuple[str, ...], tuple[NDArray[np.float64], ...]]:
    """Return an arm's photos, and days, values and squared errors: of one tank its photos, else means of whole days.

    The means of several tanks are of no single photo, so they name none.
    """
    every = []
    for one in some:
        rows = [(point.day, point.value, ((one.half_of(point) or 0.0) / REACH_95) ** 2) for point in one.used]
        every.append(np.array(rows, dtype=float).reshape(-1, 3))
    if not every:
        return (), tuple(np.empty((3, 0)))
    if len(every) == 1:
        return tuple(point.photo for point in some[0].used), tuple(every[0].T)
    days = [np.floor(rows[:, 0]) for rows in every]
    shared = sorted(set.intersection(*({float(day) for day in one} for one in days)))
    found = []
    for day in shared:
        of_tanks = [rows[at == day].mean(axis=0) for rows, at in zip(every, days, strict=True)]
        mean = np.mean(of_tanks, axis=0)
        found.append((mean[0], mean[1], mean[2] / len(of_tanks)))
    return (), tuple(np.array(found, dtype=float).reshape(-1, 3).T)


def _together_said(difference: DayDifference, camera: Camera) -> str:
    """Say how much surer a difference within one frame is, on a photo and on average; "" without such photos."""
    if not difference.together.any():
        return ""
    half, apart = (float(np.median(one[difference.together])) for one in (difference.half, difference.apart))
    said = (
        "Both tanks are in one frame, so one correction of the camera holds for both, and part of what it leaves "
        f"cancels: on one photo the difference is known to ± {half:.1f} a*, from two photos it would be "
        f"± {apart:.1f} a* (95 %)."
    )
    if not camera.absolute:
        return said
    return (
        f"{said} However many photos: each tank's redness may be off by ± {REACH_95 * camera.tank:.1f} a* by itself, "
        f"the difference between them by ± {REACH_95 * camera.difference:.1f} a*."
    )


def _outside_said(trial: Trial, difference: DayDifference) -> str:
    if difference.centre is None:
        return "There is no baseline to hold the difference against."
    count, of = difference.outside(trial.baseline_days)
    if of == 0:
        return "No day since the regimes began has photos of both arms."
    by_chance = "; camera and light alone do that on about 1 day in 20 on average" if count else ""
    since = " since the regimes began" if trial.baseline_days else ""
    days = f"{count} of {of} measured {'day' if of == 1 else 'days'}{since}"
    return f"The difference left what the camera can make of two photos on {days}{by_chance}."


def _change(trial: Trial, course: Course, finding: Finding) -> TankChange:
    """Return one tank's own change, decided by the rules as a difference is, and said as a description of this tank."""
    tank = trial.tanks[course.tank].name
    used = [point for point in course.used if point.value is not None]
    series = Series(
        tank,
        "a*",
        "level",
        np.array([point.day for point in used], dtype=float),
        np.array([point.value for point in used], dtype=float),
    )
    try:
        value = value_of("redness", series, (), change_day=trial.baseline_days)
    except TooFewPointsError as error:
        return TankChange(course.arm, course.tank, None, "not answered", f"{sentence(tank)}: {error}")
    if value.change is None or value.before is None:
        said = f"{sentence(tank)}: no baseline was photographed, so there is nothing to compare it with."
        return TankChange(course.arm, course.tank, None, "not answered", said)
    low, high = value.change.interval(finding.level)
    change = Interval(value.change.value, low, high)
    rule = decide(
        Numbers(
            effect=change,
            before=None,
            change=change,
            arm_values=(value.before.value, value.after.value),
            tanks_per_arm=1,
            smallest=None,
            camera_term=finding.camera_term,
            absolute=finding.absolute,
            spread=None,
        )
    )
    least = shown("redness", finding.camera_term or 0.0, doubt=finding.camera_term or 1.0)
    half = (high - low) / 2
    doubt = half if half > 0 else 1.0
    ends = [shown("redness", one.value, doubt=doubt, unit=False) for one in (value.before, value.after)]
    went = f"{sentence(tank)} went from {ends[0]} to {ends[1]} a*"
    by = ranged("redness", change.value, low, high, level=finding.level)
    if rule == "cannot tell":
        tail = "whether that is a change cannot be told"
    elif rule == "not distinguishable from the camera":
        tail = f"not distinguishable from the camera, which may differ by {least} by itself"
    else:
        tail = f"more than the {least} that the camera may make by itself; why, unknown"
    return TankChange(course.arm, course.tank, change, rule, f"{went}, a change of {by}: {tail}.")
