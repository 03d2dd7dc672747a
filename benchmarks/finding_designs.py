"""Designs whose findings may claim something, run through the findings' own comparison with nothing done.

Tanks differ by themselves (10 % or 20 %), days hang together; what decides is `findings.rules.decide` wherever a rule
beyond the interval is at work. The naive test beside each takes days for replicates.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date

import numpy as np
from calibrated import NOMINAL, Design, Trial, days_that_hang_together, judged
from scipy import stats

from littoral.findings.answers import both_ways
from littoral.findings.beside import of_a_pair
from littoral.findings.crossed import Crossed, crossed
from littoral.findings.model import Interval
from littoral.findings.rules import Numbers, decide
from littoral.findings.tank_values import TankSeries, difference, difference_of_pairs
from littoral.stats.estimate import Estimate
from littoral.stats.pooling import pool
from littoral.stats.series import FloatArray, Series
from littoral.trial import model
from littoral.trial.plan import PARALLEL, OrderMade, Plan, alternating, draw_order

Simulated = Callable[[np.random.Generator], Trial]

DAYS = 42
BASELINE = 14.0
WITHIN = 0.05
"""Spread of a tank's days about its level, as a share of it."""

CHANGED = "difference changed after the regimes began"
NOT_AN_EFFECT = (
    "one pair: known to call too often (Murtaugh 2002); its words are “changed … why, unknown”, never effect"
)


def trial_of(tanks: int, *, baseline_days: float = 0.0, plan: Plan = PARALLEL, days: float = DAYS) -> model.Trial:
    """Return a trial of two arms with so many tanks each, and nothing in it but what findings ask for."""
    keys = [f"{side}{number}" for side in ("first", "second") for number in range(tanks)]
    return model.Trial(
        key="simulated", title="Simulated", factor="feeding regime", start=date(2026, 3, 2), zone="UTC",
        baseline_days=baseline_days, length_days=days,
        arms=(model.Arm("first", "first", tuple(keys[:tanks])), model.Arm("second", "second", tuple(keys[tanks:]))),
        questions=(), tanks={key: model.Tank(key, key, None) for key in keys}, stands={}, views={}, bottles={},
        regimes={}, plan=plan,
    )  # fmt: skip


def tank_of(key: str, value: FloatArray) -> TankSeries:
    """Return a tank's daily values as findings hold them, without trims."""
    series = Series(
        key, "1", "level", np.arange(value.size, dtype=np.float64) + 0.5, np.asarray(value, dtype=np.float64)
    )
    return TankSeries(key, series, (), {}, (), (), (), ())


def level(rng: np.random.Generator, *, days: int = 28, spread: float = 0.1, place: float = 0.0) -> FloatArray:
    """Return a tank's days: its own level around 1, days that hang together (0.7)."""
    own = 1.0 + place + rng.normal(0, spread)
    return np.asarray(own + WITHIN * days_that_hang_together(rng, days, 0.7), dtype=np.float64)


def naive_of(second: list[TankSeries], first: list[TankSeries]) -> float:
    """Return the p value of a t-test that takes the days of all tanks for replicates."""
    every = [np.concatenate([tank.series.value for tank in arm]) for arm in (second, first)]
    return float(stats.ttest_ind(*every).pvalue)


def tanks_per_arm(second: int, first: int) -> Simulated:
    def one(rng: np.random.Generator) -> Trial:
        arms = [
            [tank_of(f"{side}{n}", level(rng)) for n in range(many)] for side, many in (("s", second), ("f", first))
        ]
        value, _ = difference("compactness", arms[0], arms[1], change_day=0.0)
        return judged(value.after, naive_of(arms[0], arms[1]))

    return one


def in_blocks(sizes: tuple[tuple[int, int], ...]) -> Simulated:
    """Blocks hold so many tanks of first and second arm and differ by 20 %; unbalanced, that looks like an effect."""

    def one(rng: np.random.Generator) -> Trial:
        arms: tuple[list[TankSeries], list[TankSeries]] = ([], [])
        block_of: dict[str, str] = {}
        for block, many in enumerate(sizes):
            place = rng.normal(0, 0.2)
            for arm, count in zip(arms, many, strict=True):
                for _ in range(count):
                    key = f"t{len(block_of)}"
                    block_of[key] = str(block)
                    arm.append(tank_of(key, level(rng, place=place)))
        value, _ = difference("compactness", arms[1], arms[0], change_day=0.0, block_of=block_of)
        return judged(value.after, naive_of(arms[1], arms[0]))

    return one


