"""Short words for what a trial gives and how it is designed, shared by film and sheet."""

from __future__ import annotations

from collections.abc import Mapping

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.feeding.regimes import PlannedDose, when_words
from littoral.findings.feeding import TankFeeding
from littoral.speech.say import say, say_n
from littoral.trial.measures import MEASURES
from littoral.trial.model import Arm, Trial


def regime_words(trial: Trial, regime_key: str | None) -> str:
    """Return a regime in a few words: what, how much, when."""
    if regime_key is None:
        return say("nothing dosed")
    regime = trial.regimes[regime_key]
    parts = []
    for dose in regime.doses:
        name = trial.bottles[dose.of].name if dose.of in trial.bottles else dose.of
        parts.append(f"{name} {dose_words(dose)} {when_words(dose)}")
    parts += [
        say("{share:g}\u00a0% water change {when_words}", share=100 * change.share, when_words=when_words(change))
        for change in regime.changes
    ]
    return "; ".join(parts) or say("nothing dosed")


def dose_words(dose: PlannedDose) -> str:
    """Return how much a dose is, as its keeper measures it, with mL beside strokes and drops: "4 strokes (4.4 mL)"."""
    amount = f"{dose.ml:g} mL" if dose.ml is not None else f"{dose.g:g} g"
    measured = dose.written.casefold().rstrip().endswith(("ml", "l", "g"))
    return (f"{dose.written}" if measured else f"{dose.written} ({amount})") if dose.written else amount


def arm_with_tanks(trial: Trial, arm: Arm) -> str:
    """Return an arm's name with its tanks' names."""
    tanks = ", ".join(trial.tanks[tank].name for tank in arm.tanks)
    return arm.name if tanks == arm.name else f"{arm.name} ({tanks})"


def tank_said(trial: Trial, tank: str) -> str:
    """Return what a picture calls a tank: by its arm with its tanks; in a crossover by its own name."""
    if trial.plan.kind == "crossover":
        return trial.tanks[tank].name
    return arm_with_tanks(trial, trial.arm_of(tank))


def line_name(trial: Trial, arm_key: str) -> str:
    """Return what a chart calls the line of an arm's tanks: the arm; in a crossover the tanks that begin in it."""
    arm = next(one for one in trial.arms if one.key == arm_key)
    if trial.plan.kind == "crossover":
        return ", ".join(trial.tanks[tank].name for tank in arm.tanks)
    return arm.name


def tank_column(trial: Trial, tank: str) -> str:
    """Return how a table calls a tank: by its arm, with its own name where the arm has several tanks.

    In a crossover every tank has both regimes, so it is called by its own name.
    """
    arm = trial.arm_of(tank)
    if trial.plan.kind == "crossover":
        return trial.tanks[tank].name
    return arm.name if len(arm.tanks) == 1 else f"{arm.name}, {trial.tanks[tank].name}"


def doses_from(trial: Trial, feeding: Mapping[str, TankFeeding]) -> str:
    """Return where the doses are known from: the entries, or the plan with what the entries note of it."""
    if trial.doses_noted == "exceptions":
        return say("as planned, with the exceptions noted")
    planned = any(fed.as_planned for fed in feeding.values())
    return say("as planned, for no dose was noted") if planned else say("from the doses noted")


def rests_on(measure: str) -> str:
    """Return what `ArmValue.days` counts of a measure: photos, or days that have such entries (doses, for costs)."""
    return {"photos": say("photos"), "entries": say("days with entries"), "costs": say("days with doses")}[
        MEASURES[measure].taken_from
    ]


def span_words(days: float) -> str:
    """Return a length of time in words a person would use: "8 weeks", "5 days"."""
    if days >= 14 and days % 7 == 0:
        return say("{days:g} weeks", days=days / 7)
    return say_n("{days:g} day", "{days:g} days", 1 if days == 1 else 2, days=days)


def tanks_counted(trial: Trial) -> str:
    """Return how many tanks a trial has, and per arm, for captions."""
    most = max(len(arm.tanks) for arm in trial.arms)
    total = sum(len(arm.tanks) for arm in trial.arms)
    return say(
        "{total} tanks, {most} per arm", total=total, most=say("one") if most == 1 else say("up to {most}", most=most)
    )


def nutrient_words(nutrient: str) -> str:
    """Return a nutrient's name and what it is counted as: "nitrate, NO3".

    Plain digits, for charts too: the typeface that is always there has no subscripts.
    """
    one = NUTRIENTS[nutrient]
    return f"{one.name}, {one.formula}"
