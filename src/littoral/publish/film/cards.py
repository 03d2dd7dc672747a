"""The cards before and after the days: what was compared in how many tanks, and what was found, in its own words."""

from __future__ import annotations

from collections.abc import Sequence

from PIL import Image

from littoral.findings.model import Finding
from littoral.findings.showing import MINUS
from littoral.publish.film.drawing import Pen
from littoral.publish.film.header import DEMO
from littoral.publish.film.options import SIZES, FilmOptions
from littoral.publish.film.script import END_S, FPS
from littoral.publish.lettering import NO_BREAK, Lettering
from littoral.publish.look import DARK, arm_look
from littoral.publish.sheet_words import lead_words
from littoral.publish.words import regime_words, tanks_counted
from littoral.trial.design import design_of
from littoral.trial.model import Arm, Trial

MARGIN = 96
WORDS_A_SECOND = 5.0
"""How fast a card is read, about. Rule of thumb, no source; whoever needs longer can stop the film."""
MOST_S = 9.0
LARGEST, SMALLEST = 40, 28
"""Letter sizes of a finding's words, in units: the largest that fits, and the smallest before a further card begins."""


Block = tuple[list[str], list[str]]
"""A finding as lines: its question, and what may be said."""
Page = list[tuple[Finding, Block]]


