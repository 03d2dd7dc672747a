"""What a design would show, by simulation: the share of repeats in which it would call a difference that is there.

All sizes are shares of the measure's mean: an effect of 0.20 is a difference of 20 %, a spread of 0.10 a coefficient of
variation of 10 %. One pair is never enough to tell regime from tank, however often it calls a difference; `settles`
says so. The random source is handed in.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from littoral.stats.simulated_designs import CALLS, DesignKind, PowerError, SimulatedTask, Spreads

FEWEST: dict[DesignKind, int] = {
    "one pair": 1,
    "one pair with baseline": 1,
    "pairs": 3,
    "pairs with baseline": 3,
    "swapped pairs": 3,
    "periods": 4,
    "keepers": 5,
}
"""The least number of pairs, periods or keepers of which the wording rules let a regime be spoken (one pair: never)."""

TANK_PERIODS: dict[DesignKind, int] = {
    "pairs": 2,
    "pairs with baseline": 4,
    "swapped pairs": 4,
    "periods": 2,
    "keepers": 2,
}
"""How many periods of one tank each pair, period or keeper takes: what designs are compared by for cheapness.

A baseline is counted as a period; these are also the designs that settle anything.
"""

ENOUGH = 0.80
"""The power that a design is chosen for: common practice (Cohen 1988)."""


@dataclass(frozen=True, slots=True)
class Power:
    """The share of repeats (0 to 1) in which a design of `size` pairs, periods or keepers called the difference.

    `error` is the Monte-Carlo standard error of `share`; `settles` whether such a call may speak of the regime.
    """

    kind: DesignKind
    size: int
    effect: float
    share: float
    error: float
    settles: bool


@dataclass(frozen=True, slots=True)
class Smallest:
    """The smallest size of one kind of design that reaches the power asked for; `size` None where none up to `most`."""

    kind: DesignKind
    size: int | None
    effect: float
    share: float
    most: int

    @property
    def tank_periods(self) -> float:
        """How many periods of one tank the design takes in all; infinite where no size was found."""
        return math.inf if self.size is None else TANK_PERIODS[self.kind] * self.size


def carry_over_after(half_lives: float) -> float:
    """Return the share (0 to 1) of the former regime's level that is left after a washout of so many half-lives."""
    if not half_lives >= 0:
        raise PowerError(f"A washout lasts 0 half-lives or more, not {half_lives:g}.")
    return float(0.5**half_lives)


def power(
    kind: DesignKind,
    size: int,
    *,
    effect: float,
    spreads: Spreads,
    rng: np.random.Generator,
    runs: int = 2000,
    carry_over: float = 0.0,
    level: float = 0.95,
    periods: int = 2,
) -> Power:
    """Simulate `runs` trials of one design and return the share in which the difference is called at `level`.

    `size` counts pairs, periods or keepers (1 for one pair); `effect` and `spreads` are shares of the mean.
    `carry_over` (0 to 1) is the share of a difference that the tank's former regime still makes in the next period.
    `periods` is how many periods several pairs that swap run each: two or more, four or more where there are two pairs.
    Tests are those of the wording rules: one pair beyond z sqrt(2 CV^2 + SE^2); pairs and swapped pairs by paired t;
    periods in alternating order by t on periods - 2; keepers by modified Hartung-Knapp, where equal standard errors
    give restricted likelihood in closed form. Raises PowerError where size, effect, runs or shares make no sense.
    """
    _check(kind, size, effect=effect, runs=runs, carry_over=carry_over, level=level)
    if periods < (2 if size > 2 or kind != "swapped pairs" else 4):
        raise PowerError(
            f"{size} pairs that swap need more periods than {periods}: two, or four where there are two pairs."
        )
    called = CALLS[kind](SimulatedTask(size, effect, spreads, rng, runs, carry_over, level, periods))
    share = float(called.mean())
    return Power(kind, size, effect, share, math.sqrt(share * (1 - share) / runs), kind in TANK_PERIODS)


def smallest(
    kind: DesignKind,
    *,
    effect: float,
    spreads: Spreads,
    rng: np.random.Generator,
    enough: float = ENOUGH,
    most: int = 40,
    runs: int = 2000,
    carry_over: float = 0.0,
    level: float = 0.95,
) -> Smallest:
    """Return the smallest size, from the least that the rules allow up to `most`, whose power is at least `enough`.

    Arguments otherwise as for `power`. One pair settles nothing at any size: it is refused with PowerError. Periods
    grow by twos, so that each regime has as many.
    """
    if kind not in TANK_PERIODS:
        raise PowerError(f"{kind.capitalize()} cannot tell regime from tank at any size: ask for another design.")
    share = 0.0
    for size in range(FEWEST[kind], most + 1, 2 if kind == "periods" else 1):
        share = power(
            kind, size, effect=effect, spreads=spreads, rng=rng, runs=runs, carry_over=carry_over, level=level
        ).share
        if share >= enough:
            return Smallest(kind, size, effect, share, most)
    return Smallest(kind, None, effect, share, most)


def ways_to_settle(
    *,
    effect: float,
    spreads: Spreads,
    rng: np.random.Generator,
    enough: float = ENOUGH,
    most: int = 40,
    runs: int = 2000,
    carry_over: float = 0.0,
    level: float = 0.95,
) -> tuple[Smallest, ...]:
    """Return the smallest size of every design that can settle the question, fewest tank-periods first.

    Arguments as for `smallest`. Designs that do not reach the power at any size stand last, with `size` None.
    """
    found = [
        smallest(
            kind, effect=effect, spreads=spreads, rng=rng, enough=enough, most=most, runs=runs, carry_over=carry_over,
            level=level,
        )
        for kind in TANK_PERIODS
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda one: one.tank_periods))


def power_curve(
    kind: DesignKind,
    sizes: Sequence[int],
    *,
    effect: float,
    spreads: Spreads,
    rng: np.random.Generator,
    runs: int = 2000,
    carry_over: float = 0.0,
) -> tuple[Power, ...]:
    """Return the power of one kind of design at each of `sizes`, for a chart."""
    return tuple(
        power(kind, size, effect=effect, spreads=spreads, rng=rng, runs=runs, carry_over=carry_over) for size in sizes
    )


def _check(kind: DesignKind, size: int, *, effect: float, runs: int, carry_over: float, level: float) -> None:
    if kind not in CALLS:
        raise PowerError(f"There is no design {kind!r}; there are {', '.join(CALLS)}.")
    least = 1 if kind not in TANK_PERIODS else 3 if kind == "periods" else 2
    if size < least or (kind not in TANK_PERIODS and size != 1):
        right = "1" if least == 1 else f"at least {least}"
        raise PowerError(f"{kind.capitalize()}: the size must be {right}, not {size}.")
    if not math.isfinite(effect):
        raise PowerError(f"An effect is a share of the mean, such as 0.2; it is {effect:g}.")
    if runs < 1:
        raise PowerError(f"At least one run is needed, not {runs}.")
    if not 0 <= carry_over <= 1:
        raise PowerError(f"Carry-over is a share from 0 to 1; it is {carry_over:g}.")
    if not 0 < level < 1:
        raise PowerError(f"A level lies between 0 and 1, such as 0.95; it is {level:g}.")
