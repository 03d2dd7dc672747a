"""What photos say over days: each measure, place by place, with what is left out and why, and the arms day by day."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from littoral.acts.choosing import chosen_trial
from littoral.acts.page_charts import charts_by_width
from littoral.acts.photos.colour_page import course_json
from littoral.acts.photos.photo_marks import gate_de, photo_marks
from littoral.errors import Fault, FaultsError, extras_needed
from littoral.findings.camera import ALGAE, redness_camera
from littoral.findings.measured import Measured
from littoral.findings.measuring import measure_photos
from littoral.findings.photo_course import Course, PhotoPoint, courses, places_of
from littoral.findings.photo_digits import digits_of, half_number, plain_number, unit_of, value_said, written
from littoral.findings.photo_measures import PhotoMeasure, by_key
from littoral.findings.repeats import FIELDS, REACH_95
from littoral.logbook.book import Logbook
from littoral.progress import Progress
from littoral.publish.chart import Chart
from littoral.publish.course_chart import course_chart, place_name
from littoral.publish.look import on_dark
from littoral.publish.spreadsheet import Cell, csv_text
from littoral.quantities.counting import counted
from littoral.trial.entries import Entry
from littoral.trial.model import Trial

COLUMNS = ("day", "arm", "tank", "place", "measure", "value", "half_95", "unit", "used", "why", "photo")
GATE = "The level line is the gate: photos above it are kept and marked, and count with their larger doubt."


@dataclass(frozen=True, slots=True, eq=False)
class PhotoSeries:
    """A trial with its measured photos, from which any measure is taken when asked for."""

    trial: Trial
    measured: Measured
    entries: Sequence[Entry]
    marks: Mapping[str, tuple[str, ...]]

    def chosen(self, measure: str = "", of: str = "") -> SeriesPage:
        """Return one measure at one place, or at all (`of` ""); FaultsError where there is none such.

        Without a measure it is the first that there is. A trial without any measured photo gives an empty page.
        """
        known = by_key(self.measured)
        if measure and measure not in known:
            right = f"Measured here: {', '.join(known) or 'nothing yet'}."
            raise FaultsError([Fault(f'"{measure[:60]}" is no measure of these photos.', right, "measure")])
        chosen = known[measure] if measure else next(iter(known.values()), None)
        places = () if chosen is None else places_of(self.measured, chosen)
        if of and of not in places:
            name = "nothing" if chosen is None else chosen.name
            right = f"{name[:1].upper()}{name[1:]} is measured on {', '.join(filter(None, places)) or 'whole photos'}."
            raise FaultsError([Fault(f'"{of[:60]}" has no such measure.', right, "of")])
        found = {
            place: courses(self.trial, self.measured, self.entries, chosen, place, marks=self.marks)
            for place in places
            if chosen is not None and of in ("", place)
        }
        return SeriesPage(self.trial, tuple(known.values()), chosen, places, of, found, len(self.measured.photos))


@dataclass(frozen=True, slots=True)
class DayValue:
    """One tank's value at one place on one day: text with doubt, the photo, and what is wrong with it."""

    place: str
    arm_place: int
    arm_name: str
    tank_name: str
    text: str
    point: PhotoPoint

    @property
    def why(self) -> str:
        """Why it is left out, and what is wrong with the photo; "" for nothing."""
        left_out = f"left out: {self.point.why}" if not self.point.used else ""
        return "; ".join(filter(None, (left_out, *self.point.marks)))


@dataclass(frozen=True, slots=True)
class Summary:
    """One tank's course in words: where it went, and beside it what the camera makes."""

    place: str
    arm_place: int
    arm_name: str
    tank_name: str
    went: str
    single: str
    repeats: str
    scatter: str
    photos: int
    left_out: int