def in_pairs(pairs: int, *, spread: float = 0.1) -> Simulated:
    """Pairs share their place (20 %)."""

    def one(rng: np.random.Generator) -> Trial:
        made = []
        for n in range(pairs):
            place = rng.normal(0, 0.2)
            first, second = (tank_of(f"{side}{n}", level(rng, spread=spread, place=place)) for side in ("f", "s"))
            made.append((first, second))
        value = difference_of_pairs("compactness", made, change_day=0.0)
        return judged(value.after, naive_of([pair[1] for pair in made], [pair[0] for pair in made]))

    return one


def baseline(rho: float, *, drawn_from: tuple[float, ...] = (), growth: bool = False, shift: float = 0.0) -> Simulated:
    """One pair with a baseline, tanks that differ by 20 %: how often a change is claimed; its interval.

    `shift` is the spread of a lasting shift of one tank, by itself, on a day that has nothing to do with the start.
    """

    def one(rng: np.random.Generator) -> Trial:
        change_day = float(rng.choice(drawn_from)) if drawn_from else BASELINE
        trial = trial_of(1, baseline_days=change_day, plan=Plan(start_drawn_from=drawn_from))
        measure, tanks = ("height growth", [_grown(rng) for _ in range(2)]) if growth else ("compactness", [
            1.0 + rng.normal(0, 0.2) + WITHIN * days_that_hang_together(rng, DAYS, rho) for _ in range(2)
        ])  # fmt: skip
        first, second = (tank_of(key, np.asarray(value)) for key, value in zip(trial.tanks, tanks, strict=True))
        if shift:
            moved = first.series.value + rng.normal(0, shift) * (np.arange(DAYS) >= rng.integers(5, DAYS - 5))
            first = tank_of(first.tank, moved)
        value, _ = difference(measure, [second], [first], change_day=change_day)
        assert value.change is not None
        further = of_a_pair(trial, measure, second, first)
        change = both_ways(value.change, further.step, 0.95)
        tests = {test.name: test.p_value for test in further.tests}
        numbers = Numbers(
            effect=Interval(1.0, 0.9, 1.1),  # that the tanks differ is given: they do, by themselves
            before=None, change=change, arm_values=(1.0, 2.0), tanks_per_arm=1, smallest=None, camera_term=None,
            absolute=True, spread=None, start_disagrees=bool(drawn_from) and tests["drawn start"] > NOMINAL + 1e-9,
        )  # fmt: skip
        gap = np.log(second.series.value / first.series.value) if growth else second.series.value - first.series.value
        gap, after = (
            (np.diff(gap), np.arange(1, DAYS) >= change_day) if growth else (gap, np.arange(DAYS) >= change_day)
        )
        naive = float(stats.ttest_ind(gap[after], gap[~after]).pvalue)
        return Trial(decide(numbers) == CHANGED, change.low <= 0 <= change.high, naive < NOMINAL)

    return one


def _grown(rng: np.random.Generator) -> FloatArray:
    """Return a height (cm) that grows by 3 % a day, faster and slower from day to day, measured to 2 %."""
    rate = 0.03 * (1 + rng.normal(0, 0.2)) + 0.01 * days_that_hang_together(rng, DAYS, 0.5)
    return np.asarray(np.exp(np.cumsum(rate) + rng.normal(0, 0.02, DAYS)), dtype=np.float64)


def drawn_alone(*, growth: bool) -> Simulated:
    """The exact test over the days that the start was drawn from, by itself."""
    could_be = tuple(float(day) for day in range(11, 31))

    def one(rng: np.random.Generator) -> Trial:
        change_day = float(rng.choice(could_be))
        trial = trial_of(1, baseline_days=change_day, plan=Plan(start_drawn_from=could_be))
        tanks = [_grown(rng) if growth else 1 + WITHIN * days_that_hang_together(rng, DAYS, 0.9) for _ in range(2)]
        first, second = (tank_of(key, np.asarray(value)) for key, value in zip(trial.tanks, tanks, strict=True))
        found = of_a_pair(trial, "height growth" if growth else "compactness", second, first)
        return Trial(next(one.p_value for one in found.tests if one.name == "drawn start") <= NOMINAL)

    return one


