"""Show a trial's design: what is asked, who gets what when, what that can show, and since when it stands."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

from littoral.acts.bench_spread import spreads_before
from littoral.acts.choosing import chosen_trial
from littoral.acts.design_page import Asked, DesignPage, Locked, Stretch, TankBar, Version
from littoral.acts.page_charts import charts_by_width
from littoral.acts.trial_files import read_small
from littoral.errors import FaultsError, extras_needed
from littoral.findings.described_words import ACCOUNT, told_beforehand
from littoral.findings.design_power import DesignPower, design_power
from littoral.findings.showing import percent, shown
from littoral.findings.spread import NOTHING_SEEN, Spread
from littoral.logbook.book import Logbook
from littoral.publish.chart import Chart
from littoral.publish.look import on_dark
from littoral.publish.power_chart import power_chart
from littoral.publish.sheet_words import draw_words, lead_words, order_words
from littoral.publish.words import regime_words, span_words
from littoral.speech.say import say
from littoral.stats.crossover import WASHOUT_HALF_LIVES
from littoral.trial.days import instant_of
from littoral.trial.design import design_of, draw_again
from littoral.trial.locked import design_changes, design_hash
from littoral.trial.measures import MEASURES
from littoral.trial.model import Question, Trial
from littoral.trial.periods import arm_on, half_life_days, pairs_of, periods_of, washout_half_lives
from littoral.trial.written.reader import read_trial

NO_STOPPING = "No rule was written down; say in the design what would end the trial early."
NO_TRIMMING = "No rule was written down; say in the design when what is cut, in all tanks alike."


@extras_needed()
def view_design(where: Path, trial_key: str | None = None) -> DesignPage:
    """Return the design of a trial in the logbook at `where` (a folder), or of the trial file `where`.

    Raises what `Logbook.open` and `chosen_trial` raise; UnreadableFileError and FaultsError for a file.
    """
    if where.is_dir():
        with Logbook.open(where) as book:
            key = chosen_trial(book, trial_key)
            kept = book.trial(key)
            return design_page(kept, locked=locked_of(book, key), seen=spreads_before(book, kept))
    text = read_small(where).decode("utf-8-sig", errors="replace")
    trial, faults = read_trial(text, where=where.name)
    if trial is None:
        raise FaultsError(faults)
    return design_page(trial, locked=None)


def design_page(trial: Trial, *, locked: Locked | None, seen: Mapping[str, Spread] = NOTHING_SEEN) -> DesignPage:
    """Return all that is said of a trial's design; `seen` are spreads that earlier trials of its bench showed."""
    power = design_power(trial, seen=seen)
    return DesignPage(
        trial=trial,
        lead=lead_words(trial),
        design=design_of(trial),
        drawn=tuple(one for one in (draw_words(trial), _draw_repeated(trial), order_words(trial)) if one),
        asked=tuple(_asked(trial, question) for question in trial.questions),
        arms=tuple((arm.name, regime_words(trial, arm.regime) if trial.regimes else "") for arm in trial.arms),
        bars=tuple(_bar(trial, tank) for tank in trial.tanks),  # as the file names them: left stands before right
        rules=tuple(_rules(trial)),
        power=power,
        charts=() if power is None else charts_by_width(lambda width_px: _charts(power, width_px)),
        on_dark=on_dark(),
        sha256=design_hash(trial),
        locked=locked,
    )


def locked_of(book: Logbook, key: str) -> Locked:
    """Return the design of a trial as it was first taken in, and every later text whose design differs."""
    texts = book.texts(key)
    in_force: Trial | None = None
    first: tuple[datetime, Trial] | None = None
    versions: list[Version] = []
    for at, text in texts:
        trial, _ = read_trial(text, where=key)
        if trial is None:  # written for a version of Littoral that read other keys
            in_force = None
            continue
        if first is None:
            first = at, trial
        elif in_force is None or design_hash(trial) != design_hash(in_force):
            changes = None if in_force is None else design_changes(in_force, trial)
            running = instant_of(0.0, in_force or trial) <= at
            versions.append(Version(at, design_hash(trial), running, changes))
        in_force = trial
    assert first is not None  # the text in force was read before it was taken in
    since, trial = first
    first_day = instant_of(0.0, trial) <= since < instant_of(1.0, trial) and trial.baseline_days >= 1
    return Locked(
        design_hash(trial), since, since < instant_of(0.0, trial), trial.zone, tuple(versions), on_first_day=first_day
    )


def _charts(power: DesignPower, width_px: float) -> Mapping[str, Chart]:
    chart = power_chart(power.curves, spreads=power.spreads, width_px=width_px)
    return {} if chart is None else {"power": chart}


def _asked(trial: Trial, question: Question) -> Asked:
    expected = ""
    if question.expect is not None:
        arm = next((arm.name for arm in trial.arms if arm.key == question.expect[0]), question.expect[0])
        expected = say("{expect} with {arm}", expect=question.expect[1], arm=arm)
    smallest = ""
    if question.smallest is not None:
        doubt = question.smallest * 0.2
        smallest = shown(question.measure, question.smallest, doubt=doubt, currency=trial.currency, signed=True)
    of = ", ".join(trial.stands[key].name if key in trial.stands else key for key in question.of)
    name = say(MEASURES[question.measure].name)
    if question.threshold_points is not None:
        name = say("{name}, at {threshold_points:g} % or more", name=name, threshold_points=question.threshold_points)
    beforehand = told_beforehand(trial, question)
    return Asked(
        key=question.key,
        ask=question.ask,
        measure=(say("{name} of {of}", name=name, of=of) if of else name) + (f" ({beforehand})" if beforehand else ""),
        meaning=say(MEASURES[question.measure].meaning),
        expected=expected,
        smallest=smallest.lstrip("+"),
        primary=question.primary,
        account=beforehand == ACCOUNT,
    )


