"""Conductivity of a water from its ions; the share of water really changed, from a meter; salts that build up.

An ion carries less the more ions there are: its limiting conductivity is lowered by γ^(0.6/√|z|), γ being the activity
coefficient (the way of PHREEQC: Parkhurst & Appelo 2013, US Geological Survey Techniques and Methods 6-A43, from memory
of the formula). Ion pairs are not reckoned with: against PHREEQC soft waters come out within 2 %, middling ones 3 %
high, hard ones rich in sulphate up to 8 % high. Potassium chloride keeps to the published table within 0.4 %.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from littoral.chemistry.activity import HIGHEST_IONIC_STRENGTH, activity_coefficient, ionic_strength_mol_per_l
from littoral.chemistry.charges import CHARGES
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.package_data import table
from littoral.chemistry.water_errors import WaterError, require, require_levels, require_ph
from littoral.quantities.check_row import CheckRow, Verdict
from littoral.quantities.derivation import Step

FloatArray = NDArray[np.float64]
CRC = "CRC Handbook, ionic conductivity at infinite dilution (from memory)"
PHREEQC_WAY = "Parkhurst & Appelo 2013 (PHREEQC), from memory of the formula"
PER_DEGREE = 0.0191
"""How much more a water conducts per °C, as a share of that at 25 °C: Standard Methods 2510 B (from memory)."""
TOLD = 0.2
"""A 95 % interval of the share changed up to this wide tells something; common practice, no source."""
METER_SCATTER = 0.01
"""One standard deviation of a pen's readings on the same day, as a share; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Conductivity:
    """A water's specific conductance at 25 °C, µS/cm, with each ion's part by nutrient, and how it came about."""

    us_per_cm: float
    of_ion_us_per_cm: Mapping[str, float]
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class ChangedShare:
    """The share (0 to 1) of the water that was really replaced, with its 95 % interval, checks and derivation."""

    share: float
    low: float
    high: float
    rows: tuple[CheckRow, ...]
    steps: tuple[Step, ...]


def conductivity_of(level_mg_per_l: Mapping[str, float], *, ph: float | None = None) -> Conductivity:
    """Return the conductivity at 25 °C of a water, from levels in mg/L by nutrient; uncharged ones do not count.

    `ph` adds H+ and OH-, which count in very soft water only. Up to an ionic strength of 0.1 mol/L; a charge that was
    not measured is missing from the sum. Source: module docstring. Raises WaterError.
    """
    require_levels(level_mg_per_l)
    strength = ionic_strength_mol_per_l(level_mg_per_l)
    what, why = "the ionic strength", "a fresh water"
    require(strength, what=what, low=0.0, high=HIGHEST_IONIC_STRENGTH, unit="mol/L", why=why)
    carries = table("conductivity")["equivalent_s_cm2_per_mol"]
    mmol = {key: level / NUTRIENTS[key].weight for key, level in level_mg_per_l.items() if key in CHARGES and level > 0}
    charge = {key: abs(CHARGES[key]) for key in mmol}
    if ph is not None:
        hydrogen = 10.0 ** -require_ph(ph)
        for key, mol in (("hydrogen", hydrogen), ("hydroxide", 1e-14 / hydrogen)):
            mmol[key], charge[key] = 1000.0 * mol, 1
    slowed = {z: _slowed(z, strength) for z in set(charge.values())}
    parts = {key: carries[key] * charge[key] * mmol[key] * slowed[charge[key]] for key in mmol}
    total = sum(parts.values())
    bare = sum(carries[key] * charge[key] * mmol[key] for key in mmol)
    formula = {key: f"{mmol[key]:.4g} mmol/L x {charge[key]} x {carries[key]:g} S cm²/mol" for key in parts}
    largest_first = sorted(parts, key=lambda key: -parts[key])
    steps = (
        *(Step(f"{key}, slowed", formula[key], f"{parts[key]:.4g} µS/cm", CRC) for key in largest_first),
        Step("sum without slowing", "Σ mmol/L x charge x conductivity", f"{bare:.4g} µS/cm", CRC),
        Step(
            "conductivity at 25 °C",
            f"each x γ^(0.6/√charge) at I = {1000 * strength:.3g} mmol/L",
            f"{total:.4g} µS/cm",
            PHREEQC_WAY,
        ),
    )
    return Conductivity(total, parts, steps)


def at_25_c_us_per_cm(measured_us_per_cm: float, *, temperature_c: float) -> float:
    """Return what a meter that does not correct for temperature would read at 25 °C, µS/cm, from 5 to 40 °C.

    Source: k25 = k / (1 + 0.0191 (t - 25)), Standard Methods 2510 B (from memory). Raises WaterError.
    """
    require(measured_us_per_cm, what="the conductivity", low=0.0, high=math.inf, unit="µS/cm")
    require(temperature_c, what="the temperature", low=5.0, high=40.0, unit="°C", why="straight there")
    return measured_us_per_cm / (1.0 + PER_DEGREE * (temperature_c - 25.0))


