"""Simulated keepers: do the bands of `littoral.tank.fit` hold the truth as often as they say?

Two kinds of truth. For simulation-based calibration (Talts et al. 2018, arXiv 1804.06788, memory) keepers are drawn
from the model and its priors, and ranks must be uniform. For the coverage table the truth is another one, on purpose:
uptake is integrated by SciPy with plants that grow and are trimmed, dark and light hours, food given once a day, and an
error in every single dose and change; kits err as kits do. Run: python benchmarks/keepers.py [keepers] [processes]
"""

from __future__ import annotations

import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.stats import chisquare

from littoral.tank.events import TankEvent
from littoral.tank.fit.fit import fit_levels
from littoral.tank.fit.forecast import estimate, level_draws, net_removal
from littoral.tank.fit.forward import levels_of
from littoral.tank.fit.kept_tank import KeptTank, stretches
from littoral.tank.fit.layout import layout_of, tank_draws
from littoral.tank.fit.likelihood import step_shares
from littoral.tank.fit.methods import Method, Reading, step_borders
from littoral.tank.fit.priors import Priors, default_priors, usual_method

Array = NDArray[np.float64]
NET_L = 60.0
WEEKS = (2, 4, 6)
STEPS = (0, 5, 10, 20, 40, 80)
FIRST = 1000
"""Number of the first keeper of the table: those below were looked at while the priors were chosen."""
DESIGNS = ("kit weekly", "kit before and after", "photometer weekly")


@dataclass(frozen=True)
class Keeper:
    """One keeper: the tank as noted, true levels just before each weekly change, and readings by design."""

    tank: KeptTank
    truth: dict[int, float]
    readings: dict[str, list[Reading]]


def methods() -> dict[str, Method]:
    """Return the kit and the photometer; the photometer errs by 8 % and 1 mg/L."""
    kit = usual_method("colour_steps", borders_mg_per_l=step_borders(STEPS), key="kit")
    return {"kit": kit, "photometer": usual_method("photometer", top_mg_per_l=100.0, key="photometer")}


def noted(rng: np.random.Generator) -> KeptTank:
    """Return a calendar of seven weeks: three doses a week, a change on each seventh day."""
    share, weekly = rng.choice([0.25, 0.3, 0.4, 0.5]), rng.choice([2.0, 4.0, 6.0, 9.0, 14.0])
    events = [TankEvent(day + 0.4, np.array([weekly / 3 * NET_L])) for day in range(49) if day % 7 in (1, 3, 5)]
    events += [TankEvent(7.0 * week + 0.5, share_changed=share) for week in range(1, 8)]
    return KeptTank("tank", "arm", ("nitrate",), tuple(sorted(events, key=lambda e: e.day)), NET_L)


def true_levels(rng: np.random.Generator, tank: KeptTank, days: Array) -> Array:
    """Return levels on ascending days by another model than the fit's, mg/L; see the head of this module."""
    uptake, half = 1.5 * np.exp(0.8 * rng.standard_normal()), 3.0 * np.exp(1.0 * rng.standard_normal())
    food, soil = 0.2 * np.exp(0.8 * rng.standard_normal()), 0.2 * np.exp(0.8 * rng.standard_normal())
    source, level = 3.0 * np.exp(0.9 * rng.standard_normal()), 10.0 * np.exp(0.8 * rng.standard_normal())
    growth, most = rng.uniform(0.005, 0.04), rng.uniform(1.3, 2.5)
    trims = set(np.arange(rng.integers(10, 20), 49, rng.integers(12, 22)).tolist())
    volume, plants, now, found = np.exp(0.06 * rng.standard_normal()), 1.0, 0.0, {}
    hand = np.exp(0.08 * rng.standard_normal())

    def slope(day: float, state: Array) -> list[float]:
        light = 1.6 if 0.4 <= day % 1 <= 0.8 else 0.6
        c, b = max(state[0], 0.0), state[1]
        fed = food * (8.0 if 0.75 <= day % 1 <= 0.875 else 0.0)
        return [fed + soil * np.exp(-day / 40) - uptake * b * light * c / (half + c), growth * b * (1 - b / most)]

    stops = sorted({*days, *(e.day for e in tank.events), *np.arange(0.0, 50.0, 1.0)})
    by_day = {event.day: event for event in tank.events}
    for stop in (one for one in stops if one <= days[-1]):
        if stop > now:
            end = solve_ivp(slope, (now, stop), [level, plants], rtol=1e-5, atol=1e-6, max_step=0.1).y[:, -1]
            level, plants, now = max(float(end[0]), 0.0), float(end[1]), stop
        if stop in trims:
            plants *= rng.uniform(0.5, 0.8)
        event = by_day.get(stop)
        if event is not None:
            share = 1 - (1 - event.share_changed) ** (hand * np.exp(0.08 * rng.standard_normal()))
            level = level * (1 - share) + source * share
            if event.adds_mg is not None:
                level += float(event.adds_mg[0]) / NET_L / volume * np.exp(0.08 * rng.standard_normal())
        found[stop] = level
    return np.array([found[day] for day in days])


