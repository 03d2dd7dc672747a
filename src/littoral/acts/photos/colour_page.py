"""Is it the plant, or the camera: what the page and the command say about the colour of each stand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from littoral.acts.choosing import chosen_trial
from littoral.acts.page_charts import charts_by_width
from littoral.acts.photos.colour_words import answer_words, first_of
from littoral.acts.photos.photo_marks import gate_de, photo_marks
from littoral.errors import Fault, FaultsError, extras_needed
from littoral.findings.camera_advice import what_would_settle
from littoral.findings.measured import Measured
from littoral.findings.measuring import measure_photos
from littoral.findings.photo_course import Course, courses
from littoral.findings.photo_digits import written
from littoral.findings.photo_measures import by_key
from littoral.findings.plant_or_camera import StandColour, plant_or_camera
from littoral.findings.showing import effect_said, ranged
from littoral.logbook.book import Logbook
from littoral.progress import Progress
from littoral.publish.camera_chart import camera_chart
from littoral.publish.chart import Chart
from littoral.publish.course_chart import course_chart
from littoral.publish.look import on_dark
from littoral.speech.say import say
from littoral.trial.entries import Entry
from littoral.trial.model import Trial


@dataclass(frozen=True, slots=True)
class GatedPhoto:
    """A photo whose colours are not trusted: its residual on the references (ΔE00, None where unknown), and why."""

    photo: str
    view: str
    view_name: str
    day: float
    residual: float | None
    why: str


@dataclass(frozen=True, slots=True, eq=False)
class ColourPage:
    """The answer for each stand, what is left of the camera on each photo, and the charts by width (none if unasked).

    `gate` is the residual beyond which a photo's colours are not trusted, `unchecked` counts photos on which nothing
    could be checked; `left` holds the residuals' course per tank. Residuals are ΔE00.
    """

    trial: Trial
    stands: tuple[StandColour, ...]
    left: tuple[Course, ...]
    gate: float
    gated: tuple[GatedPhoto, ...]
    photos: int
    unchecked: int
    settle: tuple[str, ...]
    charts: tuple[Mapping[int, Chart], ...]
    on_dark: Mapping[str, str]

    def effect(self, colour: StandColour) -> str:
        """Return a stand's difference with the interval that its answer rests on as text, "" without one."""
        claim = colour.finding.claim
        if claim is not None and not colour.finding.effect_words:
            return ranged("redness", claim.value, claim.low, claim.high, level=colour.finding.level, currency="")
        return effect_said(colour.finding, currency=self.trial.currency)

    @property
    def first(self) -> StandColour | None:
        """The stand that is answered about first; its chart is the page's picture."""
        return first_of(self.stands)

    @property
    def answer(self) -> tuple[str, ...]:
        """The answer in one or two sentences."""
        return answer_words(self.trial, [(one, self.effect(one)) for one in self.stands])

    @property
    def carded(self) -> bool:
        """Whether a card is drawn in any view."""
        panes = (pane for view in self.trial.views.values() for pane in view.panes)
        return any(region.kind == "card" for pane in panes for region in pane.regions)

    def as_json(self) -> dict[str, Any]:
        """Return it as plain data; a*, ΔE00, days since day 0."""
        return {
            "trial": self.trial.key,
            "title": self.trial.title,
            "rendered": self.trial.rendered,
            "answer": list(self.answer),
            "gate": self.gate,
            "photos": self.photos,
            "unchecked": self.unchecked,
            "stands": [_stand_json(self, one) for one in self.stands],
            "left_of_the_camera": [course_json(one) for one in self.left],
            "over_the_gate": [
                {**asdict(one), "day": round(one.day, 3), "residual": written(one.residual)} for one in self.gated
            ],
            "what_would_settle_it": list(self.settle),
        }


def _stand_json(page: ColourPage, one: StandColour) -> dict[str, Any]:
    finding, difference = one.finding, one.difference
    by_day = None
    if difference is not None:
        by_day = {
            "day": [round(float(day), 3) for day in difference.day],
            "value": [written(float(value)) for value in difference.value],
            "half_of_two_photos": [written(float(half)) for half in difference.half],
            "camera_band": written(difference.band),
            "around": written(difference.centre),
            "outside": one.outside,
            "in_one_frame": [bool(value) for value in difference.together],
            "half_if_apart": [round(float(half), 3) for half in difference.apart],
            "together": one.together,
        }
    return {
        "stand": one.stand,
        "name": one.name,
        "short": one.short,
        "asked_beforehand": one.asked,
        "rule": finding.rule,
        "wording": finding.wording,
        "detail": finding.detail,
        "rule_text": finding.rule_text,
        "effect": finding.effect,
        "low": finding.low,
        "high": finding.high,
        "effect_words": page.effect(one),
        "level": finding.level,
        "change": None if finding.change is None else asdict(finding.change),
        "camera": {
            "least_claimed": one.least,
            "half_of_one_photo": written(one.photo_half),
            "repeat_shots": {
                tank: {"sd": written(error.sd), "freedom": error.freedom} for tank, error in one.repeats.items()
            },
            "calibrated": finding.absolute,
        },
        "tanks": [asdict(change) for change in one.changes],
        "by_day": by_day,
        "left_open": one.left_open,
    }


