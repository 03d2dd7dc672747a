"""The club's entries: what was really done, day by day, as the CSV that an import reads."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from littoral.demo.doses import CHANGE_SHARE, doses
from littoral.demo.growth import trims
from littoral.demo.nitrate import card_reading, nitrate_before
from littoral.demo.story import BASELINE_DAYS, SATURDAY, START, Story

HEADER = ("date", "time", "tank", "kind", "what", "amount", "note", "who")
MEMBERS = ("A", "B", "C", "D")


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the entries file; `day` counts from day 0."""

    day: int
    time: str
    tank: str
    kind: str
    what: str = ""
    amount: str = ""
    note: str = ""
    who: str = ""


def rows(story: Story) -> tuple[Row, ...]:
    """Return every entry of both tanks, by day and time."""
    found: list[Row] = [
        Row(0, "12:30", tank, "note", note="planted both tanks from the same pots") for tank in ("left", "right")
    ]
    for tank in ("left", "right"):
        found += _tank_rows(story, tank)
    return tuple(sorted(found, key=lambda row: (row.day, row.time, row.tank)))


def entries_csv(story: Story) -> str:
    """Return the whole entries file as text, with its header."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(HEADER)
    for row in rows(story):
        date = (START + timedelta(days=row.day)).isoformat()
        writer.writerow((date, row.time, row.tank, row.kind, row.what, row.amount, row.note, row.who))
    return out.getvalue()


def _tank_rows(story: Story, tank: str) -> list[Row]:
    rng = np.random.default_rng([story.seed, 21, 0 if tank == "left" else 1])
    found: list[Row] = []
    for given in doses(story, tank):
        who = MEMBERS[given.day % len(MEMBERS)]
        kind = "dose" if given.given else "missed dose"
        note = "" if given.given else str(rng.choice(("nobody came", "forgot", "bottle was empty until next day")))
        time = "13:35" if given.dose.of == "macro" else "13:37"
        found.append(Row(given.day, time, tank, kind, given.dose.of, given.dose.amount, note, who))
    care = dict.fromkeys(sorted({given.day for given in doses(story, tank) if given.given}), 2.0)
    trimmed = [(stand, trim) for stand in story.stands for trim in trims(story, stand, tank)]
    for day in range(SATURDAY, story.days, 7):
        found.append(Row(day, "10:30", tank, "water change", "", f"{CHANGE_SHARE:.0%}".replace("%", " %"), "", "A"))
        today = [(stand, trim) for stand, trim in trimmed if int(trim.day) == day]
        for number, (stand, trim) in enumerate(today):
            grams = max(1, round(trim.wet_g * float(rng.uniform(0.93, 1.07))))
            amount = f"to {trim.after_cm:g} cm, {grams} g"
            found.append(Row(day, f"11:{number:02d}", tank, "trim", stand.key, amount, "", "B"))
        wiping = 5.0 if day >= BASELINE_DAYS and story.arm_of[tank] == "full" else 3.0
        care[day] = care.get(day, 0.0) + 14.0 + wiping + 6.0 * len(today) + round(float(rng.uniform(0, 3)))
    for day, minutes in sorted(care.items()):
        found.append(Row(day, "13:50", tank, "care", "", f"{minutes:g} min", "", MEMBERS[day % len(MEMBERS)]))
    found += [
        Row(day, "13:40", tank, "top-up", "", f"{rng.choice((0.6, 0.7, 0.8)):g} L", "", "C")
        for day in range(2, story.days, 7)
    ]
    for day in range(4, story.days, 7):
        shown, low, high = card_reading(nitrate_before(story, tank, day + 0.55))
        found.append(Row(day, "13:20", tank, "reading", "nitrate", f"{shown:g} mg/L ({low:g}-{high:g}), colour card"))
    return found