def read(rng: np.random.Generator, method: Method, day: float, level: float, log_bias: float) -> Reading:
    """Return what a keeper notes: the step of the colour seen, now and then its neighbour, or a meter's number."""
    if method.kind == "number":
        x = level * np.exp(log_bias)
        value = max(x + rng.standard_normal() * np.hypot(0.08 * x, 1.0), 0.0)
        return Reading("tank", "nitrate", day, method.key, value, value)
    borders = method.borders_mg_per_l
    seen = max(level, 1e-9) * np.exp(log_bias + method.judgement_log_sd * rng.standard_normal())
    step = int(np.searchsorted(borders, seen, side="right")) - 1
    if rng.random() < method.misread_share:
        step = int(np.clip(step + rng.choice([-1, 1]), 0, len(borders) - 2))
    return Reading("tank", "nitrate", day, method.key, borders[step], borders[step + 1])


def keeper(number: int) -> Keeper:
    """Return keeper `number` of the realistic kind, the same every time."""
    rng = np.random.default_rng([20261128, number])
    tank, known = noted(rng), methods()
    before, after = np.arange(1, 7) * 7.0 + 0.45, np.arange(1, 7) * 7.0 + 0.55
    every = true_levels(rng, tank, np.sort(np.concatenate([before, after])))
    bias = {key: method.bias_log_sd * rng.standard_normal() for key, method in known.items()}
    rows = list(zip(np.sort(np.concatenate([before, after])), every, strict=True))
    kit = [read(rng, known["kit"], day, level, bias["kit"]) for day, level in rows]
    meter = [read(rng, known["photometer"], day, level, bias["photometer"]) for day, level in rows[::2]]
    readings = {DESIGNS[0]: kit[::2], DESIGNS[1]: kit, DESIGNS[2]: meter}
    return Keeper(tank, {week: float(every[2 * week - 2]) for week in range(1, 7)}, readings)


def bands_of(number: int, design: str, weeks: tuple[int, ...] = WEEKS) -> list[list[float]]:
    """Return for each of some weeks: truth, mean, median, and the ends of the 50 % and 90 % bands, mg/L, and R-hat."""
    one, rows = keeper(number), []
    for week in weeks:
        last = 7.0 * week + 0.45
        # before and after: the change of this week has not been done yet
        given = [reading for reading in one.readings[design] if reading.day <= last]
        rng = np.random.default_rng([7, number, week])
        posterior = fit_levels([one.tank], given, default_priors(methods()), rng)
        draws = level_draws(posterior, tank="tank", nutrient="nitrate", days=[last])[:, 0]
        e = estimate(draws)
        r_hat = posterior.fits[0].mixing.r_hat
        rows.append([one.truth[week], draws.mean(), e.median, e.low_50, e.high_50, e.low_90, e.high_90, r_hat])
    return rows