def changed_share(
    *,
    before_us_per_cm: float,
    after_us_per_cm: float,
    source_us_per_cm: float,
    scatter: float = METER_SCATTER,
    repeats: int = 1,
    stated_share: float | None = None,
) -> ChangedShare:
    """Return the share of water changed, from conductivity before and after the change and of the new water, µS/cm.

    All three by one meter on one day, after mixing: what the meter reads off altogether cancels. `scatter` is one
    standard deviation of a reading as a share, `repeats` how often each was read. `stated_share` is what was meant to
    be changed. Source: w = (before - after) / (before - source), conductivity taken as additive: it is not quite, and
    half of a hard water changed for a very soft one reads as 48 %. The error is to first order. Raises WaterError.
    """
    given = {"before": before_us_per_cm, "after": after_us_per_cm, "of the new water": source_us_per_cm}
    for what, value in given.items():
        require(value, what=f"the conductivity {what}", low=0.0, high=1e5, unit="µS/cm")
    require(scatter, what="the scatter of a reading", low=0.0, high=0.5)
    require(repeats, what="the number of repeats", low=1, high=1000)
    if stated_share is not None:
        require(stated_share, what="the share that was meant", low=0.0, high=1.0)
    b, a, s = before_us_per_cm, after_us_per_cm, source_us_per_cm
    if b == s:
        right = "Such water tells nothing about a change; mark it otherwise, or measure the litres."
        raise WaterError(what=f"tank and new water both conduct {b:g} µS/cm", right=right)
    w = (b - a) / (b - s)
    one = scatter / math.sqrt(repeats)
    sd = math.hypot(b * one * (a - s), a * one * (b - s), s * one * (b - a)) / (b - s) ** 2
    low, high = w - 1.96 * sd, w + 1.96 * sd
    formula = f"({b:g} - {a:g}) / ({b:g} - {s:g})"
    span = f"{100 * low:.3g} to {100 * high:.3g} %"
    steps = (
        Step("share of the water changed", formula, f"{100 * w:.3g} %", "mixing of two waters"),
        Step("its 95 % interval", f"readings ±{100 * one:.2g} % each", span, "to first order"),
    )
    kept, kept_low, kept_high = (min(max(value, 0.0), 1.0) for value in (w, low, high))
    return ChangedShare(kept, kept_low, kept_high, _share_rows(w, low, high, stated_share), steps)


def salts_after_changes(
    *, source: float, evaporated_share: float, share_changed: float, changes: int, start: float | None = None
) -> tuple[FloatArray, float]:
    """Return what salts a tank holds just before each of some changes, and where that settles, in the source's unit.

    The unit is that of `source`: µS/cm, mmol/L of hardness or mg/L. Between changes `evaporated_share` of the volume
    evaporates and is made up with source water, which leaves its salts; at each change `share_changed` is replaced.
    Nothing takes salts up. Returned: shape (changes,), and the limit, infinite without changes. Source: the geometric
    series x_n = x_0 (1-w)^n + ..., limit S (1 + e/w). Raises WaterError.
    """
    require(source, what="the source water's figure", low=0.0, high=math.inf)
    require(evaporated_share, what="the share that evaporates between changes", low=0.0, high=1.0)
    require(share_changed, what="the share changed", low=0.0, high=1.0)
    require(changes, what="the number of changes", low=1, high=10_000)
    first = source if start is None else require(start, what="the start", low=0.0, high=math.inf)
    kept = 1.0 - share_changed
    n = np.arange(changes, dtype=np.float64)
    gained = evaporated_share * source
    if share_changed == 0.0:
        growing: FloatArray = first + gained * (n + 1.0)
        return growing, math.inf if gained > 0 else first
    limit = source + gained / share_changed
    settling: FloatArray = limit + (first + gained - limit) * kept**n
    return settling, limit


def _slowed(charge: int, strength: float) -> float:
    """What is left of an ion's limiting conductivity (0 to 1), charge without sign, at an ionic strength in mol/L."""
    gamma = activity_coefficient(charge, ionic_strength=strength, temperature_c=25.0)
    return float(gamma ** (0.6 / math.sqrt(charge)))


def _share_rows(w: float, low: float, high: float, stated: float | None) -> tuple[CheckRow, ...]:
    told = high - low <= TOLD
    comment = "The readings are far enough apart."
    if not told:
        comment = "Tank and new water conduct too much alike: read each several times, or measure the litres."
    rows = [
        CheckRow(
            what="how sharply the change can be told",
            value=high - low,
            operator="<=",
            limit=TOLD,
            unit="of the water",
            verdict="holds" if told else "warns",
            comment=comment,
            source="width of the 95 % interval; limit: common practice, no source",
        )
    ]
    if low > 1 or high < 0:
        comment = "No change of water gives these three readings: was the new water the one that was measured?"
        rows.append(CheckRow("share changed", w, "within 0 to 1", None, "of the water", "fails", comment, "mixing"))
    if stated is not None:
        agrees = low <= stated <= high
        comment = "As meant."
        if not agrees:
            comment = f"The meter says {100 * w:.0f} %, {100 * stated:.0f} % was meant. "
            comment += "Is the net volume right, and was the water mixed?"
        verdict: Verdict = "holds" if agrees else "warns"
        where = "within the interval"
        rows.append(CheckRow("share meant", stated, where, None, "of the water", verdict, comment, "mixing"))
    return tuple(rows)