def _bar(trial: Trial, tank: str) -> TankBar:
    found: list[Stretch] = []
    if trial.baseline_days:
        what = regime_words(trial, trial.baseline_regime) if trial.regimes else say("the same care for all")
        found.append(Stretch(0.0, trial.baseline_days, 0.0, say("baseline: {what}", what=what), None))
    periods = periods_of(trial)
    if periods and trial.plan.kind == "crossover":
        for period in periods:
            arm = arm_on(trial, tank, period.from_day)
            place = trial.arms.index(arm)
            found.append(Stretch(period.from_day, period.to_day, period.measured_from, arm.name, place))
    else:
        arm = trial.arm_of(tank)
        begin = float(trial.baseline_days)
        found.append(Stretch(begin, float(trial.length_days), begin, arm.name, trial.arms.index(arm)))
    return TankBar(tank, trial.tanks[tank].name, tuple(found))


def _rules(trial: Trial) -> list[tuple[str, str]]:
    plan = trial.plan
    rules: list[tuple[str, str]] = [("Baseline", _baseline_said(trial))]
    if plan.kind == "crossover":
        rules.append(("Washout", _washout_said(trial)))
    pairs = pairs_of(trial)
    if len(pairs) > 1 or plan.paired_by:
        named = "; ".join(" and ".join(trial.tanks[tank].name for tank in pair) for pair in pairs)
        rules.append(("Pairs", f"{named}{f'. They share: {plan.paired_by}' if plan.paired_by else ''}."))
    days = ", ".join(say("day {day:g}", day=day) for day in plan.looks_days)
    looks = say("{days}. Each is a further chance to be fooled; none of them ends it.", days=days)
    rules.append(("Looks before the end", looks if days else say("None is planned: the answer counts at the end.")))
    rules.append(("Stopping", plan.stopping or NO_STOPPING))
    rules.append(("Trimming", plan.trimming or NO_TRIMMING))
    if plan.blocks:
        named = "; ".join(
            f"{name}: {', '.join(trial.tanks[tank].name for tank in tanks)}" for name, tanks in plan.blocks
        )
        rules.append(("Blocks", f"{named}{f'. They share: {plan.blocked_by}' if plan.blocked_by else ''}."))
    if plan.start_drawn_from:
        days = ", ".join(f"{day:g}" for day in plan.start_drawn_from)
        number = say(" (number {start_seed})", start_seed=plan.start_seed) if plan.start_seed is not None else ""
        rules.append(
            (
                "Start drawn by lot",
                say(
                    "Day {baseline_days:g}, from days {days}{number}.",
                    baseline_days=trial.baseline_days,
                    days=days,
                    number=number,
                ),
            )
        )
    if plan.spread is not None:
        rules.append(("Assumed spread between equal tanks", percent(plan.spread)))
    return rules


def _baseline_said(trial: Trial) -> str:
    if not trial.baseline_days:
        return say("None: how the tanks differed before cannot be told from what the arms do.")
    fed = f": {regime_words(trial, trial.baseline_regime)}" if trial.regimes else ""
    return say("{span_words}, all tanks alike{fed}.", span_words=span_words(trial.baseline_days), fed=fed)


def _draw_repeated(trial: Trial) -> str:
    """Return how anyone can repeat the draw, after doing so; "" where nothing was drawn."""
    if not trial.drawn:
        return ""
    again = draw_again(trial)
    if again is None:
        return say("No seed was kept, so nobody can repeat the draw.")
    in_arms = {tank for arm in trial.arms for tank in arm.tanks}
    tanks = ", ".join(tank for tank in trial.tanks if tank in in_arms)
    arms = ", ".join(arm.key for arm in trial.arms)
    how = say(
        "NumPy's default_rng({draw_seed}) shuffles the tanks ({tanks}), then the arms "
        "({arms}), and deals the tanks out to the arms in turn",
        draw_seed=trial.draw_seed,
        tanks=tanks,
        arms=arms,
    )
    if again:
        return say("To repeat it: {how}. Done again just now, it gave the same.", how=how)
    return say(
        "{how}{how_2}; that gives another division, so the draw was made in another way.",
        how=how[:1].upper(),
        how_2=how[1:],
    )


def _washout_said(trial: Trial) -> str:
    plan = trial.plan
    if not plan.washout_days:
        return say(
            "None: the first days of each period still show the regime before, and they are compared all the same."
        )
    said = say(
        "The first {span_words} of each period are fed but not compared", span_words=span_words(plan.washout_days)
    )
    half = half_life_days(trial)
    if math.isnan(half):
        return say("{said}. How long what is dosed lingers is not known: write `half_life` into the design.", said=said)
    from_where = say("as written") if plan.half_life_days is not None else say("from water changes and stated uptake")
    long = washout_half_lives(trial)
    enough = (
        say("enough")
        if long >= WASHOUT_HALF_LIVES
        else say("shorter than the {WASHOUT_HALF_LIVES:g} that are needed", WASHOUT_HALF_LIVES=WASHOUT_HALF_LIVES)
    )
    return say(
        "{said}: {long:.2g} half-lives of what is dosed, {enough}. Half-life {half:.2g} "
        "days, {from_where}; what plants have stored may linger longer.",
        said=said,
        long=long,
        enough=enough,
        half=half,
        from_where=from_where,
    )
