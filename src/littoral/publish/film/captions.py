"""A film's captions as WebVTT: what is seen and what changes, for people who cannot see it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from littoral.findings.measured import Measured
from littoral.findings.model import Finding
from littoral.publish.film.happenings import Happening
from littoral.publish.film.script import FPS, Script, Shot
from littoral.publish.moments import Moment
from littoral.publish.sheet_words import lead_words
from littoral.publish.words import regime_words, tank_said, tanks_counted
from littoral.quantities.runs import runs_words
from littoral.trial.design import design_of
from littoral.trial.model import Trial
from littoral.trial.regime_on import regime_on

CUE_S = 4.0
"""A cue tells of as many days as it takes to last so long, so that it can be read or listened to."""
MOST_STANDS = 3
"""A cue tells of the stands that changed most, so many at the most."""
SEEN_CM = 0.5
SEEN_PERCENT = 2.0
"""Changes smaller than these are not told of: they come and go with the camera. Rule of thumb, no source."""


@dataclass(frozen=True, slots=True)
class Cue:
    """One caption: the frames [start, end) it stands in, and its text."""

    start: int
    end: int
    text: str


def cues_of(
    trial: Trial,
    measured: Measured,
    tanks: Sequence[str],
    made: Sequence[Moment],
    script: Script,
    pages: Sequence[Sequence[Finding]],
) -> tuple[Cue, ...]:
    """Return the captions of a film in order; none overlap. `pages` are the findings on each card after the days."""
    cues: list[Cue] = []
    run: list[tuple[int, Shot]] = []

    def tell() -> None:
        if run:
            first, last = run[0][0], run[-1][0] + run[-1][1].frames
            places = [shot.place for _, shot in run]
            text = _days_told(trial, measured, tanks, made, script.happened, places, first_cue=not places[0])
            cues.append(Cue(first, last, text))
            run.clear()

    for start, shot in zip(script.starts(), script.shots, strict=True):
        if shot.kind == "moment":
            turning = any(one.kind in ("regimes begin", "swap") for one in script.happened[shot.place])
            if turning:
                tell()
            run.append((start, shot))
            if sum(one.frames for _, one in run) >= CUE_S * FPS:
                tell()
            continue
        tell()
        text = _title_told(trial, tanks) if shot.kind == "title" else _found_told(trial, pages[shot.place])
        cues.append(Cue(start, start + shot.frames, text))
    tell()
    return tuple(cues)


def vtt_text(cues: Sequence[Cue], *, title: str = "") -> str:
    """Return cues as a WebVTT file (W3C WebVTT: The Web Video Text Tracks Format)."""
    note = f"\nNOTE {_escaped(title)}\n" if title else ""
    blocks = [
        f"{_clock(one.start)} --> {_clock(one.end)}\n{_escaped(one.text)}\n" for one in cues if one.end > one.start
    ]
    return "WEBVTT\n" + note + "".join(f"\n{block}" for block in blocks)


def _clock(frame: int) -> str:
    ms = round(1000 * frame / FPS)
    return f"{ms // 3_600_000:02d}:{ms // 60_000 % 60:02d}:{ms // 1000 % 60:02d}.{ms % 1000:03d}"


def _escaped(text: str) -> str:
    """Escape what WebVTT reads as its own, and break no cue with an empty line."""
    plain = text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    return "\n".join(line for line in plain.splitlines() if line.strip())


def _title_told(trial: Trial, tanks: Sequence[str]) -> str:
    demo = "A rendered demo, not a real tank. " if trial.rendered else ""
    where = f"{len(tanks)} tanks are shown side by side" if len(tanks) > 1 else "One tank is shown"
    return f"{demo}{trial.title}. {lead_words(trial)} {where}; {tanks_counted(trial)}. {design_of(trial).cannot}"


def _found_told(trial: Trial, findings: Sequence[Finding]) -> str:
    if not findings:
        return f"{tanks_counted(trial)[:1].upper()}{tanks_counted(trial)[1:]}. {design_of(trial).cannot}"
    return "\n".join(f"{one.ask} {one.wording}" for one in findings)


def _days_told(
    trial: Trial,
    measured: Measured,
    tanks: Sequence[str],
    made: Sequence[Moment],
    happened: Sequence[Sequence[Happening]],
    places: Sequence[int],
    *,
    first_cue: bool,
) -> str:
    first, last = made[places[0]], made[places[-1]]
    step = made[1].day - made[0].day if len(made) > 1 else 1.0
    label = first.label[:1].upper() + first.label[1:]
    parts = [f"{label}." if first is last else f"{label} to {last.label.removeprefix('day ')}."]
    events = [one for place in places for one in happened[place]]
    parts += [one.words for one in events]
    if first_cue or any(one.kind in ("regimes begin", "swap") for one in events):
        for tank in tanks:
            regime = regime_on(trial, tank, first.day)
            if trial.tanks[tank].vessel is not None or regime is not None:
                words = regime_words(trial, None if regime is None else regime.key).replace("\u00a0", " ")
                parts.append(f"{_name(trial, tank)} gets: {words}.")
    parts += _changes(trial, measured, tanks, first.day, last.day + step)
    for tank in tanks:
        if all(made[place].shown[tank].photo is None for place in places):
            parts.append(f"No photo of {_name(trial, tank, start=False)} yet.")
            continue
        gaps = [made[place].day for place in places if made[place].shown[tank].held]
        if gaps:
            words = f"day{'' if len(gaps) == 1 else 's'} {runs_words(gaps)}"
            parts.append(f"No photo of {_name(trial, tank, start=False)} on {words}.")
    return " ".join(parts)


def _name(trial: Trial, tank: str, *, start: bool = True) -> str:
    said = tank_said(trial, tank)
    return f"{said[:1].upper()}{said[1:]}" if start else said


def _changes(trial: Trial, measured: Measured, tanks: Sequence[str], from_day: float, to_day: float) -> list[str]:
    """Return sentences on the stands whose height changed most, and on algae that came, between two days."""
    seen: dict[tuple[str, str, str], list[tuple[float, float]]] = {}
    for photo in measured.photos:
        if photo.excluded or not from_day <= photo.day < to_day:
            continue
        for region in photo.regions:
            if region.pane in tanks:
                if region.height_cm is not None:
                    seen.setdefault(("height", region.region, region.pane), []).append((photo.day, region.height_cm))
                if region.algae is not None:
                    seen.setdefault(("algae", region.region, region.pane), []).append((photo.day, 100 * region.algae))
    told: list[tuple[float, str]] = []
    for kind, unit, least in (("height", "cm", SEEN_CM), ("algae", "%", SEEN_PERCENT)):
        for name in dict.fromkeys(key[1] for key in seen if key[0] == kind):
            spans = []
            most = 0.0
            for tank in tanks:
                values = sorted(seen.get((kind, name, tank), ()))
                if values:
                    before, after = values[0][1], values[-1][1]
                    most = max(most, abs(after - before) / least)
                    spans.append(f"{_name(trial, tank, start=False)} {before:.1f} to {after:.1f} {unit}")
            if most >= 1:
                what = trial.stands[name].name if name in trial.stands else f"the {name}"
                head = f"{what[:1].upper()}{what[1:]}" if kind == "height" else f"Algae on {what}"
                told.append((most, f"{head}: {', '.join(spans)}."))
    told.sort(key=lambda one: (-one[0], one[1]))
    return [words for _, words in told[:MOST_STANDS]]
