"""What would change the answer: the cheapest next step, from the power of the designs that could settle it."""

from __future__ import annotations

from functools import cache

import numpy as np

from littoral.findings.compared import Compared
from littoral.findings.model import Rule, Way
from littoral.findings.showing import percent
from littoral.findings.spread import Spread, spread_for
from littoral.findings.wording import treatment
from littoral.stats.power import TANK_PERIODS, carry_over_after, ways_to_settle
from littoral.stats.simulated_designs import Spreads
from littoral.trial.model import Trial

DIFFERENCES = (0.20, 0.30, 0.50)
"""The differences asked about, as shares: the smallest that a design of bearable size would show is named."""
MOST_PERIODS = 12
"""More periods of one pair than this last longer than anybody keeps two tanks alike (common practice, no source)."""
BEARABLE = 48
"""More periods of one tank than this in all are not asked for where a larger difference takes fewer (likewise)."""
WASHED_OUT = carry_over_after(4.0)
"""What the former regime still does: after a washout of three half-lives, and one more on average while measuring."""
SETTLED: tuple[Rule, ...] = (
    "not answered",
    "exact account",
    "not distinguishable from the camera",
    "effect of the regime",
)
"""Rules under which no further design is asked for: it is data, a camera or other homes that are missing."""

_SAID = {
    "periods": "{n} periods of this pair with the regimes swapped",
    "pairs": "{n} pairs",
    "pairs with baseline": "{n} pairs with a baseline",
    "swapped pairs": "{n} pairs that swap once",
    "keepers": "a pair with each of {n} keepers",
}


@cache
def ways(spread: float, *, swappable: bool) -> tuple[Way, ...]:
    """Return what would settle a question at an assumed `spread` (CV) between equal tanks, cheapest first.

    Periods of one tank are taken to spread half as much as tanks (the design study's settings). Without `swappable` the
    tanks cannot change their regimes. Empty where no design of bearable size shows even the largest difference.
    """
    spreads = Spreads(tanks=spread, periods=spread / 2)
    for difference in DIFFERENCES:
        found = [
            Way(way.kind, way.size, 100 * difference)
            # always the same draws: an answer is the same each time it is given
            for way in ways_to_settle(
                effect=difference, spreads=spreads, rng=np.random.default_rng(20), carry_over=WASHED_OUT
            )
            if way.size is not None
            and (swappable or way.kind not in ("periods", "swapped pairs"))
            and (way.kind != "periods" or way.size <= MOST_PERIODS)
        ]
        if found and TANK_PERIODS[found[0].design] * found[0].size <= BEARABLE:
            return tuple(found)
    return ()


def ways_for(trial: Trial, compared: Compared, rule: Rule) -> tuple[Way, ...]:
    """Return what would settle this question, cheapest first; nothing where the measure has no ratios."""
    spread = compared.spread or spread_for(trial, compared.question.measure, {})
    if spread is None or rule in SETTLED:
        return ()
    found = ways(spread.share, swappable=any(arm.regime for arm in trial.arms))
    # what followed the regime in this pair is open only in other tanks
    return tuple(way for way in found if rule != "followed the regime in this pair" or way.design != "periods")


def ways_said(found: tuple[Way, ...], *, spread: Spread) -> str:
    """Return the ways in one sentence, at most three: the cheapest first, at which spread (CV)."""
    plain = [way for way in found if way.design in ("periods", "pairs", "keepers")]
    named = list(dict.fromkeys([found[0], *plain]))[:3]
    each = [_SAID[way.design].format(n=way.size) for way in named]
    listed = each[0] if len(each) == 1 else f"{', '.join(each[:-1])}, or {each[-1]}"
    seen = spread.said if spread.source == "seen" else f"assumed spread between equal tanks {percent(spread.share)}"
    return f"A difference of {found[0].difference_percent:g} % would show, four times in five, with {listed} ({seen})."


def next_step(trial: Trial, compared: Compared, rule: Rule) -> str:
    """Return the cheapest way to learn more, with the sizes that the power of each design asks for."""
    found = ways_for(trial, compared, rule)
    spread = compared.spread or spread_for(trial, compared.question.measure, {})
    numbers = f" {ways_said(found, spread=spread)}" if found and spread is not None else ""
    sizes = {way.design: str(way.size) for way in found}
    swap = f"compare at least {sizes.get('pairs', 'three more')} pairs in the same way"
    if any(arm.regime for arm in trial.arms):
        swap = (
            f"let the same pair run on with the regimes swapped, at least {sizes.get('periods', 'four')} periods in "
            "alternating order, each after a washout of three half-lives of what was dosed"
        )
    match rule:
        case "not answered":
            return f"Cheapest next step: mend this: {compared.missing}."
        case "cannot tell":
            return f"Cheapest next step: {swap}. More photos of one pair cannot settle it.{numbers}"
        case "not distinguishable from the camera" if compared.question.measure == "algae":
            return (
                "Cheapest next step: let both tanks run on until more has come; or have the same places of both scored "
                "by eye on one day, by someone who does not know which tank is which."
            )
        case "not distinguishable from the camera" if not compared.absolute:
            return (
                "Cheapest next step: keep a grey card in the water of each tank, and lock exposure and white balance."
            )
        case "not distinguishable from the camera":
            return (
                "Cheapest next step: take both tanks in one frame, which cancels the camera; or keep a grey card in "
                "the water of each and lock exposure and white balance."
            )
        case "no larger than":
            return f"At this margin the pair needs no more days. To say it of the {treatment(trial)}, {swap}.{numbers}"
        case "followed the regime in this pair":
            return (
                f"Cheapest next step: do the same with at least two more pairs, to see whether it holds there.{numbers}"
            )
        case "effect of the regime":
            return "Next: pool it with at least four other keepers, to see whether it holds in other homes."
        case "exact account":
            return "Cheapest next step: keep noting; weigh the bottles at the end to check what the doses add up to."
        case _:
            follows = f"then a difference either follows the {treatment(trial)} or the tank"
            return f"Cheapest next step: {swap}: {follows}.{numbers}"
