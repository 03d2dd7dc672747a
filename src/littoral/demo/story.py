"""The invented facts of the demo: who grows what, under which regime, and what is really true of it.

A school biology club runs twin 54-litre tanks on one bench for eight weeks. Everything here is invented, rates and
effects too; plants are named by what they look like. Two of the six questions have a true answer of "none" or nearly
so, because an honest tool must be able to say that it cannot tell.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from math import exp
from typing import Literal

import numpy as np

from littoral.demo.phone import PHONES, PhoneCharacter

Form = Literal["lance-leaved stem", "round-leaved stem", "feathery stem", "rosette", "grass", "fern"]
Lab = tuple[float, float, float]

START = date(2026, 3, 2)  # a Monday
ZONE = "Europe/Berlin"
BASELINE_DAYS = 14
SATURDAY = 5  # weekday of water changes and trims, 0 is Monday


@dataclass(frozen=True, slots=True)
class StandStory:
    """One stand and its truth: rates are relative growth per day under the sparing regime.

    `full_height` and `full_spread` multiply the rates under the full regime. On a Saturday a stand taller than
    `limit_cm` is cut to `cut_cm` (None: never trimmed); one cm cut off weighs `g_per_cm`. `leaf_lab` is the CIELAB
    colour of a young leaf in full light at day 0, `full_redder_a` what the full regime adds to its a* in the end.
    """

    key: str
    name: str
    form: Form
    start_cm: float
    height_rate: float
    spread_rate: float
    full_height: float
    full_spread: float
    leaf_lab: Lab
    limit_cm: float | None = None
    cut_cm: float = 0.0
    g_per_cm: float = 0.0
    full_redder_a: float = 0.0


@dataclass(frozen=True, slots=True)
class PlannedDose:
    """A dose of the demo's regimes as the club writes it, with the weekdays (0 is Monday)."""

    of: str
    amount: str
    ml: float
    weekdays: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Story:
    """All invented facts for one seed. `tank_rate` multiplies every growth rate of a tank, baseline included.

    `swapped` says for each period of a crossover whether the tanks have exchanged their regimes (`demo.swapping`); none
    in the demo itself. `ramp_days` is how long a changed regime takes to show in the plants.
    """

    seed: int
    days: int
    stands: tuple[StandStory, ...]
    regimes: dict[str, tuple[PlannedDose, ...]]
    arm_of: dict[str, str]
    tank_rate: dict[str, float]
    algae_end: dict[str, dict[str, float]]
    nitrate_uptake_per_day: float
    phone: PhoneCharacter
    swapped: tuple[bool, ...] = ()
    period_days: float = 0.0
    ramp_days: float = 5.0


STANDS: tuple[StandStory, ...] = (
    StandStory("red-stem", "red stem plant", "lance-leaved stem", 9.6, 0.024, 0.009, 1.28, 1.0, (49.0, 40.0, 19.0),
               15.0, 9.0, 2.1, 6.0),
    StandStory("feather", "feathery fine-leaved stem plant", "feathery stem", 8.8, 0.026, 0.009, 1.30, 1.0,
               (66.0, -24.0, 38.0), 14.5, 8.5, 1.6),
    StandStory("green-stem", "green stem plant", "round-leaved stem", 9.0, 0.029, 0.009, 1.27, 1.0, (63.0, -27.0, 46.0),
               14.0, 8.8, 2.4),
    StandStory("rosette", "broad-leaved rosette", "rosette", 5.5, 0.0060, 0.006, 1.10, 1.10, (51.0, -24.0, 34.0)),
    StandStory("grass", "grass-like carpet", "grass", 2.6, 0.0060, 0.016, 1.15, 1.35, (65.0, -28.0, 47.0)),
    StandStory("fern", "fern-like plant on the root", "fern", 5.4, 0.0060, 0.006, 1.0, 1.0, (45.0, -20.0, 26.0)),
)  # fmt: skip

REGIMES: dict[str, tuple[PlannedDose, ...]] = {
    "sparing": (
        PlannedDose("macro", "1 stroke", 1.1, (2, 6)),
        PlannedDose("micro", "8 drops", 0.4, (0, 3)),
    ),
    "full": (
        PlannedDose("macro", "4 strokes", 4.4, (1, 3, 6)),
        PlannedDose("micro", "1.2 mL", 1.2, (0, 2, 4)),
    ),
}

ALGAE_END = {
    "sparing": {"stone": 0.11, "wood": 0.14, "glass": 0.05},
    "full": {"stone": 0.36, "wood": 0.30, "glass": 0.15},
}


def tell(seed: int, *, days: int) -> Story:
    """Return the facts for `seed` (0 or more) and a trial of `days` days.

    Seed 1 tells the facts above as they stand; every other seed draws its own rates (within about 15 %), leaf
    colours, tank effect, algae and phone.
    """
    stands, algae = STANDS, ALGAE_END
    tank_rate = {"left": 1.03, "right": 0.98}
    phone = PHONES["contrasty"]
    arm_of = {"left": "full", "right": "sparing"}
    if seed != 1:
        rng = np.random.default_rng([seed, 1])
        stands = tuple(_varied(stand, rng) for stand in STANDS)
        algae = {
            arm: {kind: float(end * rng.uniform(0.7, 1.4)) for kind, end in ends.items()}
            for arm, ends in ALGAE_END.items()
        }
        tank_rate = {tank: float(rng.normal(1.0, 0.04)) for tank in tank_rate}
        phone = PHONES[str(rng.choice(sorted(PHONES)))]
        if rng.random() < 0.5:
            arm_of = {"left": "sparing", "right": "full"}
    return Story(
        seed=seed,
        days=days,
        stands=stands,
        regimes=REGIMES,
        arm_of=arm_of,
        tank_rate=tank_rate,
        algae_end=algae,
        nitrate_uptake_per_day=0.085,
        phone=phone,
    )


def _varied(stand: StandStory, rng: np.random.Generator) -> StandStory:
    """One stand with its own rates and leaf colour."""
    lightness, a, b = stand.leaf_lab
    height_rate = stand.height_rate * rng.uniform(0.85, 1.15)
    full_height = 1 + (stand.full_height - 1) * rng.uniform(0.3, 1.4)
    # Cut early enough that no stand reaches the surface before the next Saturday.
    limit = None if stand.limit_cm is None else min(stand.limit_cm, 17.5 * exp(-7 * height_rate * full_height * 1.08))
    return replace(
        stand,
        limit_cm=limit,
        height_rate=height_rate,
        full_height=full_height,
        start_cm=stand.start_cm * rng.uniform(0.92, 1.08),
        spread_rate=stand.spread_rate * rng.uniform(0.85, 1.15),
        leaf_lab=(lightness + rng.uniform(-4, 4), a + rng.uniform(-5, 5), b + rng.uniform(-6, 6)),
        full_redder_a=stand.full_redder_a * rng.uniform(0.3, 1.3),
    )
