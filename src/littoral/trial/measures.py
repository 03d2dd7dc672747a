"""The measures that can answer a question, each with its unit, how arms are compared, and what it is taken from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Comparison = Literal["difference", "ratio"]
TakenFrom = Literal["photos", "entries", "costs"]


@dataclass(frozen=True, slots=True)
class Measure:
    """One measure; `of` says which kinds of region it is taken on."""

    key: str
    name: str
    unit: str
    taken_from: TakenFrom
    of: tuple[str, ...]
    meaning: str


MEASURES: dict[str, Measure] = {
    measure.key: measure
    for measure in (
        Measure(
            "height growth",
            "relative growth rate of canopy height",
            "per day",
            "photos",
            ("stand",),
            "slope of the logarithm of canopy height against days, with an offset at each trim",
        ),
        Measure(
            "cover growth",
            "relative growth rate of cover",
            "per day",
            "photos",
            ("stand",),
            "slope of the logarithm of the covered area against days, with an offset at each trim",
        ),
        Measure(
            "compactness",
            "cover per canopy height",
            "points per cm",
            "photos",
            ("stand",),
            "covered share of the stand's region divided by canopy height: bushy is high, leggy is low",
        ),
        Measure(
            "redness",
            "redness (CIELAB a*)",
            "a*",
            "photos",
            ("stand",),
            "a* of the stand's leaves after correction of the camera",
        ),
        Measure(
            "algae",
            "algae cover on stone, wood and glass",
            "points",
            "photos",
            ("stone", "wood", "glass"),
            "share of the region that has turned green since the first days",
        ),
        Measure(
            "care minutes",
            "minutes of care",
            "min per week",
            "entries",
            (),
            "minutes noted in entries, per week after the baseline",
        ),
        Measure(
            "trimmed mass",
            "wet mass trimmed",
            "g per week",
            "entries",
            (),
            "wet mass of trimmings noted in entries, per week after the baseline",
        ),
        Measure(
            "cost",
            "cost of feeding",
            "currency per week",
            "costs",
            (),
            "price of what the doses really given used up, per week after the baseline",
        ),
    )
}
