"""Answer the questions of a trial: one finding each, in the order they were asked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from littoral.findings.algae_onset import compare_onset
from littoral.findings.compared import Compared
from littoral.findings.design_said import design_text
from littoral.findings.disturbing import unequal_care
from littoral.findings.evidence import evidence_of
from littoral.findings.from_entries import compare_costs, compare_entries
from littoral.findings.from_photos import compare_photos
from littoral.findings.influence import influences
from littoral.findings.measured import Measured
from littoral.findings.method_box import cannot_show, plain_method
from littoral.findings.model import Finding, Interval, Rule
from littoral.findings.regrowth import compare_regrowth
from littoral.findings.rules import Numbers, decide, decide_tested, spread_for
from littoral.findings.scores import compare_scores
from littoral.findings.spread import NOTHING_SEEN, Spread
from littoral.findings.what_next import next_step, ways_for
from littoral.findings.wording import detail, rule_text, source_text, wording
from littoral.findings.yields import compare_yield
from littoral.logbook.book import Logbook
from littoral.stats.compare import holm_levels
from littoral.stats.estimate import Estimate
from littoral.trial.entries import Entry
from littoral.trial.measures import MEASURES
from littoral.trial.model import Question, Trial

ALPHA = 0.05


def answer(
    book: Logbook, trial: Trial, *, measured: Measured, seen: Mapping[str, Spread] = NOTHING_SEEN
) -> tuple[Finding, ...]:
    """Return one finding for each question of the trial, the first two arms compared.

    `seen` are the spreads between equal tanks that earlier trials of the bench showed, by measure (`spread_seen`).

    The primary question is held to 95 %; the other estimated ones share a 5 % chance of one false call by Holm's
    procedure. A question that cannot be answered gets a finding that says what is missing. Raises CostError or
    DoseError where entries contradict the bottles.
    """
    entries = book.entries(trial.key)
    compared = [
        replace(compare(trial, measured, entries, question), spread=spread_for(trial, question.measure, seen))
        for question in trial.questions
    ]
    levels = claim_levels(compared)
    unequal = unequal_care(trial, entries)
    further = sum(_tested(one) and not one.question.primary for one in compared)
    return tuple(
        _finding(trial, entries, measured, one, level=level, further=further, unequal=unequal)
        for one, level in zip(compared, levels, strict=True)
    )


def compare(trial: Trial, measured: Measured, entries: Sequence[Entry], question: Question) -> Compared:
    """Compare the arms on one question's measure."""
    match question.measure:
        case "algae onset":
            return compare_onset(trial, measured, question)
        case "regrowth":
            return compare_regrowth(trial, measured, entries, question)
        case "condition" | "algae score":
            return compare_scores(trial, entries, question)
        case "yield":
            return compare_yield(trial, entries, question)
    match MEASURES[question.measure].taken_from:
        case "photos":
            return compare_photos(trial, measured, entries, question)
        case "entries":
            return compare_entries(trial, entries, question)
        case "costs":
            return compare_costs(trial, entries, question)


def claim_levels(compared: Sequence[Compared]) -> list[float]:
    """Return the level (0 to 1) that each question's intervals are held to: 0.95, or stricter by Holm's procedure."""
    secondary = [i for i, one in enumerate(compared) if _tested(one) and not one.question.primary]
    p_values = [p_value for i in secondary if (p_value := compared[i].p_value) is not None]
    levels = [1 - ALPHA] * len(compared)
    for i, alpha in zip(secondary, holm_levels(p_values, alpha=ALPHA), strict=True):
        levels[i] = 1 - alpha
    return levels


def _tested(compared: Compared) -> bool:
    return compared.p_value is not None


