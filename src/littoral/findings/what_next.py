"""What would change the answer: the cheapest next step, from the power of the designs that could settle it."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np

from littoral.findings.compared import Compared
from littoral.findings.described_words import FEWEST_PAIRS_TO_TELL, FEWEST_TO_TELL
from littoral.findings.model import Rule, Way
from littoral.findings.rules import spread_for
from littoral.findings.showing import percent
from littoral.findings.spread import Spread
from littoral.findings.wording import treatment
from littoral.stats.power import TANK_PERIODS, carry_over_after, ways_to_settle
from littoral.stats.simulated_designs import Spreads
from littoral.trial.measures import MEASURES
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


def swappable(trial: Trial, measure: str) -> bool:
    """Whether swapping the regimes between tanks could answer: a yield grew under both, and treatments may stay."""
    return measure != "yield" and any(arm.regime for arm in trial.arms)


def ways_for(trial: Trial, compared: Compared, rule: Rule) -> tuple[Way, ...]:
    """Return what would settle this question, cheapest first; nothing where the measure has no ratios."""
    spread = compared.spread or spread_for(trial, compared.question.measure, {})
    if spread is None or rule in SETTLED:
        return ()
    found = ways(spread.share, swappable=swappable(trial, compared.question.measure))
    # what followed the regime in this pair is open only in other tanks
    return tuple(way for way in found if rule != "followed the regime in this pair" or way.design != "periods")


def _next_of_tested(compared: Compared, rule: Rule) -> str:
    """Return what comes next for waiting times and steps: no design settles them with fewer tanks than a test needs."""
    if rule == "effect of the regime":
        return "Next: see whether it holds in other homes. Findings of this kind are set side by side, not pooled."
    if rule == "no larger than":
        return "At this margin these tanks need no more days."
    tested = compared.described.tested if compared.described is not None else None
    enough = tested is not None and tested.smallest_p < 0.05
    in_blocks = tested is not None and tested.name.endswith("in blocks")
    more = f"at least {FEWEST_TO_TELL} tanks per arm, or {FEWEST_PAIRS_TO_TELL} pairs"
    if in_blocks or enough:
        more = "more blocks" if in_blocks else "more tanks"
    begin = f"Cheapest next step: do the same with {more}"
    match MEASURES[compared.question.measure].compared:
        case "steps":
            return f"{begin}, and let somebody score who does not know which tank is which."
        case _ if compared.question.measure == "algae onset":
            return f"{begin}. A photo of the same places each day dates it to the day."
        case _:
            return f"{begin}. Trim all of them on the same day to the same height."


def ways_said(found: tuple[Way, ...], *, spread: Spread) -> str:
    """Return the ways in one sentence, at most three: the cheapest first, at which spread (CV)."""
    plain = [way for way in found if way.design in ("periods", "pairs", "keepers")]
    named = list(dict.fromkeys([found[0], *plain]))[:3]
    each = [_SAID[way.design].format(n=way.size) for way in named]
    listed = each[0] if len(each) == 1 else f"{', '.join(each[:-1])}, or {each[-1]}"
    seen = spread.said if spread.source == "seen" else f"assumed spread between equal tanks {percent(spread.share)}"
    return f"A difference of {found[0].difference_percent:g} % would show, four times in five, with {listed} ({seen})."


def how_long(trial: Trial, found: Sequence[Way]) -> str:
    """Return how long the periods named take if each lasts as long as this trial's, or that few show little."""
    if trial.plan.kind == "crossover" or not any(arm.regime for arm in trial.arms):
        return ""
    periods = next((way.size for way in found if way.design == "periods"), None)
    if periods is None:
        return " Four periods of one pair would show only a larger one."
    weeks = periods * (float(trial.length_days) - float(trial.baseline_days)) / 7
    return f" {periods} periods as long as this one take {weeks:.0f} weeks."


def next_step(trial: Trial, compared: Compared, rule: Rule) -> str:
    """Return the cheapest way to learn more, with the sizes that the power of each design asks for."""
    if compared.described is not None and rule != "not answered":
        return _next_of_tested(compared, rule)
    found = ways_for(trial, compared, rule)
    spread = compared.spread or spread_for(trial, compared.question.measure, {})
    numbers = f" {ways_said(found, spread=spread)}" if found and spread is not None else ""
    sizes = {way.design: str(way.size) for way in found}
    if numbers and swappable(trial, compared.question.measure):
        numbers += how_long(trial, found)
    of = "pair" if compared.tanks_per_arm == 1 else "tanks"
    swap = f"compare at least {sizes.get('pairs', 'three more')} pairs in the same way"
    if swappable(trial, compared.question.measure):
        swap = (
            f"let the same {of} run on with the regimes swapped, at least {sizes.get('periods', 'four')} periods in "
            "alternating order, each after a washout of three half-lives (until an eighth of what was dosed is left)"
        )
    match rule:
        case "not answered":
            return f"Cheapest next step: mend this: {compared.missing}."
        case "cannot tell":
            more = "photos" if MEASURES[compared.question.measure].taken_from == "photos" else "entries"
            these = "one pair" if compared.tanks_per_arm == 1 else "the same tanks"
            return f"Cheapest next step: {swap}. More {more} of {these} cannot settle it.{numbers}"
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
            needs = "pair needs" if compared.tanks_per_arm == 1 else "tanks need"
            return f"At this margin the {needs} no more days. To say it of the {treatment(trial)}, {swap}.{numbers}"
        case "followed the regime in this pair":
            return (
                f"Cheapest next step: do the same with at least two more pairs, to see whether it holds there.{numbers}"
            )
        case "effect of the regime":
            return "Next: pool it with at least four other keepers, to see whether it holds in other homes."
        case "exact account" if compared.question.measure == "yield":
            return (
                "Cheapest next step: weigh every trim, and at the end cut what stands to the ground in every tank and "
                "weigh that, too."
            )
        case "exact account":
            return "Cheapest next step: keep noting; weigh the bottles at the end to check what the doses add up to."
        case _:
            follows = f"then a difference either follows the {treatment(trial)} or the tank"
            return f"Cheapest next step: {swap}: {follows}.{numbers}"