class CardMaker:
    """Draws the cards of one film."""

    def __init__(self, trial: Trial, findings: Sequence[Finding], options: FilmOptions, letters: Lettering) -> None:
        self._trial = trial
        self._options = options
        self._width, self._height = SIZES[options.format]
        self._margin = MARGIN if options.format == "landscape" else 64
        self._scale = options.size[0] / self._width
        self._findings = sorted(findings, key=lambda one: not one.primary)
        self._letters = letters
        self._pages = self._paged()

    @property
    def end_frames(self) -> list[int]:
        """How many film frames each of the findings' cards stands: as long as its words take to be read."""
        words = [sum(len(f"{one.ask} {one.wording}".split()) for one, _ in page) for page in self._pages]
        return [round(FPS * min(MOST_S, max(END_S, count / WORDS_A_SECOND))) for count in words]

    @property
    def pages(self) -> list[list[Finding]]:
        """The findings on each card."""
        return [[one for one, _ in page] for page in self._pages]

    def title(self) -> Image.Image:
        """Return the card before the days: title, what was compared, the arms with what each gets, the design."""
        trial, pen = self._trial, self._pen()
        room = self._width - 2 * self._margin
        size = 84 if self._options.format == "landscape" else 68
        lines = pen.lines(trial.title, size=size, width=room, most=3)
        body = 34
        lead = pen.lines(lead_words(trial), size=body, width=room, most=5)
        design = design_of(trial)
        said = f"{design.name[:1].upper()}{design.name[1:]}; {tanks_counted(trial)}. {design.cannot}"
        limits = pen.lines(said, size=28, width=room, most=6)
        told = [self._told(pen, arm, room) for arm in trial.arms]
        arms_high = sum(76 + 32 * len(lines) for lines in told)
        high = 1.12 * size * len(lines) + 40 + 1.35 * body * len(lead) + 46 + arms_high
        high += 34 + 1.35 * 28 * len(limits)
        y = max(70.0, (self._height - high) / 2)
        if trial.rendered:
            pen.write((self._margin, y - 14), DEMO, size=30, fill=DARK.warning)
            y += 12
        for line in lines:
            y += 1.12 * size
            pen.write((self._margin, y), line, size=size)
        y += 40
        for line in lead:
            pen.write((self._margin, y + body), line, size=body, fill=DARK.soft)
            y += 1.35 * body
        y += 46
        for arm, lines in zip(trial.arms, told, strict=True):
            self._arm(pen, arm, y, room, lines)
            y += 76 + 32 * len(lines)
        y += 10
        for line in limits:
            pen.write((self._margin, y + 28), line, size=28, fill=DARK.soft)
            y += 1.35 * 28
        return pen.picture

    def end(self, place: int) -> Image.Image:
        """Return the n-th card after the days: questions with what may be said, and how many tanks that rests on."""
        pen = self._pen()
        page = self._pages[place]
        size = self._size
        y = float(self._head())
        named = "What was found" if len(self._pages) == 1 else f"What was found ({place + 1} of {len(self._pages)})"
        if not self._findings:
            named = "What can be shown"
        pen.write((self._margin, y - 24), named, size=60)
        pen.box(self._margin, y + 6, self._margin + 120, y + 10, fill=DARK.soft)
        high = sum(self._block_high(block) for _, block in page) - 0.8 * size
        room = self._height - self._foot_high() - y - 34
        y += 34 + max(0.0, min(80.0, (room - high) / 2))
        for _, (ask, lines) in page:
            for line in ask:
                pen.write((self._margin, y + 0.8 * size), line, size=0.8 * size, fill=DARK.soft)
                y += 1.05 * size
            y += 0.1 * size
            for line in lines:
                pen.write((self._margin, y + size), line, size=size)
                y += 1.28 * size
            y += 0.8 * size
        foot = self._height - 54.0
        said = self._foot_lines(pen)
        for row, line in enumerate(said):
            pen.write((self._margin, foot - 32 * (len(said) - 1 - row)), line, size=25, fill=DARK.soft)
        return pen.picture

    def _told(self, pen: Pen, arm: Arm, room: float) -> list[str]:
        """Return what an arm gets as lines; none where nothing is dosed in any phase."""
        if arm.regime is None and self._trial.baseline_regime is None:
            return []
        words = regime_words(self._trial, arm.regime).replace(" mL", f"{NO_BREAK}mL")
        return pen.lines(words, size=26, width=room - 56, most=2)

    def _arm(self, pen: Pen, arm: Arm, y: float, room: float, told: Sequence[str]) -> None:
        trial, look = self._trial, arm_look(self._trial, arm.key)
        pen.shape((self._margin + 18, y + 22), look.shape, colour=look.on_dark, size=36)
        left = self._margin + 56
        name = pen.cut(arm.name, size=42, width=room * 0.55)
        pen.write((left, y + 36), name, size=42, fill=look.on_dark)
        tanks = ", ".join(trial.tanks[tank].name for tank in arm.tanks)
        if tanks != arm.name:
            after = left + pen.width(name, size=42) + 22
            said = pen.cut(tanks, size=30, width=self._margin + room - after)
            pen.write((after, y + 36), said, size=30, fill=DARK.soft)
        for row, line in enumerate(told):
            pen.write((left, y + 74 + 32 * row), line, size=26, fill=DARK.soft)

    def _pen(self) -> Pen:
        card = Image.new("RGB", self._options.size, DARK.paper)
        pen = Pen(card, self._letters, self._scale)
        _shore(pen, self._height)
        return pen

    def _head(self) -> int:
        return 150 if self._options.format != "portrait" else 220

    def _foot_lines(self, pen: Pen) -> list[str]:
        trial = self._trial
        room = self._width - 2 * self._margin
        demo = "A rendered demo: nothing here is known of real plants. " if trial.rendered else ""
        said = f"{demo}{tanks_counted(trial)[:1].upper()}{tanks_counted(trial)[1:]}. {design_of(trial).cannot}"
        return pen.lines(said, size=25, width=room, most=6)

    def _foot_high(self) -> float:
        return 54 + 32 * len(self._foot_lines(self._measuring())) + 20

    def _measuring(self) -> Pen:
        return Pen(Image.new("RGB", (1, 1)), self._letters, self._scale)

    def _block(self, finding: Finding, size: float) -> Block:
        pen, room = self._measuring(), self._width - 2 * self._margin
        ask = pen.lines(finding.ask, size=0.8 * size, width=room, most=3)
        return ask, pen.lines(_plain(finding.wording), size=size, width=room, most=40)

    def _block_high(self, block: Block) -> float:
        return (1.05 * len(block[0]) + 0.1 + 1.28 * len(block[1]) + 0.8) * self._size

    def _paged(self) -> list[Page]:
        """Set the findings on as few cards as the smallest letters allow, then with the largest letters on as many."""
        best: list[Page] = []
        for size in range(SMALLEST, LARGEST + 1, 2):
            self._size = float(size)
            pages = self._filled()
            if best and len(pages) > len(best):
                self._size = float(size - 2)
                return best
            best = pages
        return best

    def _filled(self) -> list[Page]:
        room = self._height - self._foot_high() - self._head() - 34
        pages: list[Page] = [[]]
        left = room
        for finding in self._findings:
            block = self._block(finding, self._size)
            high = self._block_high(block)
            if pages[-1] and high - 0.8 * self._size > left:
                pages.append([])
                left = room
            pages[-1].append((finding, block))
            left -= high
        return pages


def card_texts(trial: Trial, findings: Sequence[Finding]) -> list[str]:
    """Return what the cards write, so that one typeface is chosen that has every letter."""
    texts = [lead_words(trial), design_of(trial).cannot, design_of(trial).name]
    return texts + [_plain(text) for one in findings for text in (one.ask, one.wording)]


def _plain(text: str) -> str:
    """Return a text with the dash that every typeface has for the sign of minus."""
    return text.replace(MINUS, "–")


def _shore(pen: Pen, height: float) -> None:
    """Draw a quiet band at the card's left edge that goes from water to leaf."""
    water, leaf = (26, 84, 108), (86, 128, 58)
    steps = 120
    for step in range(steps):
        share = step / (steps - 1)
        colour = "#" + "".join(f"{round(a + share * (b - a)):02x}" for a, b in zip(water, leaf, strict=True))
        pen.box(0, height * step / steps, 10, height * (step + 1) / steps, fill=colour)
