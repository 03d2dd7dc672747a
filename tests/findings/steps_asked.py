"""Tanks, levels and findings as the next week is asked about."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from hypothesis import strategies as st

from littoral.acts.see_levels import SeenLevels, see_levels
from littoral.findings.decide import decide_next
from littoral.findings.next_week.model import (
    DoseAhead,
    LevelAhead,
    Reason,
    TankAhead,
)
from littoral.findings.next_week.outlook import tanks_ahead
from littoral.tank.volume import Vessel
from littoral.trial.days import instant_of
from littoral.trial.entries import Entry, Note
from littoral.trial.model import Tank, Trial

NUTRIENTS = ("nitrate", "phosphate", "potassium", "ammonium")


ROOM = st.none() | st.floats(0.0, 8.0)


SELDOM = st.integers(0, 9).map(lambda drawn: drawn == 0)


@st.composite
def level(draw: st.DrawFn, nutrient: str) -> LevelAhead:
    high = draw(st.floats(0.0, 20.0))
    ceiling, limit = (None if room is None else high + room for room in (draw(ROOM), draw(ROOM)))
    low = draw(st.floats(0.0, 1.0)) * high
    floor = draw(st.none() | st.just(low / 2))
    return LevelAhead(
        nutrient=nutrient, low=low, high=high, floor=floor, ceiling=ceiling, limit=limit, limit_name="a limit",
        limit_open="needs hardness" if draw(SELDOM) else "", unfollowed=draw(SELDOM),
    )  # fmt: skip


@st.composite
def tank(draw: st.DrawFn, key: str) -> TankAhead:
    brought = st.sampled_from(NUTRIENTS[: 4 if draw(SELDOM) else 3])
    doses = tuple(
        DoseAhead(
            at=at,
            bottle=draw(st.sampled_from(["macro", "salt"])),
            name="bottle",
            when="Wed",
            amount=draw(st.floats(0.01, 500.0)),
            unit="mL",
            adds_per_week=draw(st.dictionaries(brought, st.floats(0.1, 20.0), min_size=1)),
        )
        for at in range(draw(st.integers(1, 3)))
    )
    ways = st.sampled_from(["up", "up", "up", "down"])
    reasons = draw(st.lists(st.tuples(st.sampled_from(NUTRIENTS[:3]), ways), min_size=1, max_size=2))
    return TankAhead(
        tank=key,
        name=f"{key} tank",
        arm=key,
        levels={one: draw(level(one)) for one in NUTRIENTS[: draw(st.integers(0, 3))]},
        doses=doses,
        reasons=tuple(Reason(nutrient, way, "level", f"{nutrient} {way}.") for nutrient, way in reasons),
        urgent=("a limit is passed.",) if draw(SELDOM) else (),
    )


def low_nitrate(**more: Any) -> TankAhead:
    levels = {"nitrate": LevelAhead("nitrate", 1.0, 6.0, floor=5.0, ceiling=20.0, chance_below=0.8)}
    dose = DoseAhead(0, "macro", "macro stock", "Wed, Sun", 4.0, "mL", {"nitrate": 6.0})
    made = TankAhead(
        "right", "right tank", "sparing", levels, (dose,), (Reason("nitrate", "up", "level", "Nitrate is low."),)
    )
    return replace(made, **more)


def decided(made: ModuleType, **more: Any) -> Any:
    growth = made.keeper_finding((0.025, 0.001), (0.035, 0.001), error=0.001)
    return decide_next(made.keeper_trial(), [growth], rng=np.random.default_rng(1), **more)


def three_tanks(made: ModuleType, **changes: Any) -> Trial:
    """The trial of a keeper whose sparing arm has a second tank, which holds a third of the water."""
    trial = made.keeper_trial()
    small = Tank("small", "small tank", Vessel(20, 30, 30, 27))
    sparing, full = (next(arm for arm in trial.arms if arm.key == key) for key in ("sparing", "full"))
    arms = tuple(replace(arm, tanks=("right", "small")) if arm is sparing else arm for arm in trial.arms)
    assert full.tanks == ("left",)
    return replace(trial, arms=arms, tanks={**trial.tanks, "small": replace(small, **changes)})


def note(trial: Any, day: float, text: str, tank: str | None = "left") -> Entry:
    return Entry(f"n{day}", instant_of(day, trial), "UTC", tank, Note(text))


@pytest.fixture(scope="module")
def seen(levels_logbook: Path) -> SeenLevels:
    now = datetime(2026, 3, 23, 12, tzinfo=UTC) + timedelta(days=2)
    return see_levels(levels_logbook, "two-tanks", now=now)


def left_with(seen: SeenLevels, text: str, *, shares: dict[str, float] | None = None) -> TankAhead:
    """The left tank with a note of leaves; `shares` replace which element is the scarcest, and how likely."""
    estimates, noted = seen.estimates, note(seen.trial, seen.estimates.now_day - 1, text)
    limiting = dict(estimates.limiting)
    if shares is not None:
        limiting["left"] = tuple(replace(one, probability=shares, none=0.0) for one in limiting["left"])
    kept = replace(estimates.kept, entries=(*estimates.kept.entries, noted))
    every = tanks_ahead(seen.trial, replace(estimates, kept=kept, limiting=limiting))
    return next(one for one in every if one.tank == "left")
