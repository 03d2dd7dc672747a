"""Logbooks to make packages of: every kind of entry, corrections, measures of photos that are not there."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from littoral.acts.import_package import elsewhere_of
from littoral.findings.measured import MeasuredPhoto
from littoral.imaging.results import RegionMeasure
from littoral.logbook.book import Logbook
from littoral.publish.package.packed import PackedTrial, drawings_of
from littoral.trial.days import day_of, instant_of
from littoral.trial.entries import (
    Care,
    Dose,
    Drawn,
    Entry,
    Equipment,
    GaugeReading,
    Living,
    Note,
    Overridden,
    Payload,
    Photo,
    Reading,
    Score,
    Skipped,
    TopUp,
    Trim,
    WaterChange,
    Withdrawn,
)
from littoral.trial.model import Trial
from littoral.trial.written.drawings import as_drawn, write_drawing
from littoral.trial.written.reader import read_trial
from littoral.trial.written.starting import starting_text

WRITTEN = datetime(2026, 2, 27, 18, 4, 5, 678901, tzinfo=UTC)
NOW = datetime(2026, 6, 1, tzinfo=UTC)
PHOTOS = 48
PLANTED = ("Annegret", "Mustermann", "Mudville", "Lakeside", "SN-778899", "52.5200", "2026-03", "IMG_2026", "20260227")
"""What no anonymous package may hold: names, places, a serial number, a latitude, dates."""


QUESTIONS = """
[[questions]]
key = "care"
ask = "How many minutes of care did each tank take?"
measure = "care minutes"
primary = true

[[questions]]
key = "cost"
ask = "Which regime costs less?"
measure = "cost"
"""
GROWTH = """
[[questions]]
key = "growth"
ask = "Did the plants grow faster?"
measure = "height growth"
"""


def text_of(
    *, title: str = "Two ways of feeding", start: str = "2026-03-02", zone: str = "Europe/Berlin", photos: bool = False
) -> str:
    """Return a trial file's text: two tanks, drawn by lot, quick to answer unless asked about photos, too."""
    text = starting_text(title=title, start=start, zone=zone, seed=20260227)
    return text[: text.index("[[questions]]")] + QUESTIONS + (GROWTH if photos else "")


def telling_text() -> str:
    """Return the same with names and places wherever a person can write them."""
    text = text_of(title="Annegret Mustermann's tanks in Mudville")
    changed = {
        'name = "tap water: replace by your report"': 'name = "Mudville water works, report of 2026-03"',
        'name = "left tank"': 'name = "Annegret\'s tank"',
        "[tanks.right]": "[tanks.annegret]",
        '"right"': '"annegret"',
        'name = "tall stem plant"': 'name = "tall stem plant, from Lakeside pond at 52.5200, 13.4050"',
        "light 8 h a day": "light 8 h a day, switched by Annegret since 2026-03-01",
        "# A trial:": "# Written by Annegret in Mudville. A trial:",
        'name = "macro stock"': 'name = "macro stock"\nmade_on = 2026-03-01',
        "How many minutes of care": "Annegret asks: how many minutes of care",
        "photos/right": "photos/annegret",
    }
    for old, new in changed.items():
        assert old in text, old
        text = text.replace(old, new)
    return text.replace("[views.right", "[views.annegret").replace(".tanks.right]", ".tanks.annegret]")


def trial_of(text: str) -> Trial:
    """Return the trial of a text."""
    trial, faults = read_trial(text, where="trial.toml")
    assert trial is not None, faults
    return trial


