"""Which pictures the documentation is made with: pages of the program, and its charts of the demo."""

from __future__ import annotations

from dataclasses import dataclass

TRIAL = "sparing-or-full"
CHARTS = (
    "findings", "canopy-height", "cover", "compactness", "redness", "algae", "fed-per-week", "levels", "power",
    "bands-nitrate", "camera-red-stem", "series-camera",
)  # fmt: skip
"""Keys of charts that pages may show."""


@dataclass(frozen=True, slots=True)
class PageShown:
    """One picture of a page: where it is, of which logbook, what of it, its words; at most `tallest` px of a part."""

    name: str
    path: str
    alt: str
    part: str = "main"
    of: str = "demo"
    width: int = 1120
    height: int = 780
    ready: str = "main h1"
    tallest: int = 900


PAGES = (
    PageShown("start", "/start", "The three questions that start a trial.", of="first"),
    PageShown(
        "today", "/today", "Today on a phone: what is due in each tank, each with a button.", of="first", width=390
    ),
    PageShown(
        "twin",
        f"/trial/{TRIAL}?day=42",
        "The twin view: both rendered tanks on day 42 over the day slider.",
        part="#twin",
        ready="#twin[data-ready]",
    ),
    PageShown(
        "finding",
        f"/trial/{TRIAL}",
        "A finding in words, with its number, interval and evidence.",
        part="#findings article",
        ready=".charts[data-drawn]",
        tallest=520,
    ),
    PageShown("photos", f"/trial/{TRIAL}/photos", "All photos by day, one column for each view."),
    PageShown("draw", f"/trial/{TRIAL}/views/left", "Regions drawn on a photo of the left tank."),
    PageShown(
        "levels",
        f"/trial/{TRIAL}/levels",
        "Levels between tests, with bands that widen where nothing was read.",
        ready="main h1",
    ),
    PageShown("mix", "/mix", "A bottle mixed from jars: what to weigh, and what a dose adds."),
    PageShown("costs", "/costs", "What a week costs, part by part, and what runs out first."),
    PageShown("publish", f"/trial/{TRIAL}/publish", "Film and stills are chosen and looked at before they are made."),
)


NAMES = {*CHARTS, *(one.name for one in PAGES)}