@dataclass(frozen=True, slots=True, eq=False)
class SeriesPage:
    """One measure over days: `places` are all that have it, `of` the chosen one ("": all), `courses` by place."""

    trial: Trial
    measures: tuple[PhotoMeasure, ...]
    measure: PhotoMeasure | None
    places: tuple[str, ...]
    of: str
    courses: Mapping[str, tuple[Course, ...]]
    photos: int

    def name_of(self, place: str) -> str:
        """Return what a person calls a place."""
        return place_name(self.trial, place)

    def charts(self) -> tuple[Mapping[int, Chart], ...]:
        """Return the chart by width; nothing where nothing was measured."""
        measure = self.measure
        if measure is None or not any(one.used for some in self.courses.values() for one in some):
            return ()
        rule = (gate_de(), GATE) if measure.key == "camera" else None

        def draw(width_px: float) -> Mapping[str, Chart]:
            chart = course_chart(self.trial, measure, self.courses, width_px=width_px, rule=rule)
            return {} if chart is None else {chart.key: chart}

        return charts_by_width(draw)

    @property
    def on_dark(self) -> Mapping[str, str]:
        """For each colour of a chart, its colour on dark paper."""
        return on_dark()

    @property
    def days(self) -> tuple[int, ...]:
        """The whole days from 0 to the last with a photo."""
        last = max((math.floor(point.day) for point in self._points()), default=-1)
        return tuple(range(last + 1))

    @property
    def last_shared(self) -> int:
        """The last day on which every tank shown has a value that counts; the last day where there is none such."""
        shared: set[int] | None = None
        for some in self.courses.values():
            for one in some:
                days = {math.floor(point.day) for point in one.used}
                shared = days if shared is None else shared & days
        return max(shared or (self.days[-1:] or (0,)))

    def on(self, day: int) -> tuple[DayValue, ...]:
        """Return what every tank shows on one day, in the order of places and arms."""
        return tuple(
            DayValue(self.name_of(place), *self._whose(one), self.text(one, point), point)
            for place, some in self.courses.items()
            for one in some
            for point in one.points
            if math.floor(point.day) == day
        )

    def text(self, course: Course, point: PhotoPoint, *, unit: bool = True) -> str:
        """Return a photo's value with what it leaves open, in the measure's unit; "" without a value."""
        if point.value is None or self.measure is None:
            return ""
        return value_said(self.measure, point.value, course.half_of(point), doubt=_doubt(course), unit=unit)

    @property
    def doubt_said(self) -> str:
        """What the ± beside a value is, and whether it holds what all photos get wrong alike."""
        if self.measure is None or self.measure.residual:
            return ""
        cameras = [one.camera for some in self.courses.values() for one in some if one.camera.half is not None]
        kinds = {camera.doubt for camera in cameras}
        if not kinds:
            return ""
        if all(camera.common for camera in cameras):
            return "± holds 95 %: how far single photos scatter, and where a plant's foot and edges are taken to be"
        if kinds == {"stated with each photo"}:
            return "± is what one photo leaves open (95 %)"
        return "± is how far single photos scatter (95 %); what all of them get wrong alike comes on top"

    def summaries(self) -> tuple[Summary, ...]:
        """Return each tank's course beside what the camera makes of single photos."""
        found: list[Summary] = []
        measure = self.measure
        if measure is None:
            return ()
        unit = unit_of(measure)
        for place, some in self.courses.items():
            for one in some:
                camera, repeats = one.camera, one.camera.repeats
                digits = digits_of(measure, _doubt(one))
                went = ""
                if one.start is not None and one.end is not None:
                    by = plain_number(one.end - one.start, digits, signed=True)
                    went = f"{plain_number(one.start, digits)} to {plain_number(one.end, digits)} {unit} ({by})"
                half = None if camera.half is None else f"{max(camera.half, 10**-digits):.{digits}f}"
                shared = f" and {half_number(REACH_95 * camera.common, digits)} that all share" if camera.common else ""
                single = "" if half is None else f"± {half} {unit}, {camera.doubt}{shared}"
                said = "none taken" if measure.field in FIELDS else "–"
                if repeats is not None:
                    said = f"{half_number(repeats.sd, digits)} {unit}, from {counted(repeats.freedom, 'repeat')}"
                found.append(
                    Summary(
                        self.name_of(place),
                        *self._whose(one),
                        went=went,
                        single=single,
                        repeats=said,
                        scatter="" if camera.scatter is None else f"{half_number(camera.scatter, digits)} {unit}",
                        photos=len(one.used),
                        left_out=len(one.points) - len(one.used),
                    )
                )
        return tuple(found)

    def remarkable(self) -> tuple[DayValue, ...]:
        """Return the photos that are left out, or have something wrong that most have not, by day."""
        found = [
            DayValue(self.name_of(place), *self._whose(one), self.text(one, point), point)
            for place, some in self.courses.items()
            for one in some
            for point in one.points
            if not point.used or point.marks
        ]
        return tuple(sorted(found, key=lambda one: one.point.day))

    @property
    def floor(self) -> str:
        """What two arms may differ by in this measure however many photos are taken; "" where nobody measured that."""
        if self.measure is None or self.measure.key not in ("algae", "redness"):
            return ""
        tanks = {tank for arm in self.trial.arms[:2] for tank in arm.tanks}
        views = [key for key, view in self.trial.views.items() if any(pane.tank in tanks for pane in view.panes)]
        redness = redness_camera(self.trial, views, tanks)
        least, unit = (ALGAE.least, "points") if self.measure.key == "algae" else (redness.least, "a*")
        return f"However many photos are taken, two arms may differ by {least:g} {unit} by camera and light alone."

    def table(self) -> Mapping[int, list[list[tuple[str, PhotoPoint]]]]:
        """Return for every day a cell for each course, with what each of that day's photos says."""
        every = [one for some in self.courses.values() for one in some]
        rows: dict[int, list[list[tuple[str, PhotoPoint]]]] = {day: [[] for _ in every] for day in self.days}
        for at, one in enumerate(every):
            for point in one.points:
                if point.day >= 0:
                    rows[math.floor(point.day)][at].append((self.text(one, point, unit=False), point))
        return rows

    def as_json(self) -> dict[str, Any]:
        """Return it as plain data; values in the measure's unit, days since day 0."""
        measure = self.measure
        return {
            "trial": self.trial.key,
            "title": self.trial.title,
            "rendered": self.trial.rendered,
            "measures": [{"key": one.key, "name": one.name, "unit": one.unit} for one in self.measures],
            "measure": None if measure is None else measure.key,
            "name": None if measure is None else measure.name,
            "unit": None if measure is None else measure.unit,
            "floor": self.floor,
            "series": [course_json(one) for some in self.courses.values() for one in some],
        }

    def as_csv(self) -> str:
        """Return one line for each photo and place: day, tank, value, half of 95 %, whether it counts and why not."""
        unit = "" if self.measure is None else self.measure.unit
        key = "" if self.measure is None else self.measure.key
        rows: list[Sequence[Cell]] = []
        for place, some in self.courses.items():
            for one in some:
                for point in one.points:
                    half = None if point.value is None else one.half_of(point)
                    shots = f"mean of {point.shots} shots" if point.shots > 1 else ""
                    why = "; ".join(filter(None, (point.why, *point.marks, shots)))
                    used = "yes" if point.used else "no"
                    numbers = (written(point.value), written(half))
                    rows.append(
                        (round(point.day, 3), one.arm, one.tank, place, key, *numbers, unit, used, why, point.photo)
                    )
        return csv_text(COLUMNS, rows)

    def _points(self) -> list[PhotoPoint]:
        return [point for some in self.courses.values() for one in some for point in one.points]

    def _whose(self, course: Course) -> tuple[int, str, str]:
        place = next(at for at, arm in enumerate(self.trial.arms) if arm.key == course.arm)
        return place, self.trial.arms[place].name, self.trial.tanks[course.tank].name


def _doubt(course: Course) -> float:
    """Return what sets the digits of a course: half of what a photo leaves open, else a fiftieth of its start."""
    return course.camera.half or abs(course.start or 0.0) / 50 or 1.0


@extras_needed()
def photo_series(folder: Path, trial_key: str | None = None, *, progress: Progress | None = None) -> PhotoSeries:
    """Return what a trial's photos say, measured first where that was not done; NoLogbookError, NoTrialError."""
    with Logbook.open(folder) as book:
        trial = book.trial(chosen_trial(book, trial_key))
        measured = measure_photos(book, trial, progress=progress)
        return PhotoSeries(trial, measured, book.entries(trial.key), photo_marks(measured))
