"""The measures that can answer a question, each with its unit, how arms are compared, and what it is taken from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

HowCompared = Literal["difference", "waiting", "steps"]
TakenFrom = Literal["photos", "entries", "costs"]


@dataclass(frozen=True, slots=True)
class Measure:
    """One measure; `of` says which kinds of region it is taken on, empty: on whole tanks only.

    `compared` says how arms are: by the difference of numbers, by days of waiting until something happens (which may
    never come), or by ordered steps, which have no distances.
    """

    key: str
    name: str
    unit: str
    taken_from: TakenFrom
    of: tuple[str, ...]
    meaning: str
    compared: HowCompared = "difference"


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
            "yield",
            "yield, wet mass",
            "g",
            "entries",
            ("stand",),
            "wet mass trimmed after the baseline, with what stood at the end where it was cut to 0 cm and weighed",
        ),
        Measure(
            "regrowth",
            "days to grow back after a trim",
            "days",
            "photos",
            ("stand",),
            "days from each trim until canopy height is again what it was before it, or until the next trim",
            "waiting",
        ),
        Measure(
            "algae onset",
            "days until algae came",
            "days",
            "photos",
            ("stone", "wood", "glass"),
            "first day from which algae stay at or above the threshold in a place; they may not have come yet",
            "waiting",
        ),
        Measure(
            "condition",
            "condition of the plants, by scores",
            "net share",
            "entries",
            ("stand",),
            "scores of the plants, by rank: how often they are higher less how often lower, from −1 to 1",
            "steps",
        ),
        Measure(
            "algae score",
            "algae, by scores",
            "net share",
            "entries",
            (),
            "scores of algae, by rank: how often they are higher less how often lower, from −1 to 1",
            "steps",
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
