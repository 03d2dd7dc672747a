"""The head of a frame: title, factor, the mark of a demo, and the day."""

from __future__ import annotations

from littoral.publish.film.drawing import Pen
from littoral.publish.film.layout import FilmLayout
from littoral.publish.look import DARK
from littoral.publish.moments import Moment, day_words
from littoral.trial.model import Trial

DEMO = "rendered demo, not a real tank"
BASELINE = "baseline: all tanks alike"
SQUARE_TITLE = 620
"""Width of the title beside the day in a square frame."""
BEGIN_DAYS = 2.0
"""How long after the baseline "the regimes begin" stands in the frame, in days."""


def draw_header(pen: Pen, trial: Trial, layout: FilmLayout) -> None:
    """Write what does not change: the title, the factor and when day 0 was, and whether this is a demo."""
    head = layout.header
    about = f"{trial.factor}; day 0 is {trial.start:%Y-%m-%d}"
    if layout.format == "landscape":
        size = next((size for size in (52, 46, 40) if pen.width(trial.title, size=size) <= 1300), 36)
        pen.write((head.left, 76), pen.cut(trial.title, size=size, width=1300), size=size)
        factor = pen.cut(about, size=30, width=860)
        pen.write((head.left, 128), factor, size=30, fill=DARK.soft)
        if trial.rendered:
            after = head.left + pen.width(factor, size=30) + 36
            pen.write((after, 128), DEMO, size=30, fill=DARK.warning)
        return
    if layout.format == "portrait":
        size = next((size for size in (56, 50, 44, 38) if pen.width(trial.title, size=size) <= head.width), 32)
        pen.write((head.left, 76), pen.cut(trial.title, size=size, width=head.width), size=size)
        demo = pen.width(DEMO, size=26) + 30 if trial.rendered else 0.0
        factor = pen.cut(about, size=26, width=head.width - demo)
        pen.write((head.left, 122), factor, size=26, fill=DARK.soft)
        if trial.rendered:
            pen.write((head.left + pen.width(factor, size=26) + 30, 122), DEMO, size=26, fill=DARK.warning)
        return
    one = pen.width(trial.title, size=44) <= SQUARE_TITLE
    lines = pen.lines(trial.title, size=44 if one else 34, width=SQUARE_TITLE, most=2)
    for row, line in enumerate(lines):
        pen.write((head.left, 60 if one else 44 + 37 * row), line, size=44 if one else 34)
    pen.write((head.left, 118), pen.cut(about, size=24, width=SQUARE_TITLE), size=24, fill=DARK.soft)
    if trial.rendered:
        pen.write((head.left, 149), DEMO, size=24, fill=DARK.warning)


def draw_day(pen: Pen, trial: Trial, layout: FilmLayout, moment: Moment, step: float) -> None:
    """Write the day, at a place that does not move with its digits, and what the trial is doing then."""
    remark, colour = _remark(trial, moment)
    right = layout.header.right
    longest = day_words(trial.length_days, step)
    if layout.format == "portrait":
        size = 84 if pen.width(longest, size=84) < 0.62 * layout.header.width else 60
        pen.write((layout.header.left, 214), moment.label, size=size)
        pen.write((right, 214), remark, size=28, fill=colour, anchor="rs")
        return
    size = 84 if layout.format == "landscape" else 66
    while size > 40 and pen.width(longest, size=size) > 0.38 * layout.header.width:
        size -= 4
    left = right - pen.width(longest, size=size)
    high = layout.format == "landscape"
    pen.write((left, 88 if high else 76), moment.label, size=size)
    pen.write((right, 134 if high else 120), remark, size=28 if high else 25, fill=colour, anchor="rs")


def _remark(trial: Trial, moment: Moment) -> tuple[str, str]:
    began = moment.day - trial.baseline_days
    if moment.day < trial.baseline_days:
        return BASELINE, DARK.soft
    if trial.baseline_days > 0 and began < BEGIN_DAYS:
        return "the regimes begin", DARK.ink
    return f"of {trial.length_days:g} days", DARK.soft
