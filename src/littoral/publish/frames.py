"""Composing the film's frames: the tanks side by side, the day, what each arm gets, and where in the trial we are."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from PIL import Image, ImageDraw

from littoral.publish.encode import SIZE
from littoral.publish.film_layout import BAND, MARGIN, Cell, film_layout
from littoral.publish.flags import kind_of
from littoral.publish.lettering import Lettering
from littoral.publish.look import DARK, arm_look
from littoral.publish.moments import Moment, Shown, day_words
from littoral.publish.panes import crop_box, pane_of, picture
from littoral.publish.words import regime_words
from littoral.trial.model import Trial
from littoral.trial.periods import arm_on
from littoral.trial.regime_on import regime_on

TRACK_Y = 1016
TRIMS_PX = 44
"""Height above the progress line for the rows of trims, one for each tank."""
NARROW = 340
"""Boxes narrower than this have no room for words inside."""
DEMO = "rendered demo, not a real tank"
BASELINE = "baseline: all tanks alike"
BEGIN_DAYS = 2.0
"""How long after the baseline "the regimes begin" stands in the frame, in days."""


@dataclass(frozen=True, slots=True)
class Events:
    """Days (since the start) of what the progress line marks, keyed by tank."""

    trims: Mapping[str, Sequence[float]] = field(default_factory=dict)
    changes: Mapping[str, Sequence[float]] = field(default_factory=dict)


class FrameMaker:
    """Makes the frames of one film. What does not change is drawn once for each phase.

    `remark` is said in every frame where the foot has room: what is wrong with most photos."""

    def __init__(self, trial: Trial, tanks: Sequence[str], events: Events, *, step: float, remark: str = "") -> None:
        self._trial = trial
        self._tanks = tuple(tanks)
        self._events = events
        self._step = step
        self._remark = remark
        self._cells = film_layout([_ratio(trial, tank) for tank in tanks])
        self._letters = Lettering(self._texts())
        self._grounds: dict[bool, Image.Image] = {}

    def frame(self, moment: Moment) -> Image.Image:
        """Return the whole frame of a moment, RGB, SIZE pixels."""
        baseline = moment.day < self._trial.baseline_days
        if baseline not in self._grounds:
            self._grounds[baseline] = self._ground(moment.day)
        frame = self._grounds[baseline].copy()
        draw = ImageDraw.Draw(frame)
        for tank, cell in zip(self._tanks, self._cells, strict=True):
            self._pane(frame, draw, tank, cell, moment.shown[tank])
        self._day(draw, moment, baseline)
        self._head(draw, moment.day)
        return frame

    def _texts(self) -> list[str]:
        trial = self._trial
        texts = [trial.title, trial.factor, trial.currency, *(tank.name for tank in trial.tanks.values())]
        texts += [arm.name for arm in trial.arms] + [bottle.name for bottle in trial.bottles.values()]
        texts += [regime_words(trial, key) for key in (None, *trial.regimes)]
        return texts

    def _write(
        self,
        draw: ImageDraw.ImageDraw,
        at: tuple[float, float],
        text: str,
        *,
        size: int,
        fill: str = DARK.ink,
        anchor: str = "ls",
    ) -> None:
        # No typeface is sure to be there in bold, and stroked letters run together: size and colour say what counts.
        draw.text(at, self._letters.said(text), font=self._letters.font(size), fill=fill, anchor=anchor)

    def _ground(self, day: float) -> Image.Image:
        """Return the frame without pictures, day and playhead, for the phase that `day` is in."""
        trial, letters = self._trial, self._letters
        ground = Image.new("RGB", SIZE, DARK.paper)
        draw = ImageDraw.Draw(ground)
        title = letters.cut(trial.title, size_px=52, width_px=1300)
        self._write(draw, (MARGIN, 80), title, size=52)
        factor = letters.cut(f"{trial.factor}; day 0 is {trial.start:%Y-%m-%d}", size_px=32, width_px=860)
        self._write(draw, (MARGIN, 134), factor, size=32, fill=DARK.soft)
        if trial.rendered:
            after = MARGIN + letters.font(32).getlength(factor) + 36
            self._write(draw, (after, 134), DEMO, size=32, fill=DARK.warning)
        for tank, cell in zip(self._tanks, self._cells, strict=True):
            self._label(draw, tank, cell, day)
        self._track(draw)
        return ground

    def _label(self, draw: ImageDraw.ImageDraw, tank: str, cell: Cell, day: float) -> None:
        trial = self._trial
        arm = arm_on(trial, tank, day)
        look = arm_look(trial, arm.key)
        size, left = cell.name_px, cell.label_left
        soft = round(0.7 * size)
        y = cell.label_top + size - 2
        _swatch(draw, (left, y - 0.34 * size), look.on_dark, look.shape)
        name = self._letters.cut(arm.name, size_px=size, width_px=cell.label_width * 0.6)
        self._write(draw, (left + 44, y), name, size=size, fill=look.on_dark)
        after = left + 44 + self._letters.font(size).getlength(name) + 20
        room = left + cell.label_width - after
        if trial.tanks[tank].name != arm.name and room > 80:
            said = self._letters.cut(trial.tanks[tank].name, size_px=soft, width_px=room)
            self._write(draw, (after, y), said, size=soft, fill=DARK.soft)
        if trial.tanks[tank].vessel is None and arm.regime is None and trial.baseline_regime is None:
            return  # a pot or a well: nothing is dosed in any phase, so nothing is said of dosing
        regime = regime_on(trial, tank, day)
        words = f"now: {regime_words(trial, None if regime is None else regime.key)}"
        small = round(0.66 * size)
        lines = self._letters.lines(words, size_px=small, width_px=cell.label_width, most=cell.regime_lines)
        for row, line in enumerate(lines):
            self._write(draw, (left, y + 1.6 * small + 1.25 * small * row), line, size=small, fill=DARK.soft)

    def _pane(self, frame: Image.Image, draw: ImageDraw.ImageDraw, tank: str, cell: Cell, shown: Shown) -> None:
        seen = pane_of(self._trial, tank)
        if shown.photo is None or seen is None:
            draw.rectangle((cell.left, cell.top, cell.left + cell.width, cell.top + cell.height), fill=DARK.shade)
            said = "no photo yet" if seen is not None else "no photos of this tank"
            if cell.width < NARROW:
                self._band(draw, (cell.label_left, cell.label_top - BAND), cell.label_width, said)
                return
            middle = (cell.left + cell.width / 2, cell.top + cell.height / 2)
            self._write(draw, middle, said, size=32, fill=DARK.soft, anchor="mm")
            return
        image = picture(shown.photo, *seen, (cell.width, cell.height))
        frame.paste(image, (cell.left + (cell.width - image.width) // 2, cell.top + cell.height - image.height))
        if shown.held or shown.flags:
            whose = day_words(shown.photo.day, self._step)
            missing = kind_of(shown.flags[0]) if shown.flags else "no photo"
            said = f"{missing}; {whose} shown" if shown.held else f"{whose}: {missing}"
            self._band(draw, (cell.label_left, cell.label_top - BAND), cell.label_width, said)

    def _band(self, draw: ImageDraw.ImageDraw, at: tuple[int, int], width: int, said: str) -> None:
        """Say above a label, from (left, top) `at`, that its picture is not a good one of this day."""
        left, top = at
        size = 32 if width > 420 else 24
        draw.rectangle((left, top + 5, left + 7, top + BAND - 4), fill=DARK.warning)
        text = self._letters.cut(said, size_px=size, width_px=width - 24)
        self._write(draw, (left + 22, top + BAND / 2), text, size=size, fill=DARK.warning, anchor="lm")

    def _day(self, draw: ImageDraw.ImageDraw, moment: Moment, baseline: bool) -> None:
        right = SIZE[0] - MARGIN
        left = right - self._letters.font(84).getlength(day_words(self._trial.length_days, self._step))
        self._write(draw, (left, 92), moment.label, size=84)
        began = moment.day - self._trial.baseline_days
        if baseline:
            self._write(draw, (right, 144), BASELINE, size=28, fill=DARK.soft, anchor="rs")
        elif self._trial.baseline_days > 0 and began < BEGIN_DAYS:
            self._write(draw, (right, 144), "the regimes begin", size=30, fill=DARK.ink, anchor="rs")
        else:
            whole = f"of {self._trial.length_days:g} days"
            self._write(draw, (right, 144), whole, size=28, fill=DARK.soft, anchor="rs")

    def _x(self, day: float) -> float:
        return MARGIN + (SIZE[0] - 2 * MARGIN) * min(1.0, max(0.0, day / self._trial.length_days))

    def _track(self, draw: ImageDraw.ImageDraw) -> None:
        """Draw the progress line: the trial, its baseline, trims above (a row for each tank), water changes below."""
        trial = self._trial
        draw.rectangle((self._x(0), TRACK_Y - 3, self._x(trial.length_days), TRACK_Y + 3), fill=DARK.line)
        if trial.baseline_days > 0:
            draw.rectangle((self._x(0), TRACK_Y - 3, self._x(trial.baseline_days), TRACK_Y + 3), fill=DARK.soft)
            at = self._x(trial.baseline_days)
            draw.rectangle((at - 1, TRACK_Y - 18, at + 1, TRACK_Y + 18), fill=DARK.ink)
        words = [(self._x(0), "start", "ls")]
        row_px = min(22, TRIMS_PX // len(self._tanks))
        for row, tank in enumerate(reversed(self._tanks)):
            foot, half = TRACK_Y - 8 - row * row_px, row_px * 0.45  # tanks trimmed on one day stand one over the other
            colour = arm_look(trial, trial.arm_of(tank).key).on_dark
            for day in self._events.trims.get(tank, ()):
                x = self._x(day)
                draw.polygon(((x - half, foot - row_px + 4), (x + half, foot - row_px + 4), (x, foot)), fill=colour)
            for day in self._events.changes.get(tank, ()):
                x = self._x(day)
                draw.rectangle((x - 1, TRACK_Y + 8, x + 1, TRACK_Y + 18), fill=DARK.soft)
        if trial.baseline_days > 0:
            words.append((self._x(trial.baseline_days), "regimes begin", "ms"))
        if any(self._events.trims.values()) or any(self._events.changes.values()):
            words.append((self._x(trial.length_days), "triangle: trim; tick below: water change", "rs"))
        elif self._remark:
            words.append((self._x(trial.length_days), self._letters.cut(self._remark, size_px=22, width_px=900), "rs"))
        for x, said, anchor in words:
            self._write(draw, (x, TRACK_Y + 44), said, size=22, fill=DARK.soft, anchor=anchor)

    def _head(self, draw: ImageDraw.ImageDraw, day: float) -> None:
        x = self._x(day)
        draw.rectangle((self._x(0), TRACK_Y - 3, x, TRACK_Y + 3), fill=DARK.ink)
        draw.ellipse((x - 9, TRACK_Y - 9, x + 9, TRACK_Y + 9), fill=DARK.ink)


def _ratio(trial: Trial, tank: str) -> float:
    """Return width over height of a tank's picture; of a tank that no view shows, what a tank often has."""
    seen = pane_of(trial, tank)
    if seen is None:
        return 2.0
    left, top, right, bottom = crop_box(*seen, seen[0].frame_px)
    return (right - left) / (bottom - top)


def _swatch(draw: ImageDraw.ImageDraw, at: tuple[float, float], colour: str, shape: str) -> None:
    """Draw the arm's shape, the same that its chart lines end in."""
    x, y = at[0] + 15, at[1]
    if shape == "circle":
        draw.ellipse((x - 14, y - 14, x + 14, y + 14), fill=colour)
    elif shape == "square":
        draw.rectangle((x - 13, y - 13, x + 13, y + 13), fill=colour)
    elif shape == "triangle-up":
        draw.polygon(((x, y - 15), (x + 15, y + 12), (x - 15, y + 12)), fill=colour)
    else:
        draw.polygon(((x, y - 16), (x + 14, y), (x, y + 16), (x - 14, y)), fill=colour)
