"""Composing the film's frames: the tanks, the day, what each arm gets, what happens, and where in the trial we are."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PIL import Image

from littoral.findings.measured import MeasuredPhoto
from littoral.publish.film.chart import ChartDrawer, FilmChart
from littoral.publish.film.drawing import Pen
from littoral.publish.film.header import draw_day, draw_header
from littoral.publish.film.layout import Box, Cell, FilmLayout, film_layout
from littoral.publish.film.options import FilmOptionError, FilmOptions
from littoral.publish.film.pictures import PictureMaker, Share, blended, zoom_part
from littoral.publish.film.track import Events, draw_head, draw_track
from littoral.publish.flags import kind_of
from littoral.publish.lettering import NO_BREAK, Lettering
from littoral.publish.look import DARK, arm_look
from littoral.publish.moments import Moment, Shown, day_words
from littoral.publish.panes import crop_box, pane_of
from littoral.publish.words import regime_words
from littoral.trial.model import Pane, Trial, View
from littoral.trial.periods import arm_on
from littoral.trial.regime_on import regime_on


def following_photos(made: Sequence[Moment], tanks: Sequence[str]) -> Mapping[str, Sequence[MeasuredPhoto | None]]:
    """Return for each tank and moment the first photo of its own that comes later; None after the last."""
    found: dict[str, list[MeasuredPhoto | None]] = {}
    for tank in tanks:
        coming: MeasuredPhoto | None = None
        back: list[MeasuredPhoto | None] = []
        for moment in reversed(made):
            back.append(coming)
            one = moment.shown[tank]
            if one.photo is not None and not one.held:
                coming = one.photo
        found[tank] = back[::-1]
    return found


class FrameMaker:
    """Makes the frames of one film. What does not change is drawn once for each phase.

    `remark` is said in every frame where the foot has room: what is wrong with most photos. `following` are the photos
    that gaps are cross-faded to, by tank, one for each of the film's moments (see `following_photos`).
    """

    def __init__(
        self,
        trial: Trial,
        tanks: Sequence[str],
        events: Events,
        *,
        step: float,
        remark: str = "",
        options: FilmOptions | None = None,
        chart: FilmChart | None = None,
        pictures: PictureMaker | None = None,
        following: Mapping[str, Sequence[MeasuredPhoto | None]] | None = None,
        letters: Lettering | None = None,
    ) -> None:
        self._trial = trial
        self._tanks = tuple(tanks)
        self._events = events
        self._step = step
        self._remark = remark
        self._options = options or FilmOptions()
        self._zooms = self._zoomed()
        self.layout: FilmLayout = film_layout(
            [_ratio(trial, tank) for tank in tanks],
            format=self._options.format,
            height_px=self._options.height_px,
            chart=chart is not None,
            zoom=self._zoom_ratio(),
        )
        self._pictures = pictures or PictureMaker()
        self._following = following or {}
        self.letters = letters or Lettering(film_texts(trial))
        box = self.layout.chart
        self._chart = ChartDrawer(chart, trial, box, self.layout.scale) if chart is not None and box else None
        self._grounds: dict[object, Image.Image] = {}

    def frame(self, moment: Moment, caption: str = "", place: int = -1) -> Image.Image:
        """Return the whole frame of a moment, RGB. `place` is its number among the film's moments, for cross-fading."""
        phase = self._phase(moment.day)
        if phase not in self._grounds:
            self._grounds = {phase: self._ground(moment.day)}
        frame = self._grounds[phase].copy()
        pen = Pen(frame, self.letters, self.layout.scale)
        for tank, cell in zip(self._tanks, self.layout.cells, strict=True):
            self._pane(pen, tank, cell, moment, place)
        draw_day(pen, self._trial, self.layout, moment, self._step)
        if self._options.captions and caption:
            self._caption(pen, caption)
        until = moment.day + self._step
        if self._chart is not None:
            self._chart.until(pen, until)
        draw_head(pen, self._trial, self._track_box(), moment.day + self._step / 2, self._chart)
        return frame

    def _track_box(self) -> Box:
        """Return the progress line's box, which lies under the chart's days where there is a chart."""
        track = self.layout.track
        if self._chart is None:
            return track
        return Box(self._chart.plot.left, track.top, self._chart.plot.width, track.height)

    def _phase(self, day: float) -> object:
        """Return what the ground depends on: the baseline or not, and which arm each tank has."""
        baseline = day < self._trial.baseline_days
        return baseline, tuple(arm_on(self._trial, tank, day).key for tank in self._tanks)

    def _zoomed(self) -> Mapping[str, Share]:
        """Return the part of each tank that is shown enlarged; FilmOptionError where no view shows the region."""
        key = self._options.zoom
        found = {}
        for tank in self._tanks if key else ():
            seen = pane_of(self._trial, tank)
            part = zoom_part(*seen, key) if seen is not None else None
            if part is not None:
                found[tank] = part
        if key and not found:
            drawn = dict.fromkeys(
                region.key
                for view in self._trial.views.values()
                for pane in view.panes
                for region in pane.regions
                if region.kind != "card"
            )
            raise FilmOptionError(f"No tank of the film shows {key!r} enlarged; drawn are {', '.join(drawn)}.")
        return found

    def _zoom_ratio(self) -> float | None:
        ratios = []
        for tank, part in self._zooms.items():
            ratios.append((part[2] - part[0]) / (part[3] - part[1]) * _ratio(self._trial, tank))
        return max(ratios) if ratios else None

    def _ground(self, day: float) -> Image.Image:
        """Return the frame without pictures, day and playhead, for the phase that `day` is in."""
        ground = Image.new("RGB", self._options.size, DARK.paper)
        pen = Pen(ground, self.letters, self.layout.scale)
        draw_header(pen, self._trial, self.layout)
        for tank, cell in zip(self._tanks, self.layout.cells, strict=True):
            self._label(pen, tank, cell, day)
        if self._chart is not None:
            self._chart.ground(pen)
        draw_track(pen, self._trial, self._tanks, self._events, self._track_box(), remark=self._remark)
        return ground

    def _label(self, pen: Pen, tank: str, cell: Cell, day: float) -> None:
        trial = self._trial
        arm = arm_on(trial, tank, day)
        look = arm_look(trial, arm.key)
        left, width = cell.label.left, cell.label.width
        tight = cell.label.left > cell.picture.right  # beside its picture: a narrow column
        room = (width - 44) * (1 if tight else 0.6)
        size = next((size for size in (38, 33) if pen.width(arm.name, size=size) <= room), 29)
        soft = 26
        y = cell.label.top + 34
        pen.shape((left + 15, y - 0.34 * size), look.shape, colour=look.on_dark, size=0.8 * size)
        name = pen.cut(arm.name, size=size, width=room)
        pen.write((left + 44, y), name, size=size, fill=look.on_dark)
        said = trial.tanks[tank].name
        if said != arm.name and tight:
            y += 34
            pen.write((left + 44, y), pen.cut(said, size=soft, width=width - 44), size=soft, fill=DARK.soft)
        elif said != arm.name:
            after = left + 44 + pen.width(name, size=size) + 20
            room = left + width - after
            if room > 80:
                pen.write((after, y), pen.cut(said, size=soft, width=room), size=soft, fill=DARK.soft)
        if trial.tanks[tank].vessel is None and arm.regime is None and trial.baseline_regime is None:
            return  # a pot or a well: nothing is dosed in any phase, so nothing is said of dosing
        regime = regime_on(trial, tank, day)
        words = f"now: {regime_words(trial, None if regime is None else regime.key)}".replace(" mL", f"{NO_BREAK}mL")
        small = 24
        for row, line in enumerate(pen.lines(words, size=small, width=width, most=cell.regime_lines)):
            pen.write((left, y + 1.5 * small + 1.25 * small * row), line, size=small, fill=DARK.soft)

    def _pane(self, pen: Pen, tank: str, cell: Cell, moment: Moment, place: int) -> None:
        seen, shown = pane_of(self._trial, tank), moment.shown[tank]
        box = cell.picture
        if shown.photo is None or seen is None:
            pen.box(box.left, box.top, box.right, box.bottom, fill=DARK.shade)
            said = "no photo yet" if seen is not None else "no photos of this tank"
            if box.width < 340:
                self._mark(pen, cell, said)
                return
            middle = (box.left + box.width / 2, box.top + box.height / 2)
            pen.write(middle, said, size=32, fill=DARK.soft, anchor="mm")
            return
        faded = self._fade(tank, moment, shown, place)
        self._paste(pen, seen, shown.photo, box, faded)
        if cell.zoom is not None and tank in self._zooms:
            self._paste(pen, seen, shown.photo, cell.zoom, faded, self._zooms[tank])
            zoom = cell.zoom
            pen.outline(zoom.left, zoom.top, zoom.right, zoom.bottom, fill=DARK.line, width=2)
        if shown.held or shown.flags:
            pen.outline(box.left, box.top, box.right, box.bottom, fill=DARK.warning, width=5)
            self._mark(pen, cell, self._gap_words(shown, faded))

    def _fade(self, tank: str, moment: Moment, shown: Shown, place: int) -> tuple[MeasuredPhoto, float] | None:
        """Return the photo to blend to and how far, where a gap is cross-faded; None where the last one is held."""
        photos = self._following.get(tank, ())
        if self._options.gaps != "cross-faded" or not shown.held or shown.photo is None or not 0 <= place < len(photos):
            return None
        after = photos[place]
        if after is None:
            return None
        middle = moment.day + self._step / 2
        share = (middle - shown.photo.day) / (after.day - shown.photo.day)
        return after, min(1.0, max(0.0, share))

    def _gap_words(self, shown: Shown, faded: tuple[MeasuredPhoto, float] | None) -> str:
        assert shown.photo is not None
        whose = day_words(shown.photo.day, self._step)
        missing = kind_of(shown.flags[0]) if shown.flags else "no photo"
        if faded is not None:
            return f"{missing}; blended from {whose} and {day_words(faded[0].day, self._step)}"
        return f"{missing}; {whose} shown" if shown.held else f"{whose}: {missing}"

    def _paste(
        self,
        pen: Pen,
        seen: tuple[View, Pane],
        photo: MeasuredPhoto,
        box: Box,
        faded: tuple[MeasuredPhoto, float] | None,
        part: Share = (0.0, 0.0, 1.0, 1.0),
    ) -> None:
        px = self.layout.px
        fit = (max(1, px(box.right) - px(box.left)), max(1, px(box.bottom) - px(box.top)))
        image = self._pictures.cut(photo, *seen, fit, part)
        if faded is not None:
            image = blended(image, self._pictures.cut(faded[0], *seen, fit, part), faded[1])
        at = (px(box.left) + (fit[0] - image.width) // 2, px(box.top) + (fit[1] - image.height))
        pen.picture.paste(image, at)

    def _mark(self, pen: Pen, cell: Cell, said: str) -> None:
        """Say, over the foot of a picture or above a narrow label, that it is not a good one of this day."""
        mark = cell.mark
        size = 28 if mark.width > 420 else 23
        text = pen.cut(said, size=size, width=mark.width - 40)
        right = mark.left + 40 + pen.width(text, size=size)
        pen.box(mark.left, mark.top, right, mark.bottom, fill=DARK.paper)
        pen.outline(mark.left, mark.top, right, mark.bottom, fill=DARK.warning, width=5)
        pen.write((mark.left + 20, mark.top + mark.height / 2), text, size=size, fill=DARK.warning, anchor="lm")

    def _caption(self, pen: Pen, caption: str) -> None:
        box = self.layout.caption
        size = 32
        most = max(1, int(box.height // 40))
        while size > 22 and len(pen.lines(caption, size=size, width=box.width - 36, most=9)) > most:
            size -= 2
        lines = pen.lines(caption, size=size, width=box.width - 36, most=most)
        pitch = 1.22 * size
        top = box.top + (box.height - pitch * len(lines)) / 2
        wide = max(pen.width(line, size=size) for line in lines)
        left = box.left + (box.width - wide) / 2
        pen.box(left - 18, top - 4, left - 12, top + pitch * len(lines) + 2, fill=DARK.ink)
        for row, line in enumerate(lines):
            pen.write((left, top + size * 0.92 + pitch * row), line, size=size, fill=DARK.ink)


def _ratio(trial: Trial, tank: str) -> float:
    """Return width over height of a tank's picture; of a tank that no view shows, what a tank often has."""
    seen = pane_of(trial, tank)
    if seen is None:
        return 2.0
    left, top, right, bottom = crop_box(*seen, seen[0].frame_px)
    return (right - left) / (bottom - top)


def film_texts(trial: Trial) -> list[str]:
    """Return what a trial's film writes, so that one typeface is chosen that has every letter."""
    texts = [trial.title, trial.factor, trial.currency, *(tank.name for tank in trial.tanks.values())]
    texts += [arm.name for arm in trial.arms] + [bottle.name for bottle in trial.bottles.values()]
    texts += [stand.name for stand in trial.stands.values()]
    return texts + [regime_words(trial, key) for key in (None, *trial.regimes)]
