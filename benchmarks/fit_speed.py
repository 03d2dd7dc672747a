"""Rows of `make bench` about the fit: two tanks with twelve readings, and a what-if while a dose is dragged."""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from rows import Row, row

from littoral.feeding.bottles import Bottle
from littoral.feeding.regimes import PlannedChange, PlannedDose, Regime
from littoral.findings.estimates.estimated import estimate_levels
from littoral.findings.estimates.other_regime import other_bands
from littoral.logbook.whole_files import write_whole
from littoral.tank.events import TankEvent
from littoral.tank.fit.fit import fit_levels
from littoral.tank.fit.kept_tank import KeptTank
from littoral.tank.fit.methods import Reading, step_borders
from littoral.tank.fit.priors import default_priors, usual_method
from littoral.tank.volume import Vessel
from littoral.trial.days import instant_of
from littoral.trial.entries import Dose, Entry, Payload, WaterChange
from littoral.trial.entries import Reading as NotedReading
from littoral.trial.model import Arm, SourceWater, Tank, Trial

STEPS = (0.0, 5.0, 10.0, 20.0, 40.0, 80.0)
SHOWN = {"left": (10, 10, 20, 20, 20, 20), "right": (10, 5, 5, 5, 5, 5)}
"""What a colour card showed just before six weekly changes; invented."""
FIT_S, WHAT_IF_S = 10.0, 0.2
Paired = Callable[..., tuple[float, float]]


def fit_rows(paired: Paired) -> list[Row]:
    """A whole fit against one draw of SciPy's integrator; a what-if of one tank against its own forecast."""
    from levels_speed import one_integrated_draw

    fit_s, draw_s = paired(_fit, one_integrated_draw, rounds=1)
    rows = [
        row(
            "full fit of nitrate, two tanks, twelve readings, six weeks",
            fit_s,
            "s",
            reference=f"scipy.integrate.solve_ivp of one draw over 84 days, {draw_s:.4g} s",
            limit=f"under {FIT_S:g} s on two cores",
            holds=fit_s < FIT_S,
            source="timed in this run",
            ratio=fit_s / draw_s,
        )
    ]
    with tempfile.TemporaryDirectory() as folder:
        book = _Book(_trial(), Path(folder))
        seen = estimate_levels(book, book.trial, now=instant_of(42.0, book.trial))  # type: ignore[arg-type]
        regime = book.trial.regimes["right"]
        tried_s, draw_s = paired(
            lambda: other_bands(book.trial, seen, tank="right", regime=regime), one_integrated_draw, rounds=3
        )
    rows.append(
        row(
            "a what-if of one tank, all its nutrients",
            tried_s,
            "s",
            reference=f"scipy.integrate.solve_ivp of one draw over 84 days, {draw_s:.4g} s",
            limit=f"under {WHAT_IF_S:g} s of the server's time",
            holds=tried_s < WHAT_IF_S,
            source="timed in this run",
            ratio=tried_s / draw_s,
        )
    )
    return rows


def _fit() -> None:
    kit = usual_method("colour_steps", borders_mg_per_l=step_borders(STEPS), key="kit")
    tanks, readings = [], []
    for key, dose_mg in (("left", 300.0), ("right", 100.0)):
        events = [TankEvent(7.0 * week + day + 0.8, np.array([dose_mg])) for week in range(6) for day in (0, 2, 4)]
        events += [TankEvent(7.0 * week + 6.5, share_changed=0.4) for week in range(6)]
        tanks.append(KeptTank(key, key, ("nitrate",), tuple(events), 50.0))
        for week, step in enumerate(SHOWN[key]):
            low, high = _borders(step)
            readings.append(Reading(key, "nitrate", 7.0 * week + 6.4, "kit", low, high))
    fit_levels(tanks, readings, default_priors({"kit": kit}), np.random.default_rng(1))


def _borders(step: float) -> tuple[float, float]:
    borders, at = step_borders(STEPS), STEPS.index(step)
    return borders[at], borders[at + 1]


@dataclass
class _Book:
    """What an estimate asks of a logbook: a trial's entries, and a place to keep what was computed."""

    trial: Trial
    folder: Path

    def entries(self, _key: str) -> tuple[Entry, ...]:
        found: list[tuple[float, str, Payload]] = []
        for tank, shown in SHOWN.items():
            for week, step in enumerate(shown):
                low, high = _borders(step)
                found += [(7.0 * week + day + 0.8, tank, Dose("macro", ml=5.0)) for day in (0, 2, 4)]
                found.append(
                    (7.0 * week + 6.4, tank, NotedReading("nitrate", low, high, "colour card", f"{step} mg/L"))
                )
                found.append((7.0 * week + 6.5, tank, WaterChange(0.4)))
        return tuple(
            Entry(f"e{at}", instant_of(day, self.trial), "UTC", tank, payload)
            for at, (day, tank, payload) in enumerate(sorted(found, key=lambda one: one[0]))
        )

    def cache_path(self, kind: str, name: str) -> Path:
        return self.folder / f"{kind}-{name}"

    def keep_cached(self, kind: str, name: str, data: bytes) -> Path:
        write_whole(self.cache_path(kind, name), data)
        return self.cache_path(kind, name)


def _trial() -> Trial:
    doses, changes = (PlannedDose("macro", (0, 2, 4), ml=5.0),), (PlannedChange(0.4, (6,)),)
    return Trial(
        key="two", title="Two tanks", factor="feeding", start=date(2026, 3, 2), zone="UTC", baseline_days=0.0,
        length_days=56.0, arms=tuple(Arm(key, key, (key,), key) for key in SHOWN), questions=(),
        tanks={key: Tank(key, key, Vessel(60, 30, 30, 27)) for key in SHOWN}, stands={}, views={},
        bottles={"macro": Bottle("macro", "macro", {"nitrate": 40.0, "potassium": 25.0, "phosphate": 3.0})},
        regimes={key: Regime(key, key, doses, changes) for key in SHOWN}, source=SourceWater("tap", {"nitrate": 5.0}),
    )  # fmt: skip
