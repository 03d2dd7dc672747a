"""The twin view's data as JSON: for every moment, which picture each tank shows and what happened."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote

from littoral.acts.trial_page import Event, Look, Shown, TrialPage, TwinPhoto
from littoral.web.words import long_date


def picture_url(key: str, tank: str, photo: TwinPhoto, look: Look) -> str:
    """Return the address of one picture; it changes with its content, so a browser may keep it for good."""
    trial, entry, shown = (quote(part, safe="") for part in (key, photo.entry_id, tank))
    return f"/trial/{trial}/photo/{entry}/{shown}/{look}.jpg?v={quote(photo.stamp, safe='')}"


def phase_of(page: TrialPage, day: float) -> str:
    """Return "baseline" before the regimes begin to differ, "regimes differ" after; "" without a baseline."""
    if page.trial.baseline_days <= 0:
        return ""
    return "baseline, all tanks alike" if day < page.trial.baseline_days else "regimes differ"


def gap_note(shown: Shown, *, whole_days: bool) -> str:
    """Return the words that mark a missing photo, or ""; `whole_days` says that each moment is a day."""
    if shown.photo is None:
        return "no photo yet"
    missing = "no photo this day" if whole_days else "no photo now"
    return f"{missing}, {shown.from_label.lower()} shown" if shown.held else ""


def twin_moments(page: TrialPage) -> list[dict[str, Any]]:
    """Return one JSON object for each moment: its words, and for each tank the pictures' addresses and the events."""
    happened: dict[tuple[int, str], list[Event]] = {}
    for event in page.events:
        happened.setdefault((page.moment_at(event.day), event.tank), []).append(event)
    return [
        {
            "day": moment.day,
            "label": moment.label,
            "words": long_date(moment.date),
            "phase": phase_of(page, moment.day),
            "tanks": {
                tank.key: _tank(page, tank.key, tank.shown[index], happened.get((index, tank.key), []))
                for tank in page.tanks
            },
        }
        for index, moment in enumerate(page.moments)
    ]


def _tank(page: TrialPage, tank: str, shown: Shown, happened: list[Event]) -> dict[str, Any]:
    photo = shown.photo
    return {
        "even": picture_url(page.trial.key, tank, photo, "even") if photo else None,
        "original": picture_url(page.trial.key, tank, photo, "original") if photo else None,
        "from": shown.from_label,
        "held": shown.held,
        "note": gap_note(shown, whole_days=page.whole_days),
        "flags": list(photo.flags) if photo else [],
        "events": [{"kind": event.kind, "text": event.text, "clock": event.clock} for event in happened],
    }
