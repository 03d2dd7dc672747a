"""The measures that can answer a question, each with its unit, how arms are compared, and what it is taken from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from littoral.speech.say import later

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
            later("relative growth rate of canopy height"),
            later("per day"),
            "photos",
            ("stand",),
            later("slope of the logarithm of canopy height against days, with an offset at each trim"),
        ),
        Measure(
            "cover growth",
            later("relative growth rate of cover"),
            later("per day"),
            "photos",
            ("stand",),
            later("slope of the logarithm of the covered area against days, with an offset at each trim"),
        ),
        Measure(
            "compactness",
            later("cover per canopy height"),
            later("points per cm"),
            "photos",
            ("stand",),
            later("covered share of the stand's region divided by canopy height: bushy is high, leggy is low"),
        ),
        Measure(
            "redness",
            later("redness (CIELAB a*)"),
            later("a*"),
            "photos",
            ("stand",),
            later("a* of the stand's leaves after correction of the camera"),
        ),
        Measure(
            "algae",
            later("algae cover on stone, wood and glass"),
            later("points"),
            "photos",
            ("stone", "wood", "glass"),
            later("share of the region that has turned green since the first days"),
        ),
        Measure(
            "care minutes",
            later("minutes of care"),
            later("min per week"),
            "entries",
            (),
            later("minutes noted in entries, per week after the baseline"),
        ),
        Measure(
            "trimmed mass",
            later("wet mass trimmed"),
            later("g per week"),
            "entries",
            (),
            later("wet mass of trimmings noted in entries, per week after the baseline"),
        ),
        Measure(
            "yield",
            later("yield, wet mass"),
            later("g"),
            "entries",
            ("stand",),
            later(
                "wet mass trimmed after the baseline, with what stood at the end where it was cut to 0 cm and weighed"
            ),
        ),
        Measure(
            "regrowth",
            later("days to grow back after a trim"),
            later("days"),
            "photos",
            ("stand",),
            later("days from each trim until canopy height is again what it was before it, or until the next trim"),
            "waiting",
        ),
        Measure(
            "algae onset",
            later("days until algae came"),
            later("days"),
            "photos",
            ("stone", "wood", "glass"),
            later("first day from which algae stay at or above the threshold in a place; they may not have come yet"),
            "waiting",
        ),
        Measure(
            "condition",
            later("condition of the plants, by scores"),
            later("net share"),
            "entries",
            ("stand",),
            later("scores of the plants, by rank: how often they are higher less how often lower, from −1 to 1"),
            "steps",
        ),
        Measure(
            "algae score",
            later("algae, by scores"),
            later("net share"),
            "entries",
            (),
            later("scores of algae, by rank: how often they are higher less how often lower, from −1 to 1"),
            "steps",
        ),
        Measure(
            "cost",
            later("cost of feeding"),
            later("currency per week"),
            "costs",
            (),
            later("price of what the doses really given used up, per week after the baseline"),
        ),
    )
}
