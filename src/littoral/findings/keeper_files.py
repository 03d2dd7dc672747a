"""Findings of other keepers' trials, and which of them asked the same question of the same two arms."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from littoral.errors import Fault
from littoral.findings.model import Finding
from littoral.findings.pooled import KeeperResult, KeepersError, keeper_result
from littoral.findings.pooled_showing import Scale
from littoral.findings.response_ratio import log_ratio_of

SAME_WITHIN = 2.0
"""Arms of one name whose weekly mg/L differ by more than this factor are not one regime: common practice, no source."""

LEAST_MG_PER_L = 0.05
"""A nutrient of which no arm gives so much in a week is not compared."""


@dataclass(frozen=True, slots=True)
class KeeperArm:
    """One arm of a keeper's trial; `fed_mg_per_l` is what its regime plans for a week, None where that is not given."""

    key: str
    name: str
    fed_mg_per_l: Mapping[str, float] | None = None


@dataclass(frozen=True, slots=True)
class KeeperFile:
    """One keeper's findings.json: `where` it was read from, its trial, and its findings."""

    keeper: str
    where: str
    trial_key: str
    title: str
    factor: str
    start: str
    rendered: bool
    arms: tuple[KeeperArm, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Paired:
    """The keepers who asked the same: their numbers, `files` in the same order, and why others were left out."""

    measure: str
    arms: tuple[str, str]
    scale: Scale
    results: tuple[KeeperResult, ...]
    files: tuple[KeeperFile, ...]
    chosen: tuple[Finding, ...]
    unfit: tuple[Fault, ...]


def pair_up(
    files: Sequence[KeeperFile], *, measure: str = "", question: str = "", scale: Scale | None = None
) -> Paired:
    """Return the numbers of one measure, second arm against the first as the first file has them.

    `question` chooses by its key, `measure` by the measure; with neither, the first file's primary question decides.
    Numbers are ratios where every keeper has one, unless `scale` says otherwise. What does not fit is in `unfit`, with
    the reason: another factor or other arms, other doses under the same name, the same trial twice, a drawn demo among
    real tanks, no number with an interval. Raises KeepersError where nothing tells what to pool.
    """
    if not files:
        raise KeepersError("There is no file to pool. Name the findings.json of at least two keepers.")
    measure = measure or _measure_of(files[0], question)
    first = files[0]
    names = first.arms[0].name, first.arms[1].name
    unfit: list[Fault] = []
    kept: list[tuple[KeeperFile, Finding]] = []
    for file in files:
        finding = _chosen(file, measure, question)
        fault = finding if isinstance(finding, Fault) else _misfit(file, first, [one for one, _ in kept])
        if isinstance(finding, Fault) or fault is not None:
            assert fault is not None
            unfit.append(fault)
            continue
        if finding.rule == "too short to follow the regime":
            what = (
                f"{file.keeper}: the regimes were swapped too soon, so what the former one left is in the difference."
            )
            unfit.append(Fault(what, "Leave this file out.", file.where))
            continue
        try:
            keeper_result(file.keeper, finding)
        except KeepersError as error:
            unfit.append(Fault(str(error), "Leave this file out.", file.where))
            continue
        kept.append((file, finding))
    ratios = [log_ratio_of(finding) for _, finding in kept]
    if scale == "ratio":
        for (file, _), ratio in zip(kept, ratios, strict=True):
            if ratio is None:
                what = f"{file.keeper}: {measure} has no ratio here (it needs arms above 0, with intervals)."
                unfit.append(Fault(what, "Pool differences, or leave this file out.", file.where))
        kept = [one for one, ratio in zip(kept, ratios, strict=True) if ratio is not None]
        ratios = [ratio for ratio in ratios if ratio is not None]
    elif scale is None:
        scale = "ratio" if kept and all(ratio is not None for ratio in ratios) else "difference"
    results = []
    for (file, finding), ratio in zip(kept, ratios, strict=True):
        result = keeper_result(file.keeper, finding)
        if scale == "ratio":
            assert ratio is not None
            result = KeeperResult(file.keeper, ratio)
        results.append(_turned(result) if _turned_round(file, first) else result)
    files, chosen = tuple(file for file, _ in kept), tuple(finding for _, finding in kept)
    return Paired(measure, names, scale, tuple(results), files, chosen, tuple(unfit))


def _measure_of(file: KeeperFile, question: str) -> str:
    for finding in file.findings:
        if finding.question == question or (not question and finding.primary):
            return finding.measure
    asked = f"no question {question!r}" if question else "no primary question"
    there = ", ".join(f"{one.question} ({one.measure})" for one in file.findings) or "none"
    raise KeepersError(f"{file.where} has {asked}. Name a question or a measure; its questions are: {there}.")


def _chosen(file: KeeperFile, measure: str, question: str) -> Finding | Fault:
    """Return the one finding of a measure: of that question, the primary one, or the only one."""
    own = [finding for finding in file.findings if finding.measure == measure]
    for wanted in (
        [finding for finding in own if question and finding.question == question],
        [finding for finding in own if finding.primary],
        own,
    ):
        if len(wanted) == 1:
            return wanted[0]
    if not own:
        there = ", ".join(dict.fromkeys(one.measure for one in file.findings)) or "nothing"
        return Fault(f"{file.keeper} did not ask about {measure}, but about {there}.", "Leave it out.", file.where)
    keys = ", ".join(finding.question for finding in own)
    return Fault(f"has several questions about {measure}: {keys}.", "Say which by its question's key.", file.where)


def _misfit(file: KeeperFile, first: KeeperFile, kept: Sequence[KeeperFile]) -> Fault | None:
    for other in kept:
        if _numbers(file) == _numbers(other):
            what = f"holds the same trial with the same numbers as {other.where}."
            if file.where == other.where:
                what = "is named twice."
            return Fault(what, "One home counts once: leave one of them out.", file.where)
    if file is first:
        return None
    if file.rendered != first.rendered:
        what = f"is {'a' if file.rendered else 'no'} rendered demo, unlike {first.where}."
        return Fault(what, "Pool drawn tanks only with drawn tanks.", file.where)
    if _plain(file.factor) != _plain(first.factor):
        what = f"varied {file.factor!r}, where {first.where} varied {first.factor!r}."
        return Fault(what, "Pool trials of one factor.", file.where)
    names, others = ([_plain(arm.name) for arm in one.arms[:2]] for one in (file, first))
    if set(names) != set(others):
        pair, theirs = (" and ".join(repr(arm.name) for arm in one.arms[:2]) for one in (file, first))
        what = f"compares {pair}, where {first.where} compares {theirs}."
        return Fault(what, "Pool the same two arms; their names must be the same.", file.where)
    for arm in file.arms[:2]:
        same = next(one for one in first.arms[:2] if _plain(one.name) == _plain(arm.name))
        if said := _other_doses(arm, same):
            what = f"gives {said} with {arm.name!r} than {first.where} does."
            return Fault(what, "The same name is not the same regime: leave it out.", file.where)
    return None


def _other_doses(arm: KeeperArm, same: KeeperArm) -> str:
    """Return how two arms of one name differ in mg/L a week, in words; "" where they do not, or it is not known."""
    if arm.fed_mg_per_l is None or same.fed_mg_per_l is None:
        return ""
    for nutrient in sorted({*arm.fed_mg_per_l, *same.fed_mg_per_l}):
        mine, theirs = arm.fed_mg_per_l.get(nutrient, 0.0), same.fed_mg_per_l.get(nutrient, 0.0)
        less, more = sorted((mine, theirs))
        if more >= LEAST_MG_PER_L and more > SAME_WITHIN * less:
            return f"{'more' if mine > theirs else 'less'} {nutrient} a week ({mine:.3g}, not {theirs:.3g} mg/L)"
    return ""


def _numbers(file: KeeperFile) -> tuple[object, ...]:
    """Return what tells one trial from another: its numbers; where it has none, its name and start.

    To nine digits: an anonymous package of a trial has another name and start, and counts days of 23 hours otherwise.
    """
    found = tuple((one.measure, *(_digits(end) for end in (one.effect, one.low, one.high))) for one in file.findings)
    known = any(one.effect is not None and one.low is not None for one in file.findings)
    return found if known else (file.trial_key, file.start, found)


def _digits(value: float | None) -> str:
    return "" if value is None else f"{value:.9g}"


def _turned_round(file: KeeperFile, first: KeeperFile) -> bool:
    return _plain(file.arms[0].name) != _plain(first.arms[0].name)


def _turned(result: KeeperResult) -> KeeperResult:
    one = result.effect
    return replace(result, effect=replace(one, value=-one.value, low=-one.high, high=-one.low))


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())
