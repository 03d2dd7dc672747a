"""See costs: what a week costs with all its parts, what runs out first, and what to buy by when."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from littoral.acts.mix_and_feed.cost_form import BatchLine, BuyLine, CostForm, CostPartLine, Costs, SupplyLine
from littoral.acts.mix_and_feed.cost_reading import ReadCosts, read_costs
from littoral.acts.mix_and_feed.figures import Figure, Refused, exact, figure, plain, price
from littoral.acts.mix_and_feed.label_readings import label_checks, label_readings
from littoral.acts.mix_and_feed.reading import Reading
from littoral.acts.mix_and_feed.tool_lines import tool_checks, tool_lines
from littoral.chemistry.salts import UnknownSaltError, salt
from littoral.feeding.bottles import Bottle
from littoral.feeding.break_even import break_even
from littoral.feeding.cost import ArmCost, cost_of_feeding
from littoral.feeding.ranges import Range, total
from littoral.feeding.running_costs import RunningCost, feeding_line, running_cost
from littoral.feeding.shopping import ToBuy, shopping_list
from littoral.feeding.supply import (
    Ingredient,
    Lasting,
    batch_takes_g,
    batches_left,
    how_long_it_lasts,
    ingredients_per_week,
    use_per_week,
)
from littoral.publish.pdf.shopping_list import ShoppingList, ShoppingRow
from littoral.quantities.derivation import Step
from littoral.quantities.preferred import amounts, read_as
from littoral.speech.numbers import numeral
from littoral.speech.say import later, say

FULL_PACKS = "Where nothing is said of what is left, a full pack of each is taken to stand on the shelf."
PRICES = "Prices are those you stated. What spoils or is left over is not counted as used."


def see_costs(form: CostForm, *, today: date | None = None) -> Costs | Refused:
    """Return what a week costs, how long supplies last and what to buy, or every mistake in the form.

    `today` is the day it is reckoned from unless the form says so; this computer's date unless given.
    """
    reading = Reading(form)
    read = read_costs(reading, form, today)
    found: Costs | None = None
    if read is not None:
        with reading.trying("bottles"):
            found = _costs(form, read)
    return Refused(tuple(reading.faults)) if found is None else found


def _costs(form: CostForm, read: ReadCosts) -> Costs:
    bottles, currency = read.shelf.bottles, " ".join(form.currency.split())
    used = use_per_week([read.regime] * read.tanks)
    feeding = cost_of_feeding(
        {key: ml for key, (ml, _) in used.items() if ml > 0},
        {key: g for key, (_, g) in used.items() if g > 0},
        bottles,
        weeks=1.0,
        net_volume_l=read.net_volume_l,
    )
    lines = [feeding_line(feeding, uncertainty=read.uncertainty), *read.lines]
    running = running_cost(lines, net_volume_l=read.net_volume_l, unpriced=_unpriced(feeding, bottles))
    per_week = ingredients_per_week(used, bottles)
    lasting = how_long_it_lasts(per_week, read.left, today=read.today)
    buy = shopping_list(per_week, read.left, read.packs, today=read.today, weeks=read.weeks, lead_days=read.lead_days)
    shopping = tuple(_buy_line(one, bottles, currency) for one in buy)
    known = [one.price for one in buy if one.price is not None]
    sum_of = Figure(
        _at_least(price(sum(known), currency), len(known) < len(buy)),
        sum(known),
        currency,
        (Step("all lines", " + ".join(f"{price:.2f}" for price in known) or "nothing", f"{sum(known):.2f}"),),
    )
    return Costs(
        name=" ".join(form.name.split()) or "costs",
        currency=currency,
        lines=tuple(
            CostPartLine(
                line.part,
                line.name,
                money(line.per_week + line.wear_per_week, currency, line.steps),
                money(line.at_start, currency, line.steps),
            )
            for line in running.lines
        ),
        per_week=money(running.per_week, currency, running.steps[:1]),
        per_100_l=money(running.per_100_l_per_week, currency, running.steps[:2]),
        per_year=money(running.per_year, currency, (running.steps[0], running.steps[2])),
        at_start=money(running.at_start, currency, _sum_step("at the start", [line.at_start for line in lines])),
        paid_per_week=money(running.paid_per_week, currency, _sum_step("paid", [line.per_week for line in lines])),
        lower_bound=running.lower_bound,
        supply=tuple(_supply_line(one, bottles) for one in lasting),
        runs_out_first=_first(lasting, bottles),
        batches=tuple(_batch(bottle, read, currency) for bottle in bottles.values() if bottle.salts_g),
        break_even=_break_even(form, read, running),
        shopping=shopping,
        shopping_total=sum_of,
        printable=_printable(form, read, shopping, sum_of),
        tools=tool_lines(read.shelf),
        checks=(*tool_checks(read.shelf), *label_checks(read.shelf.labels)),
        cautions=(PRICES, FULL_PACKS),
        readings=label_readings(read.shelf.labels),
    )


def money(amount: Range, currency: str, steps: tuple[Step, ...]) -> Figure:
    """Return a price, or its range, with the currency; small ones with the digits that tell them apart."""
    digits = 2 if amount.likely >= 0.1 or amount.high == 0 else 4
    return Figure(amounts(f"{amount.shown(digits)} {currency}".strip()), amount.likely, currency, steps)


def _at_least(said: str, unknown: bool) -> str:
    return say("at least {price}", price=said) if unknown else said


def _sum_step(what: str, parts: Sequence[Range]) -> tuple[Step, ...]:
    formula = " + ".join(part.shown() for part in parts if part.high > 0) or "nothing"
    return (Step(what, formula, total(list(parts)).shown(), "interval arithmetic"),)


def _unpriced(feeding: ArmCost, bottles: dict[str, Bottle]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(bottles[key].name if what == "bottle" else what for key, what in feeding.unpriced))


_FORESEEN_WEEKS = 522.0
"""Ten years: no dose is kept for longer, so that a later date would be false precision (our own rule)."""
_YEARS = later("more than 10 years")


def _called(thing: Ingredient, bottles: dict[str, Bottle]) -> str:
    """What to call something that is bought: a bottle by its name, a salt by formula and name."""
    if thing.name in bottles:
        return bottles[thing.name].name
    try:
        found = salt(thing.name)
    except UnknownSaltError:
        return thing.name
    return f"{found.short}, {found.name}"


def _shown_unit(thing: Ingredient) -> str:
    return "mL" if thing.unit == "ml" else thing.unit


def _supply_line(one: Lasting, bottles: dict[str, Bottle]) -> SupplyLine:
    unit = _shown_unit(one.ingredient)
    weeks = (
        Figure(say("not used"), None, "weeks", one.steps)
        if one.weeks is None
        else Figure(say(_YEARS), one.weeks, "weeks", one.steps)
        if one.weeks > _FORESEEN_WEEKS
        else figure(one.weeks, "weeks", steps=one.steps)
    )
    spoils = (
        say("spoils first: {amount} would be thrown away", amount=read_as(one.wasted, unit)) if one.spoils_first else ""
    )
    return SupplyLine(
        name=_called(one.ingredient, bottles),
        left=figure(one.left, unit, digits=4),
        per_week=figure(one.per_week, unit, steps=one.steps[:1]),
        weeks=weeks,
        empty_on=""
        if one.empty_on is None or one.weeks is None or one.weeks > _FORESEEN_WEEKS
        else one.empty_on.isoformat(),
        spoils=spoils,
    )


def _first(lasting: Sequence[Lasting], bottles: dict[str, Bottle]) -> str:
    first = next((one for one in lasting if one.weeks is not None), None)
    if first is None or first.weeks is None:
        return say("Nothing is used.")
    name, weeks = _called(first.ingredient, bottles), numeral(plain(first.weeks))
    if first.weeks > _FORESEEN_WEEKS:
        return say("{name} runs out first: in {weeks}, at the real dose.", name=name, weeks=say(_YEARS))
    if first.empty_on is None:
        return say("{name} runs out first: in {weeks} weeks, at the real dose.", name=name, weeks=weeks)
    day = first.empty_on.isoformat()
    return say("{name} runs out first: in {weeks} weeks, on {day}, at the real dose.", name=name, weeks=weeks, day=day)


def _batch(bottle: Bottle, read: ReadCosts, currency: str) -> BatchLine:
    takes = batch_takes_g(bottle)
    can = batches_left(bottle, read.left)
    prices = [
        grams * read.packs[one].price / read.packs[one].content if one in read.packs else None
        for one, grams in takes.items()
    ]
    known = [price for price in prices if price is not None]
    formula = " + ".join(f"{g:g} g {one.name}" for one, g in takes.items())
    steps = (Step("one batch", formula, f"{sum(known):.2f} {currency}", "packs as stated"),)
    return BatchLine(
        of=bottle.name,
        takes=tuple((one.name, exact(grams, "g")) for one, grams in takes.items()),
        price=Figure(price(sum(known), currency), sum(known), currency, steps) if len(known) == len(takes) else None,
        batches_left=figure(can.batches, "batches", steps=can.steps),
        missing_first="" if can.missing_first is None else can.missing_first.name,
    )


def _break_even(form: CostForm, read: ReadCosts, running: RunningCost) -> Figure | None:
    if read.other is None:
        return None
    own = (" ".join(form.name.split()) or "this way", running.at_start, running.paid_per_week)
    other = (read.other.name, read.other.start, read.other.week)
    if own[1] == other[1]:
        return _same_start(own[0], own[2].likely, other[0], other[2].likely, currency=" ".join(form.currency.split()))
    dearer, cheaper = (own, other) if own[1].likely >= other[1].likely else (other, own)
    found = break_even(
        dearer_start=dearer[1], dearer_per_week=dearer[2], cheaper_start=cheaper[1], cheaper_per_week=cheaper[2]
    )
    text = amounts(found.words.replace("the dearer start", dearer[0], 1))
    return Figure(text, None if found.week is None else float(found.week), "week", found.steps)


def _same_start(own: str, own_week: float, other: str, other_week: float, *, currency: str) -> Figure:
    """What two ways with the same price at the start differ by: nothing has to be paid back first."""
    apart = own_week - other_week
    step = Step("difference a week", f"{own_week:.2f} - {other_week:.2f}", f"{apart:.2f}")
    if abs(apart) < 0.005:  # less than what a price is written to
        return Figure(say("{own} and {other} cost the same", own=own, other=other), 0.0, currency, (step,))
    text = say(
        "both cost the same at the start, and {one} costs {price} less each week",
        one=own if apart < 0 else other,
        price=price(abs(apart), currency),
    )
    return Figure(text, abs(apart), currency, (step,))


def _buy_line(one: ToBuy, bottles: dict[str, Bottle], currency: str) -> BuyLine:
    unit = _shown_unit(one.ingredient)
    if one.packs is None or one.pack is None:
        packs = Figure(say("no pack stated"), None, "packs", one.steps)
    else:
        packs = Figure(
            f"{one.packs} × {read_as(one.pack.content, unit, digits=6)}", float(one.packs), "packs", one.steps
        )
    return BuyLine(
        name=_called(one.ingredient, bottles),
        packs=packs,
        amount=figure(one.amount, unit, steps=one.steps),
        price=None if one.price is None else Figure(price(one.price, currency), one.price, currency, one.steps),
        buy_by=one.buy_by.isoformat(),
        runs_out=one.runs_out.isoformat(),
        overdue=one.overdue,
    )


def _printable(form: CostForm, read: ReadCosts, rows: Sequence[BuyLine], sum_of: Figure) -> ShoppingList:
    return ShoppingList(
        title=say("To buy for {name}", name=" ".join(form.name.split()) or say("the bench")),
        made_on=read.today.isoformat(),
        covers=say(
            "{weeks} weeks, ordered {days} days before it runs out",
            weeks=numeral(plain(read.weeks)),
            days=read.lead_days,
        ),
        rows=tuple(
            ShoppingRow(
                what=row.name,
                packs=row.packs.text,
                amount=row.amount.text,
                price="" if row.price is None else row.price.text,
                buy_by=row.buy_by,
                runs_out=row.runs_out,
                overdue=row.overdue,
            )
            for row in rows
        ),
        total=sum_of.text,
        notes=(PRICES,),
    )
