"""A small trial, and a book that holds its entries: enough for every finding, without files or photos."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from littoral.feeding.bottles import Bottle, Pack, Recommended
from littoral.feeding.regimes import PlannedChange, PlannedDose, Regime
from littoral.findings.measured import Measured, MeasuredPhoto
from littoral.imaging.results import RegionMeasure
from littoral.tank.volume import Vessel
from littoral.trial.days import instant_of
from littoral.trial.entries import Entry, Payload
from littoral.trial.model import Arm, Pane, Question, Region, SourceWater, Stand, Tank, Trial, View

SQUARE = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))
REGIONS = (
    Region("red-stem", "stand", SQUARE),
    Region("carpet", "stand", SQUARE),
    Region("stone", "stone", SQUARE),
    Region("root", "wood", SQUARE),
    Region("card", "card", SQUARE),
)
VESSEL = Vessel(length_cm=50, width_cm=40, height_cm=55, fill_cm=50)  # 100 L


@dataclass
class FakeBook:
    """What findings ask of a logbook."""

    trial_: Trial
    entries_: list[Entry] = field(default_factory=list)

    def entries(self, trial_key: str) -> tuple[Entry, ...]:
        assert trial_key == self.trial_.key
        return tuple(sorted(self.entries_, key=lambda entry: (entry.at, entry.id)))

    def note(self, day: float, tank: str | None, payload: Payload) -> Entry:
        entry = Entry(f"e{len(self.entries_):04d}", instant_of(day, self.trial_), "UTC", tank, payload)
        self.entries_.append(entry)
        return entry


def pane(tank: str) -> Pane:
    return Pane(tank, REGIONS, width_cm=50.0)


def view(tank: str) -> View:
    return View(tank, f"{tank} view", f"photos/{tank}", "*.jpg", (100, 100), (pane(tank),))


def build_trial(*questions: Question, baseline_days: float = 14.0, tanks_per_arm: int = 1) -> Trial:
    names = {"left": "sparing", "right": "full"}
    keys = {side: [side if n == 0 else f"{side}{n + 1}" for n in range(tanks_per_arm)] for side in names}
    tanks = {key: Tank(key, f"{key} tank", VESSEL) for side in names for key in keys[side]}
    full = Regime("full", "full", (PlannedDose("macro", (0, 2, 4), ml=10.0),), (PlannedChange(0.5, (5,)),))
    sparing = Regime("sparing", "sparing", (PlannedDose("macro", (0,), ml=10.0),), (PlannedChange(0.5, (5,)),))
    return Trial(
        key="small",
        title="Small trial",
        factor="feeding regime",
        start=date(2026, 3, 2),  # a Monday
        zone="UTC",
        baseline_days=baseline_days,
        length_days=56.0,
        arms=tuple(Arm(regime, regime, tuple(keys[side]), regime) for side, regime in names.items()),
        questions=questions,
        tanks=tanks,
        stands={
            "red-stem": Stand("red-stem", "red stem plant", tuple(tanks)),
            "carpet": Stand("carpet", "grass-like carpet", tuple(tanks)),
        },
        views={key: view(key) for key in tanks},
        bottles={
            "macro": Bottle(
                "macro",
                "macro stock",
                content_mg_per_ml={"nitrate": 40.0, "potassium": 25.0},
                recommended=Recommended(ml=20.0, per_l=100.0, days=7.0),
                packs={"bottle": Pack(500.0, "ml", 10.0)},
            )
        },
        regimes={"full": full, "sparing": sparing},
        source=SourceWater("tap", {"nitrate": 10.0}),
        baseline_regime="sparing",
    )


Takes = Mapping[str, Callable[[int, str], Mapping[str, Any]]]
"""For each region: (photo's whole day, tank) to fields of RegionMeasure."""


def build_measured(trial: Trial, takes: Takes, *, skip: Sequence[int] = ()) -> Measured:
    photos: list[MeasuredPhoto] = []
    for tank in trial.tanks:
        for day in range(int(trial.length_days)):
            if day in skip:
                continue
            regions = tuple(
                RegionMeasure(tank, region.key, region.kind, **takes[region.key](day, tank))
                for region in REGIONS
                if region.key in takes
            )
            photos.append(
                MeasuredPhoto(
                    f"photo-{tank}-{day}", f"{tank}{day}", tank, day + 0.5, Path("x.jpg"), 0.8, 0.1, "card", (), regions
                )
            )
    return Measured(tuple(photos), "test")


@pytest.fixture
def make_trial() -> Callable[..., Trial]:
    return build_trial


@pytest.fixture
def make_measured() -> Callable[..., Measured]:
    return build_measured


@pytest.fixture
def make_book() -> Callable[[Trial], FakeBook]:
    return FakeBook


@pytest.fixture
def one_frame() -> Callable[[Trial], Trial]:
    """Return a trial whose tanks stand in one view, as its first."""

    def together(trial: Trial) -> Trial:
        first = next(iter(trial.views.values()))
        return replace(trial, views={first.key: replace(first, panes=tuple(pane(tank) for tank in trial.tanks))})

    return together


@pytest.fixture
def noise() -> Callable[[int, str, float], float]:
    """Return one fixed normal deviate of a spread for each day and tank."""

    def deviate(day: int, tank: str, spread: float) -> float:
        return float(np.random.default_rng([day, *tank.encode()]).normal(0, spread))

    return deviate