def ordered(periods: int, order: str, rng: np.random.Generator) -> tuple[tuple[bool, ...], OrderMade]:
    """Return an order of periods, and how a trial file would say that it was made."""
    if order == "drawn by lot":
        return draw_order(periods, seed=int(rng.integers(2**31))), "drawn by lot"
    if order == "alternating":
        return alternating(periods), "alternating"
    return tuple(number >= periods // 2 for number in range(periods)), "written"


def crossover(periods: int, order: str, *, pairs: int = 1, drift: float = 0.0) -> Simulated:
    """Pairs of tanks that differ by 20 % swap their regimes; a drift over the whole trial, as a share, in one tank."""

    def one(rng: np.random.Generator) -> Trial:
        plan = Plan("crossover", 14.0, 4.0, *ordered(periods, order, rng), half_life_days=1.0)
        days = 14 * periods
        trial = trial_of(pairs, plan=plan, days=float(days))
        keys = list(trial.tanks)
        tanks = [level(rng, days=days, spread=0.2) for _ in keys]
        tanks[0] = tanks[0] + drift * np.linspace(-0.5, 0.5, days)
        made_of = [(tank_of(keys[n], tanks[n]), tank_of(keys[pairs + n], tanks[pairs + n])) for n in range(pairs)]
        found = crossed(trial, "compactness", made_of)
        assert isinstance(found, Crossed)
        gap = np.mean([second.series.value - first.series.value for first, second in made_of], axis=0)
        turned = np.repeat(plan.swapped, 14)
        return _decided(found.effect, found, naive=float(stats.ttest_ind(gap[turned], gap[~turned]).pvalue))

    return one


def _decided(effect: Estimate, found: Crossed, *, naive: float) -> Trial:
    low, high = effect.interval()
    numbers = Numbers(
        effect=Interval(effect.value, low, high), before=None, change=None, arm_values=(1.0, 1.0),
        tanks_per_arm=found.pairs, smallest=None, camera_term=None, absolute=True, spread=None,
        paired=found.pairs > 1, swaps=found.swaps,
    )  # fmt: skip
    claimed = decide(numbers) in ("effect of the regime", "followed the regime in this pair")
    return Trial(claimed, low <= 0 <= high, naive < NOMINAL)


def keepers(many: int) -> Simulated:
    """Homes whose true effects spread by 0.2 around none, each known to its own error; naive: all of one effect."""

    def one(rng: np.random.Generator) -> Trial:
        error = rng.uniform(0.1, 0.25, many)
        seen = rng.normal(0, 0.2, many) + rng.normal(0, error)
        low, high = pool(seen, error**2).interval
        fixed = float(np.sum(seen / error**2) / np.sqrt(np.sum(1 / error**2)))
        held = low <= 0 <= high
        return Trial(not held, held, abs(fixed) > 1.96)

    return one


def equal_tanks(*, seen_in: int | None, true_over_assumed: float = 1.0) -> Simulated:
    """One pair without a baseline: beyond what equal tanks show, at an assumed spread or one seen in comparisons."""

    def one(rng: np.random.Generator) -> Trial:
        assumed = 0.2
        true = assumed * true_over_assumed
        share = assumed if seen_in is None else true * float(np.sqrt(rng.chisquare(seen_in) / seen_in))
        values = np.exp(rng.normal(0, true, 2))
        error = 0.02
        gap = float(values[1] - values[0] + rng.normal(0, error))
        half = 1.96 * error
        numbers = Numbers(
            effect=Interval(gap, gap - half, gap + half), before=None, change=None,
            arm_values=(float(values[0]), float(values[0]) + gap), tanks_per_arm=1, smallest=None, camera_term=None,
            absolute=True, spread=share, spread_df=seen_in,
        )  # fmt: skip
        return Trial(decide(numbers) == "larger than equal tanks usually show", naive=not -half < gap < half)

    return one


STARTS = tuple(float(day) for day in range(11, 31))
UNBALANCED = ((2, 1), (1, 2), (1, 1))
FINDING_DESIGNS: tuple[Design, ...] = (
    Design("finding: 3 tanks per arm, Welch", tanks_per_arm(3, 3), share=0.4),
    Design("finding: 5 and 3 tanks, Welch", tanks_per_arm(5, 3), share=0.4),
    Design("finding: blocks of 2 and 2 tanks, two of them", in_blocks(((2, 2), (2, 2))), share=0.4),
    Design("finding: three blocks, unbalanced", in_blocks(UNBALANCED), share=0.4),
    Design("finding: 3 pairs", in_pairs(3), share=0.4),
    Design("finding: 6 pairs", in_pairs(6), share=0.4),
    *(
        Design(f"finding: crossover of one pair, {periods} periods, {how}", crossover(periods, how, drift=0.05), 0.5)
        for periods in (4, 6, 8)
        for how in ("alternating", "drawn by lot")
    ),
    Design("finding: crossover of one pair, 6 periods, strong drift", crossover(6, "drawn by lot", drift=0.2), 0.5),
    Design("finding: crossover of one pair, 6 periods in blocks with a trend", crossover(6, "blocks", drift=0.2), 0.5),
    Design("finding: crossover of 2 pairs, 4 periods", crossover(4, "drawn by lot", pairs=2, drift=0.05), share=0.4),
    Design("finding: crossover of 3 pairs, 2 periods", crossover(2, "drawn by lot", pairs=3), 0.5),
    Design("finding: crossover of 3 pairs, 6 periods", crossover(6, "drawn by lot", pairs=3, drift=0.05), 0.4),
    Design("finding: start of one pair drawn from 20 days, exact test", drawn_alone(growth=False), share=0.4),
    Design("finding: start of one pair drawn from 20 days, exact test, growth", drawn_alone(growth=True), share=0.4),
    Design("finding: change of one pair, start drawn from 20 days", baseline(0.7, drawn_from=STARTS), share=0.3),
    Design("finding: change of one pair, correlation 0.4", baseline(0.4), 0.3, promised=False, note=NOT_AN_EFFECT),
    Design("finding: change of one pair, correlation 0.7", baseline(0.7), 0.3, promised=False, note=NOT_AN_EFFECT),
    Design(
        "finding: change of one pair, one tank shifts by itself", baseline(0.4, shift=0.1), 0.3, promised=False,
        note=NOT_AN_EFFECT,
    ),
    Design(
        "finding: change of one pair, one tank shifts by itself, start drawn from 20 days",
        baseline(0.4, shift=0.1, drawn_from=STARTS), 0.3,
    ),
    Design("finding: change of one pair, growth", baseline(0.0, growth=True), 0.2, promised=False, note=NOT_AN_EFFECT),
    Design("finding: 5 keepers pooled", keepers(5)),
    Design("finding: 8 keepers pooled", keepers(8)),
    Design("finding: one pair beyond the assumed spread", equal_tanks(seen_in=None)),
    Design("finding: one pair beyond a spread seen in 6 comparisons", equal_tanks(seen_in=6)),
    Design(
        "finding: one pair beyond half the true spread", equal_tanks(seen_in=None, true_over_assumed=2.0),
        promised=False, note="the assumed spread is wrong; its words say “assumed spread … tank or regime, unknown”",
    ),
)  # fmt: skip

SAID: Mapping[str, str] = {
    "change of one pair": "“changed by … after the regimes began; why, unknown”",
    "one pair beyond": "“larger than equal tanks usually show; tank or regime, unknown”",
    "crossover of one pair": "“followed the regime in this pair of tanks”",
    "crossover of 2 pairs": "“followed the regime in these 2 pairs of tanks”",
    "keepers pooled": "“across keepers”",
    "exact test": "stands beside the change, which needs it to agree",
    "finding:": "“effect of the regime”",
}


def said_of(name: str) -> str:
    """Return what a finding of this design may say where it calls something; "" for a bare test."""
    return next((words for part, words in SAID.items() if part in name), "") if name.startswith("finding:") else ""
