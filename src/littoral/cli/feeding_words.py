"""How a week, advice and costs are printed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from littoral.cli.lines import checks_table, table, why, why_steps, wrapped
from littoral.cli.mixing_words import say_labels, why_labels
from littoral.cli.saying import aside, say

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from littoral.acts.mix_and_feed.bottle_form import ToolLine
    from littoral.acts.mix_and_feed.cost_form import Costs
    from littoral.acts.mix_and_feed.figures import Figure
    from littoral.acts.mix_and_feed.week_form import Advised, Week, WeekForm


def say_week(planned: Week, *, show_why: bool, pump: bool) -> None:
    """Print a planned week; the programme of a `pump` only where one is meant."""
    say(f"{planned.name}: {planned.npk.text}")
    say_tools(planned.tools)
    say_labels(planned.readings)
    if planned.doses:
        doses = (
            (
                line.name,
                line.written,
                line.when,
                "" if line.really is None else line.really.text,
                ", ".join(f"{key} {figure.text}" for key, figure in line.adds[:4]),
            )
            for line in planned.doses
        )
        say(table("Doses", ("bottle", "dose", "when", "by the tool", "one adds"), doses))
    if planned.days:
        say(
            table(
                "Day by day",
                ("day", ">water changed", "given"),
                ((day.day, day.change, ", ".join(day.doses)) for day in planned.days),
            )
        )
    say(
        table(
            "A week, and where levels settle",
            ("nutrient", ">added a week", ">as element", ">trough", ">peak", ">mean", ">nine tenths after"),
            (
                (
                    line.name,
                    line.week.text,
                    line.element.text,
                    line.trough.text,
                    line.peak.text,
                    line.mean.text,
                    line.settles.text,
                )
                for line in planned.lines
            ),
        )
    )
    for label in planned.labels:
        say(wrapped(f"{label.name}: {label.real.text} a week, {label.words}"))
        if label.compared:
            both = (f"{key} {real.text} ({of_label.text})" for key, real, of_label in label.compared[:3])
            say(wrapped(f"a week of it adds (and the label's would): {', '.join(both)}", indent="    "))
    for rows, title in ((planned.checks, "Checks of the doses"), (planned.limits, "Limits, at the highest levels")):
        if text := checks_table(title, rows, whole=show_why):
            say(text)
    for start in planned.starts:
        against = ", ".join(f"{key} {where}" for key, where in start.against)
        adds = ", ".join(f"{key} {amount}" for key, amount in start.adds)
        say(wrapped(f"{start.name} ({start.source}) adds {adds} a week; this week: {against}"))
    if pump and planned.pump:
        programme = (
            (str(line.channel), line.of, line.when, line.clock, line.amount.text, line.check.comment)
            for line in planned.pump
        )
        say(table("Dosing pump", (">channel", "bottle", "when", "at", ">dose", "pump"), programme))
    if pump and planned.pump_note:
        say(wrapped(planned.pump_note))
    if planned.scaled:
        scaled = ((line.name, line.written, line.when) for line in planned.scaled)
        say(table("In the other tank", ("bottle", "dose", "when"), scaled))
    for caution in planned.cautions:
        say(wrapped(caution))
    if show_why:
        say(
            why(
                [
                    *_why_tools(planned.tools),
                    *((f"the dose of {line.name}, {line.when}", line.amount) for line in planned.doses),
                    *((f"what the tool gives of {line.name}, {line.when}", line.really) for line in planned.doses),
                    ("N:P:K", planned.npk),
                    *((f"{line.name} of a week", line.element) for line in planned.lines),
                    *((f"the peak of {line.name}", line.peak) for line in planned.lines),
                    *((f"the label of {line.name}", line.factor) for line in planned.labels),
                    *(
                        (f"{key} of the label's week of {line.name}", of_label)
                        for line in planned.labels
                        for key, _, of_label in line.compared[:3]
                    ),
                    *((f"{line.of} on the pump", line.amount) for line in planned.pump if pump),
                    *why_labels(planned.readings),
                ]
            )
        )
        say(why_steps("why the limits are what they are:", planned.limit_steps))


def say_tools(tools: Sequence[ToolLine]) -> None:
    """Print what a counted stroke or a level spoon gives, how much it varies, and what that means."""
    for line in tools:
        varies = "" if line.varies is None else f" ({'SD ' if line.kind == 'stroke' else ''}{line.varies.text})"
        say(wrapped(f"{line.name}, one {line.kind}: {line.one.text}{varies}; {line.words}"))


def _why_tools(tools: Sequence[ToolLine]) -> list[tuple[str, Figure | None]]:
    return [
        pair
        for line in tools
        for pair in ((f"a {line.kind} of {line.name}", line.one), (f"the spread of {line.name}", line.varies))
    ]


def say_advice(advised: Advised, *, show_why: bool) -> None:
    """Print what the adviser proposes."""
    if not advised.fits:
        say(
            wrapped(
                f"Nothing keeps every band. The smallest change that would do: {advised.smallest_change}.", indent=""
            )
        )
    if advised.doses:
        rows = ((dose.of, dose.amount, dose.on) for dose in advised.doses)
        say(table("Advice" if advised.fits else "And then", ("bottle", "dose", "when"), rows))
    for figure in (advised.portions, advised.price, advised.proof):
        if figure is not None:
            say(wrapped(figure.text))
    if text := checks_table("Bands", advised.checks, whole=True):
        say(text)
    for line in advised.costs:
        say(wrapped(line))
    if show_why:
        say(why([("the advice", advised.portions), ("the price", advised.price)]))


def say_costs(seen: Costs, *, show_why: bool) -> None:
    """Print costs, supply and the shopping list."""
    at_least = "at least " if seen.lower_bound else ""
    prices = f"{seen.per_week.text} a week, {seen.per_100_l.text} per 100 L, {seen.per_year.text} a year"
    say(f"{seen.name}: {at_least}{prices}")
    if seen.lower_bound:
        say(wrapped(f"No price is known of {', '.join(seen.lower_bound)}."))
    rows = ((line.part, line.name, line.per_week.text, line.at_start.text) for line in seen.lines)
    say(table("Parts", ("part", "what", ">a week, wear counted", ">at the start"), rows))
    say_tools(seen.tools)
    say_labels(seen.readings)
    say(f"  leaves the purse each week: {seen.paid_per_week.text}; at the start: {seen.at_start.text}")
    supply = (
        (line.name, line.left.text, line.per_week.text, line.weeks.text, line.empty_on, line.spoils)
        for line in seen.supply
    )
    say(table("Supply", ("what", ">left", ">a week", ">lasts", "empty on", ""), supply))
    say(wrapped(seen.runs_out_first))
    if text := checks_table("Checks", seen.checks, whole=show_why):
        say(text)
    for batch in seen.batches:
        takes = ", ".join(f"{figure.text} {name}" for name, figure in batch.takes)
        price = "" if batch.price is None else f", {batch.price.text}"
        missing = f", then {batch.missing_first} is missing" if batch.missing_first else ""
        say(wrapped(f"one batch of {batch.of} takes {takes}{price}; {batch.batches_left.text} can be made{missing}"))
    if seen.break_even is not None:
        say(wrapped(seen.break_even.text))
    if seen.shopping:
        buy = (
            (
                line.buy_by + (" (now)" if line.overdue else ""),
                line.name,
                line.packs.text,
                line.amount.text,
                "" if line.price is None else line.price.text,
                line.runs_out,
            )
            for line in seen.shopping
        )
        say(table("To buy", ("by", "what", "packs", ">needed", ">price", "runs out"), buy))
        say(f"  together {seen.shopping_total.text}")
    for caution in seen.cautions:
        say(wrapped(caution))
    if show_why:
        parts = [(f"{line.part}, {line.name}", line.per_week) for line in seen.lines]
        whole = [("a week", seen.per_week), ("per 100 L", seen.per_100_l), ("a year", seen.per_year)]
        lasting = [(f"how long {line.name} lasts", line.weeks) for line in seen.supply]
        buying = [(f"{line.name} on the list", line.packs) for line in seen.shopping]
        batches = [(f"the batches of {batch.of} that can be made", batch.batches_left) for batch in seen.batches]
        tools = _why_tools(seen.tools)
        say(
            why(
                [
                    *tools,
                    *parts,
                    *whole,
                    *lasting,
                    *batches,
                    ("the break-even", seen.break_even),
                    *buying,
                    *why_labels(seen.readings),
                ]
            )
        )


def say_stand_ins(form: WeekForm, *, told: Mapping[str, Any]) -> None:
    """Say which of a tank's circumstances nobody gave: levels and limits are only as good as these."""
    listed = {
        "net_volume": f"a tank of {form.net_volume}",
        "changes": f"water changed: {', '.join(f'{one.share} on {one.on}' for one in form.changes)}",
        "source": f"source water with {', '.join(f'{name} {level}' for name, level in form.source)}",
        "uptake": f"plants that take up {', '.join(f'{name} {share}' for name, share in form.uptake)}",
    }
    missing = [words for name, words in listed.items() if told.get(name) is None]
    if missing:
        aside(f"Not told, so stood in for: {'; '.join(missing)}. Give your own for levels of your own tank.")