def course_json(course: Course) -> dict[str, Any]:
    """Return a course as plain data, with the 95 % half-width of each photo; days to a minute or two."""
    repeats = course.camera.repeats
    return {
        "arm": course.arm,
        "tank": course.tank,
        "region": course.region,
        "start": written(course.start),
        "end": written(course.end),
        "trims": [round(day, 3) for day in course.trims],
        "camera": {
            "half": written(course.camera.half),
            "doubt": course.camera.doubt,
            "repeats": None if repeats is None else {"sd": written(repeats.sd), "freedom": repeats.freedom},
            "scatter": written(course.camera.scatter),
        },
        "photos": [
            {
                **asdict(point),
                "day": round(point.day, 3),
                "value": written(point.value),
                "error": written(point.error),
                "half": written(course.half_of(point)),
            }
            for point in course.points
        ],
    }


@extras_needed()
def see_colour(
    folder: Path, trial_key: str | None = None, *, progress: Progress | None = None, of: str = "", charts: bool = True
) -> ColourPage:
    """Return plant or camera for every stand of a trial, or one (`of`); photos not measured yet are measured first.

    Raises NoTrialError, and FaultsError where there is no such stand.
    """
    with Logbook.open(folder) as book:
        trial = book.trial(chosen_trial(book, trial_key))
        if of and of not in trial.stands:
            right = f"The stands are {', '.join(trial.stands) or 'none'}."
            raise FaultsError([Fault(f'"{of[:60]}" is no stand of this trial.', right, "of")])
        measured = measure_photos(book, trial, progress=progress)
        if progress is not None:
            progress(0, 1, say("asking about the colour of each stand"))
        gate = gate_de()
        marks = photo_marks(measured)
        stands = plant_or_camera(book, trial, measured, marks=marks)
        page = colour_page_of(trial, measured, book.entries(trial.key), stands, marks=marks, gate=gate, charts=charts)
    if not of:
        return page
    return replace(page, stands=tuple(one for one in page.stands if one.stand == of))


def colour_page_of(
    trial: Trial,
    measured: Measured,
    entries: Sequence[Entry],
    stands: tuple[StandColour, ...],
    *,
    marks: Mapping[str, tuple[str, ...]],
    gate: float,
    charts: bool,
) -> ColourPage:
    """Return the page of what was found; `marks` says by entry id what is wrong with photos, `gate` is in ΔE00."""
    camera = by_key(measured).get("camera")
    gated = tuple(
        GatedPhoto(
            photo=photo.entry_id,
            view=photo.view,
            view_name=trial.views[photo.view].name,
            day=photo.day,
            residual=photo.colour_residual,
            why="; ".join(marks.get(photo.entry_id, ())) or "more is left than a camera explains",
        )
        for photo in sorted(measured.photos, key=lambda one: one.day)
        if photo.colour_residual is not None and photo.colour_residual > gate
    )
    over = {one.photo: ("over the gate",) for one in gated}
    left = () if camera is None else courses(trial, measured, entries, camera, "", marks=over)
    named = "The level line is the gate: photos above it are kept and marked, and count with their larger doubt."

    def draw(width_px: float) -> Mapping[str, Chart]:
        found = [camera_chart(trial, one, width_px=width_px) for one in stands]
        if camera is not None:
            found.append(course_chart(trial, camera, {"": left}, width_px=width_px, rule=(gate, named)))
        return {chart.key: chart for chart in found if chart is not None}

    return ColourPage(
        trial=trial,
        stands=stands,
        left=left,
        gate=gate,
        gated=gated,
        photos=len(measured.photos),
        unchecked=sum(photo.colour_residual is None for photo in measured.photos),
        settle=what_would_settle(trial, measured, entries, gate=gate),
        charts=charts_by_width(draw) if charts else (),
        on_dark=on_dark(),
    )
