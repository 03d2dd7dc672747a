"""What a film shows when: cards, days, holds and slow-downs, captions and chapters, all in whole frames."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from littoral.publish.film.happenings import Happening, HappeningKind
from littoral.publish.moments import Moment
from littoral.trial.model import Trial

FPS = 30
FRAMES_A_MOMENT = 7
"""30 frames a second show a little over four days a second."""
SHORTEST_S = 8.0
LONGEST_MOMENT = 20
LAST_HOLD_S = 2.0
TITLE_S = 4.0
END_S = 5.0
"""How long a card after the days stands at least."""
HOLD_S: dict[HappeningKind, float] = {"regimes begin": 1.6, "swap": 1.6, "look": 1.0, "trim": 0.8, "first algae": 1.2}
MOST_HELD = 12
"""Of a kind that comes more often only a short stop is made, so that a long trial keeps its pace."""
SLOWER = 1.8
"""How much longer the moment before and after a stop stands."""
CAPTION_S = 2.4
"""How long a caption stays in the picture at least, unless the next one comes."""


@dataclass(frozen=True, slots=True)
class Shot:
    """One picture and the number of frames it stands: the n-th title or end card, or the n-th moment with a caption."""

    kind: Literal["title", "moment", "end"]
    place: int
    frames: int
    caption: str = ""


@dataclass(frozen=True, slots=True)
class Chapter:
    """A chapter: its first frame and its name."""

    frame: int
    name: str


@dataclass(frozen=True, slots=True)
class Script:
    """The whole film as shots in order, with its chapters and what happened at which moment."""

    shots: tuple[Shot, ...]
    chapters: tuple[Chapter, ...]
    happened: tuple[tuple[Happening, ...], ...]

    @property
    def frames(self) -> int:
        """Number of frames."""
        return sum(shot.frames for shot in self.shots)

    def starts(self) -> list[int]:
        """Return the first frame of each shot."""
        starts, at = [], 0
        for shot in self.shots:
            starts.append(at)
            at += shot.frames
        return starts


def script_of(
    trial: Trial,
    made: Sequence[Moment],
    found: Sequence[Happening],
    *,
    end_frames: Sequence[int],
    cards: bool = True,
    seconds: float | None = None,
) -> Script:
    """Lay a film out. `end_frames` are those of each card after the days, shown where `cards`.

    `seconds` stretches or shortens the days.

    Every moment gets at least one frame, so a film of many days may last longer than was asked for.
    """
    step = made[1].day - made[0].day if len(made) > 1 else 1.0
    happened = _by_moment(made, found, step)
    title = round(TITLE_S * FPS) if cards else 0
    ends = list(end_frames) if cards else []
    if seconds is not None:  # cards take at most half of a short film
        shrink = min(1.0, 0.5 * seconds * FPS / max(1, title + sum(ends)))
        title, ends = round(shrink * title), [round(shrink * end) for end in ends]
    stands = frames_a_moment(len(made))
    weights = _weights(happened, stands)
    if seconds is not None:
        weights = _shared_out(weights, round(seconds * FPS) - title - sum(ends))
    shots = [Shot("title", 0, title)] if title else []
    shots += [
        Shot("moment", place, frames, caption)
        for (place, frames), caption in zip(enumerate(weights), _captions(happened, weights), strict=True)
    ]
    shots += [Shot("end", place, end) for place, end in enumerate(ends)]
    return Script(tuple(shots), _chapters(trial, made, happened, shots), happened)


def frames_a_moment(count: int) -> int:
    """Return how many frames each of `count` moments stands: seven, more where the film would be very short."""
    return max(FRAMES_A_MOMENT, min(LONGEST_MOMENT, round(SHORTEST_S * FPS / max(1, count))))


def _by_moment(made: Sequence[Moment], found: Sequence[Happening], step: float) -> tuple[tuple[Happening, ...], ...]:
    """Return for each moment what happened since the one before; what came before the first is left out."""
    by: list[list[Happening]] = [[] for _ in made]
    for one in found:
        place = next((place for place, moment in enumerate(made) if one.day < moment.day + step), None)
        if place is not None and one.day >= made[0].day:
            by[place].append(one)
    return tuple(tuple(some) for some in by)


def _weights(happened: Sequence[Sequence[Happening]], stands: int) -> list[int]:
    """Return the frames each moment stands, with the holds at what happened, slower before and after, and the last."""
    often = {kind for kind in HOLD_S if sum(any(one.kind == kind for one in some) for some in happened) > MOST_HELD}
    frames = [stands] * len(happened)
    for place, some in enumerate(happened):
        if any(one.kind not in often for one in some):
            for beside in (place - 1, place + 1):
                if 0 <= beside < len(frames):
                    frames[beside] = max(frames[beside], round(SLOWER * stands))
    for place, some in enumerate(happened):
        if some:
            holds = [stands if one.kind in often else round(HOLD_S[one.kind] * FPS) for one in some]
            frames[place] = max(frames[place], stands) + max(holds)
    frames[-1] += round(LAST_HOLD_S * FPS)
    return frames


def _shared_out(weights: Sequence[int], total: int) -> list[int]:
    """Share `total` frames out by weight, whole ones, at least one each; largest remainders first."""
    total = max(total, len(weights))
    spare = total - len(weights)
    parts = [spare * weight / sum(weights) for weight in weights]
    shares = [1 + int(part) for part in parts]
    rest = total - sum(shares)
    for place in sorted(range(len(parts)), key=lambda place: (int(parts[place]) - parts[place], place))[:rest]:
        shares[place] += 1
    return shares


def _captions(happened: Sequence[Sequence[Happening]], frames: Sequence[int]) -> list[str]:
    """Return each moment's caption: what happened, kept for the next moments until it could be read."""
    captions = []
    words, left = "", 0
    for some, stands in zip(happened, frames, strict=True):
        if some:
            words, left = " ".join(one.words for one in some), round(CAPTION_S * FPS)
        captions.append(words if left > 0 else "")
        left -= stands
    return captions


def _chapters(
    trial: Trial, made: Sequence[Moment], happened: Sequence[Sequence[Happening]], shots: Sequence[Shot]
) -> tuple[Chapter, ...]:
    chapters: list[Chapter] = []
    at = 0
    for shot in shots:
        name = ""
        if shot.kind == "title":
            name = "What was compared"
        elif shot.kind == "end" and shot.place == 0:
            name = "Findings"
        elif shot.kind == "moment":
            turns = [one for one in happened[shot.place] if one.kind in ("regimes begin", "swap", "look")]
            if turns:
                name = f"{made[shot.place].label[:1].upper()}{made[shot.place].label[1:]}: {_named(turns[0])}"
            elif shot.place == 0:
                name = "Baseline" if made[0].day < trial.baseline_days else "The days"
        if name:
            chapters.append(Chapter(at, name))
        at += shot.frames
    return tuple(chapters)


def _named(one: Happening) -> str:
    if one.kind == "look":
        return "planned look at the results"
    if one.kind == "regimes begin":
        return "the regimes begin"
    return one.words.rstrip(".").replace("The tanks", "the tanks", 1)
