"""The sheet's longer texts: design, limits, methods and sources. Facts come from the trial itself."""

from __future__ import annotations

import importlib.metadata
import platform
import re
from collections import Counter
from collections.abc import Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np

import littoral
from littoral.findings.measured import Measured
from littoral.findings.model import Finding
from littoral.findings.showing import shown
from littoral.publish.flags import usual_words
from littoral.publish.words import arm_with_tanks, span_words
from littoral.quantities.counting import counted
from littoral.speech.say import say
from littoral.trial.days import instant_of
from littoral.trial.design import design_of
from littoral.trial.measures import MEASURES
from littoral.trial.model import Question, Trial

LIBRARIES = ("numpy", "scipy", "opencv-python-headless", "pillow", "vl-convert-python", "av", "jinja2")


def lead_words(trial: Trial) -> str:
    """Return the trial in one sentence: what was compared, in how many tanks, how long."""
    plan = trial.plan
    crossover = plan.kind == "crossover"
    arms = [arm.name if crossover else arm_with_tanks(trial, arm) for arm in trial.arms]
    lead = f"{trial.factor[:1].upper()}{trial.factor[1:]}: {' against '.join(arms)}, {span_words(trial.length_days)}"
    if trial.baseline_days > 0:
        lead += say(
            ", the first {span_words} of them alike in all tanks as a baseline",
            span_words=span_words(trial.baseline_days),
        )
    if crossover:
        tanks = counted(sum(len(arm.tanks) for arm in trial.arms), "tank")
        then = say("then ") if trial.baseline_days > 0 else ""
        lead += say(
            ", {then}swapped between {tanks} over {plan} periods of {span_words}",
            then=then,
            tanks=tanks,
            plan=len(plan.swapped),
            span_words=span_words(plan.period_days),
        )
    return f"{lead}."


def design_words(trial: Trial) -> str:
    """Return what kind of trial this is and what it can show."""
    design = design_of(trial)
    words = f"{design.name[:1].upper()}{design.name[1:]}. {design.can} {design.cannot}"
    if design.pairs_in_frame:
        words += say(" Tanks of different arms stand in one photo, so the camera is the same for both.")
    return words


def draw_words(trial: Trial) -> str:
    """Return how it was decided which tank gets which arm."""
    if not trial.drawn and trial.plan.kind == "crossover":
        return say("Which tank began with which arm was not drawn by lot.")
    if not trial.drawn:
        return say(
            "Which tank got which arm was not drawn by lot, so it may have been chosen for a reason that matters."
        )
    seed = say(" (seed {draw_seed})", draw_seed=trial.draw_seed) if trial.draw_seed is not None else ""
    return say("Drawn by lot: {drawn}{seed}.", drawn=trial.drawn, seed=seed)


def order_words(trial: Trial) -> str:
    """Return how it was decided which periods are swapped; "" without periods."""
    plan = trial.plan
    if plan.kind != "crossover":
        return ""
    if plan.order == "drawn by lot":
        return say(
            "The order of the periods was drawn by lot (seed {order_seed}), one of each in each two.",
            order_seed=plan.order_seed,
        )
    return {
        "alternating": say("The regimes are swapped at the end of every period."),
        "written": say("The order of the periods was written down, not drawn by lot."),
    }[plan.order]


def asked_title(trial: Trial, written_down: datetime | None) -> str:
    """Return the heading over the questions, which says whether they were written down before the trial began.

    `written_down` is when the trial was first taken into a logbook; of a rendered demo that means nothing.
    """
    if trial.rendered or written_down is None:
        return "Questions"
    if written_down < instant_of(0.0, trial):
        return say("Asked before the start")
    day = written_down.astimezone(ZoneInfo(trial.zone)).date()
    return say("Questions (written down on {day}, after the start)", day=day)


def asked_words(trial: Trial, question: Question) -> str:
    """Return a question with its measure, what was expected, and the smallest difference that matters."""
    measure = MEASURES[question.measure]
    of = ", ".join(trial.stands[key].name if key in trial.stands else key for key in question.of)
    words = say(
        "{ask} By {name}{of}: {meaning}.",
        ask=question.ask,
        name=measure.name,
        of=say(" of {of}", of=of) if of else "",
        meaning=measure.meaning,
    )
    if question.threshold_points is not None:
        words += say(" Threshold: {threshold_points:g} %.", threshold_points=question.threshold_points)
    if question.primary:
        words += say(" The primary question.")
    if question.expect is not None:
        arm = next((arm.name for arm in trial.arms if arm.key == question.expect[0]), question.expect[0])
        words += say(" Expected: {expect} with {arm}.", expect=question.expect[1], arm=arm)
    if question.smallest is not None:
        least = shown(question.measure, question.smallest, doubt=2 * question.smallest, currency=trial.currency)
        words += say(" Differences under {least} were declared not to matter.", least=least)
    return words


