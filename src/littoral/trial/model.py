"""The trial as data: everything a person wrote in the trial file, checked and in canonical units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from littoral.feeding.bottles import Bottle
from littoral.feeding.regimes import Regime
from littoral.tank.volume import Vessel
from littoral.trial.plan import PARALLEL, Plan
from littoral.trial.schedule import SameCare, Schedule

RegionKind = Literal["stand", "stone", "wood", "glass", "card"]
CHART_EDITIONS = ("before Nov 2014", "after Nov 2014")
Direction = Literal["higher", "lower"]
DosesNoted = Literal["all", "exceptions"]
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class SourceWater:
    """Water used for changes: mg/L of each nutrient (see `chemistry.nutrients`)."""

    name: str
    level_mg_per_l: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Tank:
    """One tank. `vessel` is None where no water is tracked (a pot, a well): no levels, doses or costs then.

    `uptake_per_day` is the stated first-order uptake (1/day) of each nutrient for the likely line of its level.
    `start_level_mg_per_l` is the level at day 0; nutrients left out start at the source water's level.
    """

    key: str
    name: str
    vessel: Vessel | None
    evaporation_l_per_day: float = 0.0
    topped_up_with: Literal["pure water", "source water"] = "pure water"
    uptake_per_day: Mapping[str, float] = field(default_factory=dict)
    start_level_mg_per_l: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Stand:
    """One kind of plant in one place; it stands in each of `tanks`."""

    key: str
    name: str
    tanks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Arm:
    """One level of the factor. `regime` is None where nothing is dosed."""

    key: str
    name: str
    tanks: tuple[str, ...]
    regime: str | None = None


@dataclass(frozen=True, slots=True)
class Region:
    """A polygon on a view, in the pixels of the view's frame. `key` is a stand's key where kind is "stand".

    `look` says how the stand is told from its background: "auto" (found from the series), "chroma" or "green".
    `reflects` is the share of light that a card reflects, 0 to 1, where it is known; `chart` the edition of a card that
    is a chart of 24 patches.
    """

    key: str
    kind: RegionKind
    polygon_px: tuple[Point, ...]
    look: str = "auto"
    reflects: float | None = None
    chart: str | None = None


@dataclass(frozen=True, slots=True)
class Pane:
    """One tank within a view: its four corners (top left, top right, bottom right, bottom left), and its regions.

    `corners_px` is None where the whole frame shows the tank; `width_cm` is the distance between the left and right
    corners (or across the frame), None where there is no scale, then no measure in cm is given.
    """

    tank: str
    regions: tuple[Region, ...]
    corners_px: tuple[Point, Point, Point, Point] | None = None
    width_cm: float | None = None


@dataclass(frozen=True, slots=True)
class View:
    """One fixed camera position, showing one or several tanks. `photos` is a folder relative to the trial file.

    Regions are drawn on a frame of `frame_px` (width, height) pixels. `camera_locked` says that exposure and white
    balance were fixed. `panes` are as drawn last. `earlier` says how the view was drawn before that, by day: each
    drawing with the day of the trial up to which it held. Photos of those days are measured by it.
    """

    key: str
    name: str
    photos: str
    match: str
    frame_px: tuple[int, int]
    panes: tuple[Pane, ...]
    camera_locked: bool = False
    earlier: tuple[tuple[float, tuple[Pane, ...]], ...] = ()

    def panes_on(self, day: float) -> tuple[Pane, ...]:
        """Return the view's panes as they were drawn for a day of the trial."""
        return next((panes for until, panes in self.earlier if day < until), self.panes)


@dataclass(frozen=True, slots=True)
class Question:
    """One question. `measure` is a key of `trial.measures.MEASURES`; `of` lists stand or region keys, empty means all.

    `smallest` is the smallest difference that matters, in the measure's unit; None where none was set.
    `threshold_points` is the cover in percent points from which algae count as come; None: as common practice says.
    """

    key: str
    ask: str
    measure: str
    of: tuple[str, ...] = ()
    expect: tuple[str, Direction] | None = None
    smallest: float | None = None
    primary: bool = False
    threshold_points: float | None = None


@dataclass(frozen=True, slots=True)
class Band:
    """Where a level should stay, mg/L; None: no floor, or no ceiling."""

    floor_mg_per_l: float | None = None
    ceiling_mg_per_l: float | None = None


@dataclass(frozen=True, slots=True)
class OwnMethod:
    """A keeper's own way to test one nutrient. `called` is its name in entries, `kind` one of `reading_methods`.

    `standard_reads` holds what it showed of a known standard of `standard_mg_per_l`: (low, high) in mg/L each.
    """

    key: str
    called: str
    kind: str
    standard_mg_per_l: float | None = None
    standard_reads: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Trial:
    """A whole trial. Day 0 is local midnight of `start` in `zone`; the regimes differ from `baseline_days` on.

    Before that every tank gets `baseline_regime` (None: nothing). `length_days` counts from day 0; it is whole where
    anything is dosed, and `baseline_days` always is. `doses_noted` says whether entries hold all doses, or only where
    they departed from the plan. `bands` are by nutrient. `plan` says how arms are swapped by period, or tanks paired
    (`trial.periods`).
    """

    key: str
    title: str
    factor: str
    start: date
    zone: str
    baseline_days: float
    length_days: float
    arms: tuple[Arm, ...]
    questions: tuple[Question, ...]
    tanks: Mapping[str, Tank]
    stands: Mapping[str, Stand]
    views: Mapping[str, View]
    bottles: Mapping[str, Bottle]
    regimes: Mapping[str, Regime]
    source: SourceWater | None = None
    baseline_regime: str | None = None
    held_equal: tuple[str, ...] = ()
    drawn: str = ""
    draw_seed: int | None = None
    currency: str = "EUR"
    rendered: bool = False
    doses_noted: DosesNoted = "all"
    bands: Mapping[str, Band] = field(default_factory=dict)
    methods: tuple[OwnMethod, ...] = ()
    schedule: Schedule = field(default_factory=Schedule)
    same_care: SameCare = field(default_factory=SameCare)
    plan: Plan = PARALLEL

    def arm_of(self, tank: str) -> Arm:
        """Return the arm that a tank is listed in (whose regime it begins with); KeyError names a tank in no arm."""
        for arm in self.arms:
            if tank in arm.tanks:
                return arm
        raise KeyError(tank)