def _finding(
    trial: Trial,
    entries: Sequence[Entry],
    measured: Measured,
    compared: Compared,
    *,
    level: float,
    further: int,
    unequal: tuple[str, ...],
) -> Finding:
    question = compared.question
    estimated = compared.effect is not None and not compared.account
    numbers = _numbers(compared, trial, level=level) if estimated else None
    rule = _rule(compared, numbers, level=level)
    effect, described = compared.effect, compared.described
    low, high = effect.interval() if effect is not None and numbers is not None else (None, None)
    value = None if effect is None else effect.value
    claim = None if numbers is None else numbers.effect
    if described is not None:
        value = described.effect
        if described.tested is not None and described.tested.interval_at is not None:
            at = described.tested.interval_at
            low, high, claim = at(0.95).low, at(0.95).high, at(level)
    influence = influences(trial, compared, rule, numbers, level=level)
    return Finding(
        question=question.key,
        ask=question.ask,
        measure=question.measure,
        unit=compared.unit,
        arms=compared.arms,
        effect=value,
        low=low,
        high=high,
        relative_percent=_relative_percent(compared, trial),
        tanks_per_arm=compared.tanks_per_arm,
        design=design_text(trial, compared),
        rule=rule,
        wording=wording(trial, compared, rule, numbers, level=level),
        detail=detail(trial, compared, rule, numbers, level=level),
        rule_text=rule_text(compared, rule, level=level, further=further),
        next_step=next_step(trial, compared, rule),
        method=compared.method,
        source=source_text(question.measure),
        evidence=evidence_of(trial, entries, measured, compared, influence, unequal=unequal),
        missing=compared.missing,
        primary=question.primary,
        level=level,
        p_value=compared.p_value,
        claim=claim,
        before=None if numbers is None else numbers.before,
        change=None if numbers is None else numbers.change,
        camera_term=compared.camera_term,
        absolute=compared.absolute,
        parts=compared.parts,
        ways=ways_for(trial, compared, rule),
        beside=compared.beside if numbers is not None else (),
        effect_words="" if described is None else described.effect_words,
        curves=() if described is None else described.curves,
        plain_method=plain_method(compared, rule, change_day=trial.baseline_days),
        cannot_show=cannot_show(trial, compared, rule),
    )


def _rule(compared: Compared, numbers: Numbers | None, *, level: float) -> Rule:
    if compared.missing:
        return "not answered"
    if compared.described is not None:
        smallest, per_arm = compared.question.smallest, compared.tanks_per_arm
        return decide_tested(compared.described.tested, tanks_per_arm=per_arm, smallest=smallest, level=level)
    return "exact account" if numbers is None else decide(numbers)


def _numbers(compared: Compared, trial: Trial, *, level: float) -> Numbers:
    assert compared.effect is not None
    return Numbers(
        effect=_interval(compared.effect, level),
        before=None if compared.before is None else _interval(compared.before, level),
        change=None if compared.change is None else both_ways(compared.change, compared.step, level),
        arm_values=_means(compared, trial),
        tanks_per_arm=compared.tanks_per_arm,
        smallest=compared.question.smallest,
        camera_term=compared.camera_term,
        absolute=compared.absolute,
        spread=None if compared.spread is None else compared.spread.share,
        spread_df=None if compared.spread is None else compared.spread.df,
        paired=compared.paired,
        swaps=compared.swaps,
        start_disagrees=_start_disagrees(compared, level),
        level=level,
    )


def both_ways(change: Estimate, step: Estimate | None, level: float) -> Interval:
    """Return a change with the interval that spans both ways to reckon it: with trends on either side, and as a step.

    So it excludes 0 only where both do, on the same side: never bolder than either.
    """
    found = _interval(change, level)
    if step is None:
        return found
    low, high = step.interval(level)
    return Interval(found.value, min(found.low, low), max(found.high, high))


def _start_disagrees(compared: Compared, level: float) -> bool:
    """Whether the exact test over the days that the start was drawn from could have found the change, and does not."""
    alpha = 1 - level + 1e-9
    tests = [one for one in compared.beside if one.name == "drawn start" and one.smallest_p is not None]
    return any(one.smallest_p is not None and one.smallest_p <= alpha < one.p_value for one in tests)


def _interval(estimate: Estimate, level: float) -> Interval:
    low, high = estimate.interval(level)
    return Interval(estimate.value, low, high)


def _means(compared: Compared, trial: Trial) -> tuple[float, float]:
    """Return the first and second arm's mean over their tanks."""
    means = []
    for arm in trial.arms[:2]:
        values = [value.value for value in compared.arms if value.arm == arm.key]
        means.append(sum(values) / len(values))
    return means[0], means[1]


def _relative_percent(compared: Compared, trial: Trial) -> float | None:
    """Return the difference in percent of the first arm; None without a ratio scale (a*) or a first value above 0."""
    if compared.effect is None or compared.question.measure == "redness":
        return None
    first, _ = _means(compared, trial)
    return 100 * compared.effect.value / first if first > 0 else None