def limit_words(trial: Trial, findings: Sequence[Finding]) -> list[str]:
    """Return the limits of this trial, as its own design and photos set them."""
    design = design_of(trial)
    limits = [design.cannot]
    if design.tanks_per_arm == 1 and trial.plan.kind != "crossover":
        limits.append(
            say(
                "Plants in one tank and days in one series are no replicates: what differs may be "
                "the tank (Hurlbert 1984)."
            )
        )
    asked = len(trial.questions)
    if asked > 1:
        limits.append(
            say(
                "{asked} questions were asked. One can be primary; the others are held to stricter levels (Holm 1979).",
                asked=asked,
            )
        )
    if any(MEASURES[finding.measure].taken_from == "photos" for finding in findings):
        limits.append(
            say(
                "A photo shows a tank from one side: leaves hide leaves, and a plant that leans "
                "towards the glass looks taller. Alignment cannot mend a camera that moved sideways "
                "(parallax)."
            )
        )
    if any(finding.measure == "redness" for finding in findings):
        limits.append(
            say(
                "Colours are relative to the tank's lamp and the camera. They compare days and tanks "
                "of this trial, and no others."
            )
        )
    if trial.bottles:
        limits.append(
            say(
                "Levels are computed from what was noted. Uptake was stated by the keeper, not "
                "fitted to the tests; what was not noted is not in them."
            )
        )
    if trial.rendered:
        limits.append(say("The photos are a rendered demo: nothing here is known of real plants."))
    return limits


def method_words(measured: Measured, findings: Sequence[Finding]) -> list[str]:
    """Return how photos were measured, with what was found on them, and how each kind of finding was computed."""
    return [*_photo_words(measured), *dict.fromkeys(finding.method for finding in findings if finding.method)]


def source_words(findings: Sequence[Finding]) -> list[str]:
    """Return each source named by a finding once."""
    return list(dict.fromkeys(finding.source for finding in findings if finding.source))


def versions_words(measured: Measured) -> str:
    """Return versions of Littoral, its measuring method, Python and the libraries the numbers rest on."""
    found = []
    for name in LIBRARIES:
        try:
            found.append(f"{name} {importlib.metadata.version(name)}")
        except importlib.metadata.PackageNotFoundError:
            found.append(say("{name} absent", name=name))
    return say(
        "Littoral {version}, measuring method {method}, Python {platform}; {found}.",
        version=littoral.__version__,
        method=measured.method,
        platform=platform.python_version(),
        found=", ".join(found),
    )


def _photo_words(measured: Measured) -> list[str]:
    photos = measured.photos
    if not photos:
        return [say("No photos were taken.")]
    used = [photo for photo in photos if not photo.excluded]
    words = say("{photos} taken in; {used} measured.", photos=counted(photos, "photo"), used=len(used))
    reasons = Counter(photo.excluded for photo in photos if photo.excluded)
    if reasons:
        words += (
            say(" Set aside: ")
            + "; ".join(say("{count} because {why}", count=count, why=why) for why, count in reasons.items())
            + "."
        )
    corrections = Counter(re.sub(r"\b\d+ ", "", photo.correction) for photo in used if photo.correction)
    if corrections:
        kinds = "; ".join(f"{name} ({counted(count, 'photo')})" for name, count in corrections.most_common())
        words += say(" Colour was corrected by: {kinds}.", kinds=kinds)
    words = f"{words} {usual_words(photos)}".rstrip()
    words += _median_words("Median RMS colour difference left on the references: {:.2f} ΔE00.", [
        photo.colour_residual for photo in used
    ])  # fmt: skip
    residuals = [photo.align_residual_px for photo in used]
    aligned = sum(residual is not None for residual in residuals)
    of = (
        ""
        if aligned == len(used)
        else say(" of the {range} that could be aligned", range=counted(range(aligned), "photo"))
    )
    words += _median_words(say("Median residual of the alignment{of}: {{:.2f}} px at working size.", of=of), residuals)
    return [words]


def _median_words(words: str, values: Sequence[float | None]) -> str:
    known = [value for value in values if value is not None]
    return " " + words.format(float(np.median(known))) if known else ""
