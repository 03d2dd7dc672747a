"""Composing stills: the tanks by day on one canvas, with their words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from PIL import Image

from littoral.errors import LittoralError
from littoral.findings.measured import Measured
from littoral.publish.film.drawing import Pen
from littoral.publish.film.frames import film_texts
from littoral.publish.film.header import DEMO
from littoral.publish.film.pictures import Originals, PictureMaker
from littoral.publish.flags import kind_of
from littoral.publish.lettering import Lettering
from littoral.publish.look import DARK, LIGHT, Paper, arm_look
from littoral.publish.moments import Moment, day_words, moments
from littoral.publish.panes import crop_box, pane_of, photos_by_tank, shown_tanks
from littoral.publish.still.alt import still_alt
from littoral.publish.still.arrows import MOST_ROWS, Pointed, placed, rows_needed, stands_pointed
from littoral.publish.still.options import SIZES, Arrow, StillOptionError, StillOptions
from littoral.publish.still.scale_bar import bar_cm
from littoral.publish.words import tanks_counted
from littoral.trial.model import Pane, Trial, View
from littoral.trial.periods import arm_on

MARGIN = 44.0
HEAD = 122.0
FOOT = 62.0
LABEL = 52.0
"""Above each picture, for its arm and day."""
NAMES_ROW = 66.0
"""Height of one row of names over a picture, two lines each."""
NAME = 23.0
GAP = 18.0
GRID_DAYS = 4
"""Days of a grid where none are named."""


class NoPictureError(LittoralError):
    """A trial without any photo that could be shown."""

    def __init__(self) -> None:
        super().__init__("No tank of this trial has a photo yet, so there is no still to make.")


@dataclass(frozen=True, slots=True)
class StillPicture:
    """A still: the picture (RGB), its alternative text, and the days it shows."""

    picture: Image.Image
    alt: str
    days: tuple[float, ...]


def make_still(
    trial: Trial, measured: Measured, options: StillOptions, *, originals: Originals | None = None
) -> StillPicture:
    """Return a still of photos. Raises NoPictureError without photos, StillOptionError for a day or tank there is not.

    `originals` is needed for the originals' look.
    """
    tanks = tuple(shown_tanks(trial))
    made = moments(trial, photos_by_tank(trial, measured, tanks))
    if not made:
        raise NoPictureError
    chosen = _chosen(made, options)
    step = made[1].day - made[0].day if len(made) > 1 else 1.0
    return _Still(trial, tanks, chosen, step, options, PictureMaker(options.look, originals)).made()


def _chosen(made: Sequence[Moment], options: StillOptions) -> tuple[Moment, ...]:
    """Return the moments to show: those of the days named, else first and last, four evenly, or the last whole one."""
    for day in options.days:
        if not made[0].day <= day < made[-1].day + 1:
            raise StillOptionError(
                f"Day {day:g} has no photo near it; photos are of {made[0].label} to {made[-1].label}."
            )
    named = [max((one for one in made if one.day <= day), key=lambda one: one.day) for day in options.days]
    whole = [one for one in made if not any(shown.held or shown.flags for shown in one.shown.values())] or list(made)
    if options.kind == "twin":
        return (named[-1] if named else whole[-1],)
    if options.kind == "pair":
        if len(made) == 1:
            raise StillOptionError(f"All photos are of {made[0].label}: before and after need two days. Show the twin.")
        return (named[0], named[-1]) if len(named) > 1 else (whole[0], named[0] if named else whole[-1])
    if named:
        return tuple({one.day: one for one in named}.values())
    count = min(GRID_DAYS, len(whole))
    places = sorted({round(place * (len(whole) - 1) / max(1, count - 1)) for place in range(count)})
    return tuple(whole[place] for place in places)


class _Still:
    """One still in the making."""

    def __init__(
        self,
        trial: Trial,
        tanks: tuple[str, ...],
        shown: tuple[Moment, ...],
        step: float,
        options: StillOptions,
        pictures: PictureMaker,
    ) -> None:
        self._trial, self._tanks, self._shown, self._step = trial, tanks, shown, step
        self._options, self._pictures = options, pictures
        self._paper: Paper = DARK if options.paper == "dark" else LIGHT
        self._width, self._height = SIZES[options.size]
        letters = Lettering([*film_texts(trial), *(one.words for one in options.arrows)])
        canvas = Image.new("RGB", options.pixels, self._paper.paper)
        self._pen = Pen(canvas, letters, float(options.scale))
        self._bar_cm: float | None = None

    def made(self) -> StillPicture:
        """Draw everything and return it."""
        self._frame()
        pointers = self._pointers()
        rows = self._rows(pointers)
        for (tank, moment), box in zip(self._cells(), self._boxes(rows), strict=False):
            self._cell(tank, moment, box, pointers.get(tank, []), rows)
        alt = still_alt(self._trial, self._tanks, self._shown, step=self._step, scale_cm=self._bar_cm)
        named = [f"An arrow in {self._trial.tanks[one.tank].name} says: {one.words}." for one in self._options.arrows]
        days = tuple(one.day for one in self._shown)
        return StillPicture(self._pen.picture, " ".join([alt, *named]), days)

    def _frame(self) -> None:
        pen, paper, trial = self._pen, self._paper, self._trial
        room = self._width - 2 * MARGIN
        size = next((one for one in (50, 44, 38, 34) if pen.width(trial.title, size=one) <= room), 30)
        pen.write((MARGIN, 62), pen.cut(trial.title, size=size, width=room), size=size, fill=paper.ink)
        days = [one.label.removeprefix("day ") for one in self._shown]
        when = f"day {days[0]}" if len(days) == 1 else f"days {', '.join(days)}"
        about = f"{trial.factor}; {when} of {trial.length_days:g}, day 0 is {trial.start:%Y-%m-%d}"
        pen.write((MARGIN, 104), pen.cut(about, size=26, width=room), size=26, fill=paper.soft)
        foot = f"{tanks_counted(trial)[:1].upper()}{tanks_counted(trial)[1:]}."
        if self._options.look == "original":
            foot += " Photos as they left the camera."
        y = self._height - 26
        if trial.rendered:
            pen.write((self._width - MARGIN, y), DEMO, size=24, fill=paper.warning, anchor="rs")
            room -= pen.width(DEMO, size=24) + 24
        pen.write((MARGIN, y), pen.cut(foot, size=24, width=room), size=24, fill=paper.soft)

    def _cells(self) -> list[tuple[str, Moment]]:
        """Return what stands in each cell; tank by tank, or day by day where that gives larger pictures."""
        if self._by_tank():
            return [(tank, moment) for tank in self._tanks for moment in self._shown]
        return [(tank, moment) for moment in self._shown for tank in self._tanks]

    def _pointers(self) -> Mapping[str, list[Pointed]]:
        if self._options.kind != "twin":
            if self._options.arrows:
                raise StillOptionError("Arrows are drawn on a twin still; leave them out, or choose that kind.")
            return {}
        found: dict[str, list[Pointed]] = {}
        for one in self._options.arrows:
            if one.tank not in self._tanks or pane_of(self._trial, one.tank) is None:
                raise StillOptionError(f"No tank {one.tank!r} is in this still; there are {', '.join(self._tanks)}.")
        for tank in self._tanks:
            seen = pane_of(self._trial, tank)
            if seen is None:
                continue
            own = [_pointed(one) for one in self._options.arrows if one.tank == tank]
            if self._options.labels:
                own += stands_pointed(self._trial, *seen, self._grown(tank, *seen))
            if own:
                found[tank] = own
        return found

    def _grown(self, tank: str, view: View, pane: Pane) -> dict[str, float]:
        """Return how high each stand reaches, as a share of its region's height, on the photo that is shown."""
        photo = self._shown[0].shown[tank].photo
        heights = {
            region.region: region.height_px
            for region in (photo.regions if photo is not None else ())
            if region.pane == tank and region.height_px is not None
        }
        shares = {}
        for region in pane.regions:
            ys = [y for _, y in region.polygon_px]
            if region.key in heights and max(ys) > min(ys):
                shares[region.key] = heights[region.key] / (max(ys) - min(ys))
        del view
        return shares

    def _rows(self, pointers: Mapping[str, Sequence[Pointed]]) -> int:
        """Return how many rows of names are needed over the pictures; 0 without names."""
        for rows in range(1, MOST_ROWS if pointers else 0):
            room = self._fit(rows)[2]
            if all(rows_needed([self._name(one)[1] for one in some], room) <= rows for some in pointers.values()):
                return rows
        return MOST_ROWS if pointers else 0

    def _grid(self) -> tuple[int, int]:
        """Return rows and columns."""
        tanks, days = len(self._tanks), len(self._shown)
        return (tanks, days) if self._by_tank() else (days, tanks)

    def _by_tank(self) -> bool:
        """Say whether each tank has a row of its own, rather than each day: whichever gives larger pictures."""
        tanks, days = len(self._tanks), len(self._shown)
        return self._height_at(tanks, days, 0) >= self._height_at(days, tanks, 0)

    def _ratio(self) -> float:
        ratios = []
        for tank in self._tanks:
            seen = pane_of(self._trial, tank)
            if seen is not None:
                left, top, right, bottom = crop_box(*seen, seen[0].frame_px)
                ratios.append((right - left) / (bottom - top))
        return max(ratios, default=2.0)

    def _height_at(self, rows: int, columns: int, names: int) -> float:
        across = (self._width - 2 * MARGIN - GAP * (columns - 1)) / columns
        down = (self._height - HEAD - FOOT - GAP * (rows - 1)) / rows - LABEL - NAMES_ROW * names
        return max(1.0, min(down, across / self._ratio()))

    def _fit(self, names: int) -> tuple[int, int, float, float]:
        """Return rows, columns, and each picture's width and height; twins stand where they become largest."""
        rows, columns = self._grid()
        if self._options.kind == "twin":
            count = len(self._tanks)
            ways = [(some, -(-count // some)) for some in range(1, count + 1)]
            rows, columns = max(ways, key=lambda way: (self._height_at(way[0], way[1], names), -way[0]))
        high = self._height_at(rows, columns, names)
        return rows, columns, high * self._ratio(), high

    def _boxes(self, names: int) -> list[tuple[float, float, float, float]]:
        """Return each picture's box (left, top, width, height), row by row, the whole centred."""
        rows, columns, width, high = self._fit(names)
        whole_across = columns * width + GAP * (columns - 1)
        each = LABEL + NAMES_ROW * names + high
        spare = self._height - HEAD - FOOT - rows * each - GAP * (rows - 1)
        left = (self._width - whole_across) / 2
        top = HEAD + spare / 2
        return [
            (
                left + column * (width + GAP),
                top + row * (each + GAP) + LABEL + NAMES_ROW * names,
                width,
                high,
            )
            for row in range(rows)
            for column in range(columns)
        ]

    def _cell(
        self, tank: str, moment: Moment, box: tuple[float, float, float, float], some: Sequence[Pointed], names: int
    ) -> None:
        left, top, width, high = box
        pen, paper = self._pen, self._paper
        shown, seen = moment.shown[tank], pane_of(self._trial, tank)
        self._label(tank, moment, left, top - NAMES_ROW * names - 14, width)
        if shown.photo is None or seen is None:
            pen.box(left, top, left + width, top + high, fill=paper.shade)
            said = "no photo yet" if seen is not None else "no photos of this tank"
            pen.write((left + width / 2, top + high / 2), said, size=28, fill=paper.soft, anchor="mm")
            return
        s = pen.scale
        at = (round(left * s), round(top * s))
        fit = (max(1, round((left + width) * s) - at[0]), max(1, round((top + high) * s) - at[1]))
        image = self._pictures.cut(shown.photo, *seen, fit)
        pen.picture.paste(image, (at[0] + (fit[0] - image.width) // 2, at[1] + fit[1] - image.height))
        if shown.held or shown.flags:
            pen.outline(left, top, left + width, top + high, fill=paper.warning, width=5)
        real_left, real_width = left + (fit[0] - image.width) / 2 / s, image.width / s
        real_top, real_high = top + (fit[1] - image.height) / s, image.height / s
        if self._options.kind == "twin":
            self._bar(seen[1], real_left, real_top, real_width, real_high)
        self._arrows(some, real_left, real_top, real_width, real_high)

    def _label(self, tank: str, moment: Moment, left: float, y: float, width: float) -> None:
        """Write the arm, its tank and the day over a picture, and whether the photo is not of that day."""
        pen, paper, trial = self._pen, self._paper, self._trial
        arm = arm_on(trial, tank, moment.day)
        look = arm_look(trial, arm.key)
        colour = look.on_dark if self._options.paper == "dark" else look.colour
        size = 32 if width > 420 else 25
        pen.shape((left + 13, y - 0.34 * size), look.shape, colour=colour, size=0.8 * size)
        day = moment.label if len(self._shown) > 1 else ""
        shown = moment.shown[tank]
        warning = ""
        if shown.photo is not None and (shown.held or shown.flags):
            why = kind_of(shown.flags[0]) if shown.flags else "no photo"
            warning = f"{why}; {day_words(shown.photo.day, self._step)} shown" if shown.held else why
        x, right = left + 38, left + width
        if day:
            pen.write((right, y), day, size=0.82 * size, fill=paper.ink, anchor="rs")
            right -= pen.width(day, size=0.82 * size) + 18
        for said, fill in ((arm.name, colour), (warning, paper.warning), (self._tank(tank, arm.name), paper.soft)):
            room = right - x
            if said and room > 60:
                small = size if fill == colour else 0.82 * size
                text = pen.cut(said, size=small, width=room)
                pen.write((x, y), text, size=small, fill=fill)
                x += pen.width(text, size=small) + 18

    def _tank(self, tank: str, arm: str) -> str:
        name = self._trial.tanks[tank].name
        return "" if name == arm else name

    def _bar(self, pane: Pane, left: float, top: float, width: float, high: float) -> None:
        """Draw the scale bar at a picture's lower right corner, where the tank's width is known."""
        if pane.width_cm is None:
            return
        length = bar_cm(pane.width_cm)
        self._bar_cm = length
        pen = self._pen
        long = width * length / pane.width_cm
        right, foot = left + width - 22, top + high - 20
        said = f"{length:g} cm"
        pen.box(right - long - 14, foot - 50, right + 14, foot + 12, fill="#101816")
        pen.box(right - long, foot - 4, right, foot, fill="#ffffff")
        for at in (right - long, right - 3):
            pen.box(at, foot - 12, at + 3, foot + 6, fill="#ffffff")
        pen.write((right - long / 2, foot - 16), said, size=26, fill="#ffffff", anchor="ms")

    def _name(self, one: Pointed) -> tuple[list[str], float]:
        """Return a name in the one or two lines that make it narrowest, and how wide it then is."""
        words = one.words.split()
        ways = [[" ".join(words)], *([" ".join(words[:cut]), " ".join(words[cut:])] for cut in range(1, len(words)))]
        sized = [(max(self._pen.width(line, size=NAME) for line in way), place) for place, way in enumerate(ways)]
        width, place = min(sized)
        if sized[0][0] < 110:
            width, place = sized[0]
        return ways[place], width

    def _arrows(self, some: Sequence[Pointed], left: float, top: float, width: float, high: float) -> None:
        pen, paper = self._pen, self._paper
        if not some:
            return
        named = [self._name(one) for one in some]
        stand = placed(some, [wide for _, wide in named], room=width)
        for one in stand:
            start = (left + one.middle, top - 8 - NAMES_ROW * one.row)
            end = (left + one.pointed.across * width, top + one.pointed.down * high)
            share = (top - start[1]) / max(1.0, end[1] - start[1])
            edge = (start[0] + share * (end[0] - start[0]), top)  # where the arrow comes into the picture
            pen.line(start, edge, colour=paper.soft, width=2)
            pen.arrow(edge, end, colour="#ffffff", edge="#101816")
        for one, (lines, wide) in zip(stand, named, strict=True):
            x, foot = left + one.middle, top - 14 - NAMES_ROW * one.row
            height = 26.0 * len(lines)
            pen.box(x - wide / 2 - 6, foot - height + 2, x + wide / 2 + 6, foot + 6, fill=paper.paper)  # over the lines
            for row, line in enumerate(reversed(lines)):
                pen.write((x, foot - 26 * row), line, size=NAME, fill=paper.ink, anchor="ms")


def _pointed(arrow: Arrow) -> Pointed:
    return Pointed(arrow.words, arrow.across, arrow.down)