def calibration_ranks(number: int, kept: int = 99) -> dict[str, int]:
    """Draw a keeper from the priors and the model, fit, and return the rank (0 to `kept`) of each truth."""
    rng = np.random.default_rng([31, number])
    tank, known = noted(rng), methods()
    used = {"kit": known["kit"]} if number % 2 else known
    priors: Priors = default_priors(known)
    days = np.arange(1, 7) * 7.0 + 0.45
    layout = layout_of("nitrate", [tank], tuple(used), priors, [float(days[-1])])
    z = rng.standard_normal((1, len(layout.columns)))
    pieces = stretches(tank.course("nitrate"), days)
    truth = levels_of(pieces, tank_draws(layout, z, "tank", pieces))[0]
    readings = []
    for i, (day, level) in enumerate(zip(days, truth, strict=True)):
        key = "photometer" if "photometer" in used and i % 3 == 2 else "kit"
        readings.append(
            _read_by_model(rng, known[key], day, level, known[key].bias_log_sd * z[0, 5 + list(used).index(key)])
        )
    posterior = fit_levels([tank], readings, priors, rng)
    fit = posterior.fits[0]
    pick = rng.choice(len(fit.z), kept, replace=False)
    true_fit = replace(posterior, fits=(replace(fit, z=z),))
    ranks = {
        name: int((fit.z[pick, i] < z[0, layout.columns.index(name)]).sum())
        for i, name in enumerate(fit.layout.columns)
    }
    drawn = level_draws(posterior, tank="tank", nutrient="nitrate", days=[float(days[-1])])[pick, 0]
    ranks["level at 6 weeks"] = int((drawn < truth[-1]).sum())
    picked = replace(posterior, fits=(replace(fit, z=fit.z[pick]),))
    true_removal = net_removal(true_fit, tank="tank", nutrient="nitrate", day=float(days[-1])).median
    removal = [
        net_removal(
            replace(picked, fits=(replace(fit, z=row[None]),)), tank="tank", nutrient="nitrate", day=float(days[-1])
        ).median
        for row in fit.z[pick]
    ]
    ranks["net removal at 6 weeks"] = int((np.array(removal) < true_removal).sum())
    return ranks


def _read_by_model(rng: np.random.Generator, method: Method, day: float, level: float, bias: float) -> Reading:
    """Return a reading drawn from exactly the likelihood, gross errors and all."""
    if method.kind == "steps":
        step = rng.choice(len(method.borders_mg_per_l) - 1, p=step_shares(method, np.array(level), np.array(bias)))
        return Reading(
            "tank", "nitrate", day, method.key, method.borders_mg_per_l[step], method.borders_mg_per_l[step + 1]
        )
    x = level * np.exp(bias)
    value = x + rng.standard_normal() * np.hypot(method.relative_sd * x, method.absolute_sd_mg_per_l)
    if rng.random() < method.gross_share:
        value = rng.uniform(0, method.top_mg_per_l)
    value = max(value, 0.0)
    return Reading("tank", "nitrate", day, method.key, value, value)


def coverage_table(keepers: int, processes: int, design: str) -> list[dict[str, float | str]]:
    """Return one row for each of `WEEKS`: width of the 90 % band, coverage of both, RMSE of the median, bias."""
    rows: list[dict[str, float | str]] = []
    with ProcessPoolExecutor(processes) as pool:
        found = np.array(list(pool.map(partial(bands_of, design=design), range(FIRST, FIRST + keepers), chunksize=4)))
    for i, week in enumerate(WEEKS):
        truth, mean, median, low_50, high_50, low_90, high_90, r_hat = found[:, i].T
        error = mean - truth
        rows.append({
            "design": design, "weeks": week, "width 90 %": float((high_90 - low_90).mean()),
            "median width": float(np.median(high_90 - low_90)),
            "covers 90 %": float(((low_90 <= truth) & (truth <= high_90)).mean()),
            "covers 50 %": float(((low_50 <= truth) & (truth <= high_50)).mean()),
            "RMSE": float(np.sqrt(((median - truth) ** 2).mean())),
            "bias of mean": float(error.mean()), "its error": float(error.std(ddof=1) / np.sqrt(keepers)),
            "worst R-hat": float(r_hat.max()), "true median": float(np.median(truth)),
        })  # fmt: skip
    return rows


def calibration(keepers: int, processes: int, bins: int = 10) -> dict[str, float]:
    """Return the chi-square p-value of the uniformity of each truth's ranks, in `bins` equal bins of 0 to 99."""
    with ProcessPoolExecutor(processes) as pool:
        found = list(pool.map(calibration_ranks, range(FIRST, FIRST + keepers), chunksize=4))
    names = [name for name in found[0] if all(name in one for one in found)]
    return {
        name: float(chisquare(np.histogram([one[name] for one in found], bins=bins, range=(0, 100))[0]).pvalue)
        for name in names
    }


def main() -> None:
    """Print both tables."""
    keepers = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    processes = int(sys.argv[2]) if len(sys.argv) > 2 else 2
    for design in DESIGNS:
        for row in coverage_table(keepers, processes, design):
            words = (
                f"{key} {value:.3g}" if isinstance(value, float) else f"{key} {value}" for key, value in row.items()
            )
            print("  ".join(words), flush=True)
    for name, p in calibration(keepers, processes).items():
        print(f"ranks of {name}: p = {p:.3f}", flush=True)


if __name__ == "__main__":
    main()