def entries_of(trial: Trial, *, who: str = "J") -> tuple[Entry, ...]:
    """Return entries of every kind, with a correction and a withdrawal among them."""
    tanks = tuple(trial.tanks)
    payloads: tuple[tuple[float, str | None, Payload], ...] = (
        (1.5, tanks[0], Dose("macro", ml=2.2, written="2 strokes")),
        (1.5, tanks[1], Dose("macro", ml=1.1, given=False, for_date="2026-03-02")),
        (2.25, tanks[0], WaterChange(0.4)),
        (2.5, tanks[1], TopUp(1.25)),
        (3.1, tanks[0], Trim("tall", left_cm=12.0, wet_g=3.5, minutes=7.0)),
        (3.2, tanks[1], Trim(None, wet_g=0.1 + 0.2)),
        (4.4, tanks[0], Reading("nitrate", 40.0, float("inf"), "test kit", "over 40")),
        (4.5, tanks[0], GaugeReading("temperature", 24.25, 24.75, "thermometer", "24.5 °C")),
        (5.0, tanks[1], Score("plants", 2, "tall")),
        (5.1, tanks[0], Living("animals", "shrimps of Annegret", 6, "added")),
        (5.2, tanks[0], Equipment("filter SN-778899", "rinsed in Mudville on 2026-03-07")),
        (6.0, tanks[0], Skipped("test nitrate")),
        (7.0, tanks[1], Care(12.0)),
        (8.0, tanks[1], Note("=Annegret was at 52.5200, 13.4050; write to annegret@example.org\n2026-03-10")),
        (9.0, None, Overridden("week", "full", "nitrate", "60 mg/L over 50 mg/L", "Annegret said so")),
        (9.5, None, drawn_anew(trial)),
    )
    found = [
        Entry(f"q{number:02d}z", instant_of(day, trial), trial.zone, tank, payload, who, None, "", trial.key, "")
        for number, (day, tank, payload) in enumerate(payloads)
    ]
    for number, (day, tank, payload) in enumerate(
        ((7.0, tanks[1], Care(120.0)), (7.0, tanks[1], Withdrawn("twice")), (10.0, tanks[0], Care(5.0)))
    ):
        supersedes = ("q12z", "qc0z", None)[number]
        found.append(
            Entry(
                f"qc{number}z", instant_of(day, trial), trial.zone, tank, payload, f"{who} Mustermann", supersedes,
                "told on 2026-03-11", trial.key, "Annegrets-entries.csv",
            )
        )  # fmt: skip
    for number in range(PHOTOS):
        view, pane = list(trial.views.items())[number % 2]
        sha256 = f"{number:064x}"
        photo = Photo(sha256, view, "exif", f"IMG_202603{number:02d}.jpg", camera="SN-778899")
        if number == 7:
            photo = replace(photo, doubts=("looks like Annegret's tank, rather than the other",), decided="kept")
        at = instant_of(number * 0.75 + 0.5, trial)
        found.append(Entry(f"qp{number:02d}z", at, trial.zone, pane.panes[0].tank, photo, trial=trial.key))
    return tuple(sorted(found, key=lambda entry: (entry.at, entry.id)))


def drawn_anew(trial: Trial) -> Drawn:
    """Return a drawing of the first view from day 6 on: one corner of each region moved."""
    view = next(iter(trial.views.values()))
    panes = []
    for pane in view.panes:
        regions = tuple(
            replace(one, polygon_px=((one.polygon_px[0][0] + 1.0, one.polygon_px[0][1]), *one.polygon_px[1:]))
            for one in pane.regions
        )
        panes.append(replace(pane, regions=regions))
    return Drawn(view.key, 6.0, write_drawing(panes))


def measures_of(trial: Trial, entries: tuple[Entry, ...]) -> tuple[MeasuredPhoto, ...]:
    """Return measures of every photo: plants that grow, one photo that was set aside."""
    rng = np.random.default_rng(20260301)
    found = []
    for number, entry in enumerate(one for one in entries if isinstance(one.payload, Photo)):
        assert isinstance(entry.payload, Photo)
        assert entry.tank is not None
        grown = 8.0 * 1.02**number * rng.uniform(0.97, 1.03)
        a, algae = rng.normal(-8, 0.4), rng.uniform(0, 0.1)
        regions = (
            RegionMeasure(entry.tank, "tall", "stand", grown / 40, grown * 10, grown, 5.0, 60.1, a, 20, 0.7),
            RegionMeasure(entry.tank, "bare glass", "glass", algae=algae, flags=("partly hidden by plants",)),
        )
        excluded = "the photo is nearly black" if number == 5 else ""
        why = (excluded,) if excluded else ()
        found.append(
            MeasuredPhoto(
                entry.id, entry.payload.sha256, entry.payload.view, day_of(entry.at, trial), None,
                None if excluded else 0.4, 1.5, "stable places", why, () if excluded else regions, excluded,
            )
        )  # fmt: skip
    return tuple(found)


def filled(folder: Path, text: str = "", *, who: str = "J", entries: tuple[Entry, ...] | None = None) -> Path:
    """Make a logbook at `folder` with two texts, every kind of entry, and measured photos; return the folder."""
    text = text or text_of()
    trial = trial_of(text)
    own = entries_of(trial, who=who) if entries is None else entries
    trial = as_drawn(trial, drawings_of(own))
    packed = PackedTrial(trial, ((WRITTEN, f"{text}\n# first"), (NOW, text)), own, measures_of(trial, own), "5", "")
    with Logbook.create(folder, clock=lambda: NOW) as book:
        book.take_over(trial, packed.texts, own, kept={}, elsewhere=elsewhere_of(packed, {}, "urn:uuid:made"))
    return folder
