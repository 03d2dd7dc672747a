"""The sentences that may be published, built from parts by rule. They never say more than the design supports.

Below three tanks per arm no sentence speaks of cause: what differs may be the tank (Hurlbert 1984, Murtaugh 2002).
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

from littoral.findings.compared import Compared
from littoral.findings.described_words import described_wording
from littoral.findings.model import Interval, Rule
from littoral.findings.rules import TANKS_FOR_A_REGIME, Numbers, includes_zero
from littoral.findings.showing import GROWTH, account_doubt, inside_sentence, named, percent, ranged, sentence, shown
from littoral.speech.say import later, say
from littoral.trial.measures import MEASURES
from littoral.trial.model import Trial

CLAIMS: tuple[Rule, ...] = (
    "these two tanks differ",
    "larger than equal tanks usually show",
    "difference changed after the regimes began",
    "too short to follow the regime",
    "followed the regime in this pair",
    "effect of the regime",
)
PAIRS_FOR_SIGN_FLIPS = 6
"""From 6 pairs on the smallest two-sided p of flipping all signs, 2/2^k, is under 0.05."""
NO_CARD = later("without a card in the water of each tank only a change from a baseline could be claimed")


@cache
def texts() -> Mapping[str, Mapping[str, str]]:
    """Return the texts of rules.toml: `text` by rule, `source` by kind of measure, `more` and `less` by measure."""
    return tomllib.loads(files(__package__).joinpath("rules.toml").read_text(encoding="utf-8"))


def wording(trial: Trial, compared: Compared, rule: Rule, numbers: Numbers | None, *, level: float) -> str:
    """Return the finding in two sentences: what may be said, then what was measured.

    Where a difference is claimed, the first one begins with the tank that had more of it, in plain words.
    """
    if rule == "not answered":
        return say("Not answered: {missing}.", missing=compared.missing)
    if compared.described is not None:
        return described_wording(trial, compared, rule, level=level, treatment=treatment(trial))
    measured = _measured(trial, compared, numbers, level=level)
    if rule == "exact account":
        return f"{_which(trial, compared)}. {measured}"
    assert numbers is not None
    claim = _claim(trial, compared, rule, numbers, level=level)
    if rule in CLAIMS and numbers.absolute:
        claim = f"{_which(trial, compared)}: {inside_sentence(claim)}"
    return f"{claim} {measured}"


def _which(trial: Trial, compared: Compared) -> str:
    """Return which arm had more of the measure, as the measured difference has it."""
    assert compared.effect is not None
    measure, gap = compared.question.measure, compared.effect.value
    if gap == 0:
        return say("The arms came out alike")
    arm = trial.arms[1]
    tanks = [value.tank for value in compared.arms if value.arm == arm.key]
    one_tank = len(tanks) == 1 and compared.swaps is None
    name = named(trial.tanks[tanks[0]].name, arm.name) if one_tank else arm.name
    return f"{sentence(name)} {say(texts()['more' if gap > 0 else 'less'][measure])}"


def detail(trial: Trial, compared: Compared, rule: Rule, numbers: Numbers | None, *, level: float) -> str:
    """Return what belongs to the finding beside its wording: the baseline, what was expected, where; "" for nothing."""
    sentences = []
    if numbers is not None and numbers.before is not None and rule != "difference changed after the regimes began":
        measure, currency = compared.question.measure, trial.currency
        unsure = numbers.change is None or includes_zero(numbers.change) or numbers.start_disagrees
        told = say("whether it changed cannot be told") if unsure else say("it changed")
        sentences.append(_baseline(measure, numbers.before, numbers.change, told, level=level, currency=currency))
    sentences += [_expected(trial, compared, rule), compared.detail]
    return " ".join(one for one in sentences if one)


def treatment(trial: Trial) -> str:
    """Return what the arms differ in, in a word: regime where any arm is dosed by one."""
    return say("regime") if any(arm.regime for arm in trial.arms) else say("treatment")


def rule_text(compared: Compared, rule: Rule, *, level: float, further: int) -> str:
    """Return why the rule allows what it allows, and at which level; `further` counts the questions tested."""
    if compared.described is not None:
        tested = compared.described.tested
        text = say(texts()["tested"][tested.name if tested is not None and rule == "effect of the regime" else rule])
        return (
            text if rule == "description of these tanks" else f"{text} {_held(compared, level=level, further=further)}"
        )
    without_card = rule == "not distinguishable from the camera" and not compared.absolute
    text = say(texts()["text"][f"{rule}, no card" if without_card else rule])
    if rule in texts()["pairs"] and compared.paired:
        text = say(texts()["pairs"][rule])
        if rule == "effect of the regime" and compared.tanks_per_arm < PAIRS_FOR_SIGN_FLIPS:
            text = f"{text} {say(texts()['pairs']['no sign-flip'])}"
    if rule == "larger than equal tanks usually show" and compared.spread and compared.spread.source == "seen":
        text = say(texts()["seen"][rule])
    if rule == "these two tanks differ" and compared.tanks_per_arm >= TANKS_FOR_A_REGIME:
        text = say(texts()["before"][rule])
    if rule == "effect of the regime" and compared.blocks:
        text = say(texts()["blocks"][rule])
    if rule in ("not answered", "exact account"):
        return text
    return f"{text} {_held(compared, level=level, further=further)}"


def _held(compared: Compared, *, level: float, further: int) -> str:
    if compared.question.primary or further <= 1:
        return say("Held to {percent}.", percent=percent(level))
    return say(
        "Held to {percent}: the {further} questions beside the primary one share a 5 % "
        "chance of one false call (Holm 1979).",
        percent=percent(level),
        further=further,
    )


def source_text(measure: str) -> str:
    """Return the sources of method and wording for a measure."""
    if MEASURES[measure].compared != "difference" or measure == "yield":
        return texts()["source"][measure if measure == "yield" else MEASURES[measure].compared]
    if MEASURES[measure].taken_from != "photos":
        return texts()["source"]["account"]
    return texts()["source"]["growth" if measure in GROWTH else "level"]


def _measured(trial: Trial, compared: Compared, numbers: Numbers | None, *, level: float) -> str:
    measure, currency = compared.question.measure, trial.currency
    name = sentence(say(MEASURES[measure].name))
    if numbers is None:
        assert compared.effect is not None
        gap = compared.effect.value
        doubt = account_doubt(gap, *(value.value for value in compared.arms))
        said = shown(measure, gap, doubt=doubt, currency=currency, signed=True)
    else:
        effect = numbers.effect
        doubt = (effect.high - effect.low) / 2
        said = ranged(measure, effect.value, effect.low, effect.high, level=level, currency=currency)
    values = ", ".join(_arm_said(trial, compared, arm, doubt=doubt) for arm in (1, 0))
    if numbers is None or numbers.absolute:
        return say("{name}: {values}; difference {said}.", name=name, values=values, said=said)
    return say(
        "{name}, not calibrated: {values}{change_said}.",
        name=name,
        values=values,
        change_said=_change_said(measure, numbers.change, level=level, currency=currency),
    )


def _change_said(measure: str, change: Interval | None, *, level: float, currency: str) -> str:
    if change is None:
        return ""
    said = ranged(measure, change.value, change.low, change.high, level=level, currency=currency)
    return say("; change of their difference {said}", said=said)


def _arm_said(trial: Trial, compared: Compared, which: int, *, doubt: float) -> str:
    arm = trial.arms[which]
    values = [value for value in compared.arms if value.arm == arm.key]
    mean = math.fsum(value.value for value in values) / len(values)
    number = shown(compared.question.measure, mean, doubt=doubt, currency=trial.currency)
    if len(values) == 1:
        return f"{named(trial.tanks[values[0].tank].name, arm.name)} {number}"
    return say("{name} {number} on average of {values} tanks", name=arm.name, number=number, values=len(values))


def _claim(trial: Trial, compared: Compared, rule: Rule, numbers: Numbers, *, level: float) -> str:
    measure, currency = compared.question.measure, trial.currency
    half = (numbers.effect.high - numbers.effect.low) / 2

    match rule:
        case "cannot tell" if not numbers.absolute and numbers.start_disagrees:
            return say(
                "Cannot tell whether the difference changed: on other days that the start could have "
                "been drawn for, as clear a change is found too often, and {no_card}.",
                no_card=say(NO_CARD),
            )
        case "cannot tell" if not numbers.absolute:
            assert numbers.change is not None
            half = (numbers.change.high - numbers.change.low) / 2
            return say(
                "Cannot tell whether the difference changed; a change under {plain} would have been "
                "missed, and {no_card}.",
                plain=_plain(measure, half, currency),
                no_card=say(NO_CARD),
            )
        case "cannot tell":
            return say(
                "Cannot tell; a difference under {plain} could have been missed.", plain=_plain(measure, half, currency)
            )
        case "no larger than":
            assert numbers.smallest is not None
            least = _plain(measure, numbers.smallest, currency)
            return say(
                "No difference larger than {least}{where}, the margin set beforehand.",
                least=least,
                where=_where(compared, numbers),
            )
        case "not distinguishable from the camera":
            if numbers.change is None and not numbers.absolute:
                return say("Not distinguishable from the camera and the light: {no_card}.", no_card=say(NO_CARD))
            least = _plain(measure, numbers.camera_term or 0.0, currency)
            if measure == "algae":
                return say(
                    "Not distinguishable from the camera: algae on photos are measured to about {least}.", least=least
                )
            return say("Not distinguishable from the camera, which may differ by {least} by itself.", least=least)
        case "effect of the regime":
            tanks = f"{numbers.tanks_per_arm} {'pairs' if numbers.paired else 'tanks per arm'}"
            return say("Effect of the {treatment} ({tanks}).", treatment=treatment(trial), tanks=tanks)
        case "followed the regime in this pair":
            assert numbers.swaps is not None
            these = (
                say("this pair")
                if numbers.tanks_per_arm == 1
                else say("these {tanks_per_arm} pairs", tanks_per_arm=numbers.tanks_per_arm)
            )
            return say(
                "Followed the {treatment} in {these} of tanks ({periods} periods).",
                treatment=treatment(trial),
                these=these,
                periods=numbers.swaps.periods,
            )
        case "too short to follow the regime":
            assert numbers.swaps is not None
            return say(
                "A difference that went with the {treatment} over {periods} periods; whether it "
                "follows it cannot be told: {why_too_short}.",
                treatment=treatment(trial),
                periods=numbers.swaps.periods,
                why_too_short=numbers.swaps.why_too_short,
            )
        case "larger than equal tanks usually show":
            spread = (
                compared.spread.said
                if compared.spread
                else say("assumed spread {percent}", percent=percent(numbers.spread or 0.0))
            )
            return say(
                "Larger than equal tanks usually show ({spread}); tank or {treatment}, unknown.",
                spread=spread,
                treatment=treatment(trial),
            )
        case "difference changed after the regimes began":
            assert numbers.change is not None
            change = numbers.change
            said = ranged(measure, change.value, change.low, change.high, level=level, currency=currency)
            relative = "" if numbers.absolute else say(", relative to the rest of the scene")
            return say(
                "The difference between the tanks changed by {said} after the regimes began{relative}; why, unknown.",
                said=said,
                relative=relative,
            )
        case _:
            these = _these(compared, numbers)
            if numbers.tanks_per_arm >= TANKS_FOR_A_REGIME:
                return say(
                    "A difference between {these}, as there was before the regimes began; why, unknown.", these=these
                )
            return say(
                "A difference between {these}; tank or {treatment}, unknown.", these=these, treatment=treatment(trial)
            )


def _these(compared: Compared, numbers: Numbers) -> str:
    two = numbers.tanks_per_arm == 1 and len({value.tank for value in compared.arms}) < 3
    return say("these two tanks") if two else say("these tanks")


def _where(compared: Compared, numbers: Numbers) -> str:
    """Return between which tanks there is no difference, where they are too few to speak of others; else ""."""
    if numbers.tanks_per_arm >= TANKS_FOR_A_REGIME:
        return ""
    return f" {'between' if numbers.swaps is None else 'in'} {_these(compared, numbers)}"


def _plain(measure: str, size: float, currency: str) -> str:
    """Return the size of a difference, without a sign."""
    return shown(measure, abs(size), doubt=abs(size), currency=currency, signed=True).lstrip("+")


def _baseline(
    measure: str, before: Interval, change: Interval | None, told: str, *, level: float, currency: str
) -> str:
    was = ranged(measure, before.value, before.low, before.high, level=level, currency=currency)
    text = say("Before the regimes began the difference was {was}", was=was)
    if change is None:
        return f"{text}."
    changed = ranged(measure, change.value, change.low, change.high, level=level, currency=currency)
    return f"{text}; {told}: {changed}."


def _expected(trial: Trial, compared: Compared, rule: Rule) -> str:
    expect = compared.question.expect
    tested, described = compared.tested, compared.described
    value = None if tested is None else tested.value
    if described is not None:
        value = described.effect if rule in (*CLAIMS, "description of these tanks") else None
    elif rule not in CLAIMS:
        return ""
    if expect is None or value is None or (described is not None and value == 0):
        return ""
    arm, direction = expect
    name = next(one.name for one in trial.arms if one.key == arm)
    higher = (value > 0) == (arm == trial.arms[1].key)
    seen = say("as seen") if higher == (direction == "higher") else say("the opposite was seen")
    return say("Expected beforehand: {name} {direction}; {seen}.", name=name, direction=direction, seen=seen)
