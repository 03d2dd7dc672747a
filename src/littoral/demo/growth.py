"""How the demo's plants and algae really develop: closed forms between trims, no pixels."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

from littoral.demo.story import BASELINE_DAYS, SATURDAY, StandStory, Story

RAMP_DAYS = 5.0  # a changed regime takes this long to show in the plants
TRIM_TIME = 11.0 / 24.0  # local time of trims, as a fraction of the day
FULL_RAMP_COLOUR_DAYS = 21.0


@dataclass(frozen=True, slots=True)
class StandTrim:
    """One trim: at `day`, from `before_cm` down to `after_cm`, wet mass in g."""

    day: float
    before_cm: float
    after_cm: float
    wet_g: float


@dataclass(frozen=True, slots=True)
class StandState:
    """A stand at one moment: nominal height, relative spread (1 at day 0), a* added, and the cuts so far in cm."""

    height_cm: float
    spread: float
    redder_a: float
    cuts_cm: tuple[float, ...]


def ramped_days(day: float) -> float:
    """Return how many days of full response lie behind `day`: the integral of a ramp from 0 to 1 after the baseline."""
    after = max(0.0, day - BASELINE_DAYS)
    return after * after / (2 * RAMP_DAYS) if after < RAMP_DAYS else after - RAMP_DAYS / 2


def log_growth(rate: float, ratio: float, day: float) -> float:
    """Return the log growth since day 0 at `rate` per day, times `ratio` once the regime shows (both per day)."""
    return rate * (day + (ratio - 1.0) * ramped_days(day))


def height_log(story: Story, stand: StandStory, tank: str, day: float) -> float:
    """Return the log growth of a stand's height since day 0, as if it were never trimmed."""
    return _log(stand.height_rate, stand.full_height, story, tank, day)


def _log(rate: float, ratio: float, story: Story, tank: str, day: float) -> float:
    if story.swapped:
        return rate * (day + (ratio - 1.0) * swapped_full_days(story, tank, day)) * story.tank_rate[tank]
    return log_growth(rate, ratio if story.arm_of[tank] == "full" else 1.0, day) * story.tank_rate[tank]


def swapped_full_days(story: Story, tank: str, day: float) -> float:
    """Return how many days of full response lie behind `day` where regimes are swapped: it comes and goes by a ramp."""
    total = shows = 0.0
    for number, swapped in enumerate(story.swapped):
        begin = BASELINE_DAYS + number * story.period_days
        lasts = min(max(0.0, day - begin), story.period_days)
        aim = 1.0 if (story.arm_of[tank] == "full") != swapped else 0.0
        moving = min(abs(aim - shows) * story.ramp_days, lasts)
        then = shows + (moving / story.ramp_days if aim > shows else -moving / story.ramp_days)
        total += moving * (shows + then) / 2 + (lasts - moving) * then
        shows = then
    return total


def trims(story: Story, stand: StandStory, tank: str) -> tuple[StandTrim, ...]:
    """Return every trim of a stand in a tank: on Saturdays, if it has grown over its limit."""
    if stand.limit_cm is None:
        return ()
    found: list[StandTrim] = []
    height, since = stand.start_cm, 0.0
    for number in range(SATURDAY, story.days, 7):
        day = number + TRIM_TIME
        before = height * exp(height_log(story, stand, tank, day) - height_log(story, stand, tank, since))
        if before > stand.limit_cm:
            found.append(StandTrim(day, before, stand.cut_cm, stand.g_per_cm * (before - stand.cut_cm)))
            height, since = stand.cut_cm, day
    return tuple(found)


def stand_state(story: Story, stand: StandStory, tank: str, day: float) -> StandState:
    """Return the true state of a stand at `day` (days since day 0)."""
    past = [trim for trim in trims(story, stand, tank) if trim.day <= day]
    height, since = (past[-1].after_cm, past[-1].day) if past else (stand.start_cm, 0.0)
    full = story.arm_of[tank] == "full"
    grown = height_log(story, stand, tank, day) - height_log(story, stand, tank, since)
    spread_log = _log(stand.spread_rate, stand.full_spread, story, tank, day)
    # Leaves already grown keep their colour, so redness follows the regime slowly.
    redder = stand.full_redder_a * min(1.0, max(0.0, day - BASELINE_DAYS) / FULL_RAMP_COLOUR_DAYS) if full else 0.0
    return StandState(height * exp(grown), exp(spread_log), redder, tuple(trim.after_cm for trim in past))


def height_rate(story: Story, stand: StandStory, tank: str) -> float:
    """Return the true relative growth rate of height per day, once the regime shows in full."""
    full = story.arm_of[tank] == "full"
    return stand.height_rate * (stand.full_height if full else 1.0) * story.tank_rate[tank]


def algae_share(story: Story, tank: str, kind: str, day: float) -> float:
    """Return the true share (0 to 1) of a "stone", "wood" or "glass" region that algae cover: 0 at day 0, logistic."""
    end = story.algae_end[story.arm_of[tank]][kind]
    middle, width = 33.0, 5.5

    def logistic(at: float) -> float:
        return 1.0 / (1.0 + exp(-(at - middle) / width))

    return max(0.0, end * (logistic(day) - logistic(0.0)) / (1.0 - logistic(0.0)))
