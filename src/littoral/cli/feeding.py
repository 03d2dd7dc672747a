"""Commands on feeding: plan a week, see costs."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, Any

import typer

from littoral.cli.choosing import AsJson
from littoral.cli.feeding_words import say_advice, say_costs, say_stand_ins, say_week
from littoral.cli.mixing import NONE, Anyway, Csv, From, Pdf, Trial, Why, forms_from, stop_if, write
from littoral.cli.overrides import keep_override
from littoral.cli.plain_values import plain_value
from littoral.cli.saying import print_json, refusals
from littoral.cli.written import (
    DRY,
    LABEL,
    LABEL_GRADE,
    LAID_OUT,
    MEASURES,
    STOCK,
    bottles,
    changes,
    doses,
    pairs,
    refuse,
    weekly,
)
from littoral.errors import Fault, FaultsError

if TYPE_CHECKING:
    from littoral.acts.mix_and_feed.cost_form import CostForm
    from littoral.acts.mix_and_feed.week_form import WeekForm

Arm = Annotated[str | None, typer.Option("--arm", help="With --from: which arm.")]
Stock = Annotated[list[str], typer.Option("--stock", help=f'A stock from salts: "{STOCK}".')]
Label = Annotated[list[str], typer.Option("--label", help=f'A bought bottle by its label: "{LABEL}", "{LABEL_GRADE}".')]
Counting = Annotated[
    str,
    typer.Option(help='How the three numbers of --label count: "oxides", "elements" or "not clear".'),
]
Dry = Annotated[list[str], typer.Option("--dry", help=f'A salt that is dosed dry: "{DRY}".')]
Measure = Annotated[list[str], typer.Option("--measure", help=f"What it is measured with: {MEASURES}.")]
Recommended = Annotated[
    list[str], typer.Option("--recommended", help='Of a label: "micro=6 mL per 100 L every 7 days".')
]
Pack = Annotated[list[str], typer.Option("--pack", help='What is bought: "KNO3=500 g for 7.90"; a bottle by its name.')]
Dose = Annotated[
    list[str], typer.Option("--dose", help='"macro=2 strokes on Sun, Wed"; "on every 3 days", "on daily".')
]
Weekly = Annotated[
    list[str],
    typer.Option(
        "--weekly",
        help=f'An amount a week: "{LAID_OUT}", "every other day", "half after the water change", '
        '"macro and micro days".',
    ),
]
Currency = Annotated[str | None, typer.Option(help="Code of the currency; EUR unless given.")]
Tank = Annotated[str | None, typer.Option("--tank", help="Net volume of the tank; 42 L unless given.")]

OPTIONS = {
    "net_volume": "--tank",
    "doses": "--dose",
    "changes": "--change",
    "bands": "--band",
    "start_levels": "--start-level",
    "day_0": "--day-0",
    "things": "--thing",
    "kits": "--kit",
    "water_m3_price": "--water-price",
    "kwh_price": "--kwh",
}


def week(
    from_: From = None,
    trial: Trial = None,
    arm: Arm = None,
    stock: Stock = NONE,
    label: Label = NONE,
    counting: Counting = "oxides",
    dry: Dry = NONE,
    measure: Measure = NONE,
    recommended: Recommended = NONE,
    pack: Pack = NONE,
    dose: Dose = NONE,
    weekly_: Weekly = NONE,
    change: Annotated[list[str], typer.Option(help='A water change: "40 % on Sat".')] = NONE,
    tank: Tank = None,
    source: Annotated[list[str], typer.Option(help='Level of the water for changes: "nitrate=12 mg/L".')] = NONE,
    start_level: Annotated[list[str], typer.Option(help='Level at the start: "nitrate=5 mg/L".')] = NONE,
    uptake: Annotated[list[str], typer.Option(help='Uptake, stated: "nitrate=9 % per day".')] = NONE,
    hardness: Annotated[str | None, typer.Option(help="The tank's hardness, for limits.")] = None,
    ph: Annotated[str | None, typer.Option("--ph", help="The tank's pH, for limits.")] = None,
    temperature: Annotated[str | None, typer.Option(help="The tank's temperature, for limits.")] = None,
    weeks: Annotated[str | None, typer.Option(help="How long the limits are looked at; 12 weeks unless given.")] = None,
    band: Annotated[list[str], typer.Option(help='Ask for advice: "nitrate=5 to 20 mg/L".')] = NONE,
    present: Annotated[str | None, typer.Option(help='For advice: days somebody is there, "Mon, Wed".')] = None,
    apart: Annotated[list[str], typer.Option(help='For advice: kept off one day, "macro=micro".')] = NONE,
    aim: Annotated[str | None, typer.Option(help="For advice: simplest or cheapest.")] = None,
    currency: Currency = None,
    pump_least: Annotated[str | None, typer.Option(help="A dosing pump's smallest dose: shows its programme.")] = None,
    scale_to: Annotated[str | None, typer.Option(help="Net volume of another tank to scale the doses to.")] = None,
    anyway: Anyway = "",
    show_why: Why = False,
    as_json: AsJson = False,
) -> None:
    """Plan a week: what doses add, where levels settle, what the labels say, which limits are passed; and advice."""
    from littoral.acts.mix_and_feed.advise_week import advise_week
    from littoral.acts.mix_and_feed.figures import Refused
    from littoral.acts.mix_and_feed.plan_week import plan_week
    from littoral.acts.mix_and_feed.week_form import WeekForm

    with refusals():
        form: WeekForm = WeekForm() if from_ is None else _arm_of(forms_from(from_, trial).weeks, arm)
        shelf = bottles(
            stock=stock, label=label, dry=dry, measure=measure, recommended=recommended, pack=pack, counting=counting
        )
        if shelf:
            form = replace(form, bottles=shelf, doses=(), apart=())
        given: dict[str, Any] = {
            "net_volume": tank,
            "hardness": hardness,
            "ph": ph,
            "temperature": temperature,
            "weeks": _in_weeks(weeks),
            "present": present,
            "aim": aim,
            "currency": currency,
            "pump_least": pump_least,
            "scale_to": scale_to,
            **_given_doses(dose, weekly_),
            "changes": changes(change) or None,
            "source": pairs("--source", source, example="nitrate=12 mg/L") or None,
            "start_levels": pairs("--start-level", start_level, example="nitrate=5 mg/L") or None,
            "uptake": pairs("--uptake", uptake, example="nitrate=9 % per day") or None,
            "bands": pairs("--band", band, example="nitrate=5 to 20 mg/L") or None,
            "apart": pairs("--apart", apart, example="macro=micro") or None,
        }
        form = replace(form, anyway=anyway, **{field: value for field, value in given.items() if value is not None})
        planned = plan_week(form)
        if isinstance(planned, Refused):
            refuse(planned, OPTIONS)
            return
        advised = advise_week(form) if form.bands else None
        if isinstance(advised, Refused):
            refuse(advised, OPTIONS)
            return
        if as_json:
            print_json({**plain_value(planned), "advice": plain_value(advised)})
        else:
            if from_ is None:
                say_stand_ins(form, told=given)
            say_week(planned, show_why=show_why, pump=pump_least is not None)
            if advised is not None:
                say_advice(advised, show_why=show_why)
        stop_if(planned.stop)
        if advised is not None:
            stop_if(advised.stop)
        for stop in (planned.stop, None if advised is None else advised.stop):
            keep_override(stop, from_, trial, act="week", of=arm)


def costs(
    from_: From = None,
    trial: Trial = None,
    arm: Arm = None,
    stock: Stock = NONE,
    label: Label = NONE,
    counting: Counting = "oxides",
    dry: Dry = NONE,
    measure: Measure = NONE,
    pack: Pack = NONE,
    dose: Dose = NONE,
    weekly_: Weekly = NONE,
    tank: Tank = None,
    tanks: Annotated[str | None, typer.Option(help="How many tanks get these doses; 1 unless given.")] = None,
    left: Annotated[list[str], typer.Option(help='What is left: "KNO3=350 g"; a full pack unless given.')] = NONE,
    bought: Annotated[list[str], typer.Option(help='Bought on: "micro=2026-03-01".')] = NONE,
    keeps: Annotated[list[str], typer.Option(help='Keeps from then: "micro=52 weeks".')] = NONE,
    uncertainty: Annotated[str | None, typer.Option(help='Doses or prices may be off by "10 %".')] = None,
    gas_fill: Annotated[str | None, typer.Option(help='A filling of CO2, "500 g".')] = None,
    gas_price: Annotated[str | None, typer.Option(help="Its price; a range is fine: 15 to 20.")] = None,
    gas_per_day: Annotated[str | None, typer.Option(help='Used a day, "2 g".')] = None,
    kwh: Annotated[str | None, typer.Option(help="Price of a kWh; 0.35 unless given.")] = None,
    power: Annotated[list[str], typer.Option(help='"lamp=24 W for 8 h" a day.')] = NONE,
    water_per_week: Annotated[str | None, typer.Option(help="Water for changes; 17 L unless given.")] = None,
    water_price: Annotated[str | None, typer.Option(help="Price of a cubic metre; 4.50 unless given.")] = None,
    kit: Annotated[list[str], typer.Option(help='"nitrate test=18 for 60, 1 a week".')] = NONE,
    thing: Annotated[list[str], typer.Option(help='Bought once: "lamp=120 over 5 years".')] = NONE,
    minutes: Annotated[str | None, typer.Option(help="Minutes of care a week, all tanks.")] = None,
    hour: Annotated[str | None, typer.Option(help="Price of an hour of care; without it care costs nothing.")] = None,
    other_name: Annotated[str | None, typer.Option(help="Another way to compare with: what it is called.")] = None,
    other_start: Annotated[str | None, typer.Option(help="What the other way costs at the start.")] = None,
    other_week: Annotated[str | None, typer.Option(help="What the other way costs a week.")] = None,
    currency: Currency = None,
    today: Annotated[str | None, typer.Option(help="The day it is reckoned from, YYYY-MM-DD.")] = None,
    weeks: Annotated[str | None, typer.Option(help="How long to shop for; 26 weeks unless given.")] = None,
    lead: Annotated[str | None, typer.Option(help="How long an order takes; 7 days unless given.")] = None,
    show_why: Why = False,
    as_json: AsJson = False,
    pdf: Pdf = None,
    csv: Csv = None,
) -> None:
    """See costs: a week with all its parts, what runs out first, and a shopping list with dates."""
    from littoral.acts.mix_and_feed.cost_form import CostForm
    from littoral.acts.mix_and_feed.exports import shopping_csv, shopping_list_pdf
    from littoral.acts.mix_and_feed.figures import Refused
    from littoral.acts.mix_and_feed.see_costs import see_costs

    with refusals():
        form: CostForm = CostForm() if from_ is None else _arm_of(forms_from(from_, trial).costs, arm)
        shelf = bottles(
            stock=stock, label=label, dry=dry, measure=measure, recommended=[], pack=pack, counting=counting
        )
        if shelf:
            form = replace(form, bottles=shelf, doses=())
        given: dict[str, Any] = {
            "net_volume": tank,
            "tanks": tanks,
            "uncertainty": uncertainty,
            "gas_fill": gas_fill,
            "gas_price": gas_price,
            "gas_per_day": gas_per_day,
            "kwh_price": kwh,
            "water_per_week": water_per_week,
            "water_m3_price": water_price,
            "minutes": minutes,
            "hour": hour,
            "other_name": other_name,
            "other_start": other_start,
            "other_week": other_week,
            "currency": currency,
            "today": today,
            "weeks": _in_weeks(weeks),
            "lead": lead,
            **_given_doses(dose, weekly_),
            "left": pairs("--left", left, example="KNO3=350 g") or None,
            "bought": pairs("--bought", bought, example="micro=2026-03-01") or None,
            "keeps": pairs("--keeps", keeps, example="micro=52 weeks") or None,
            "power": _power(power) or None,
            "kits": _kits(kit) or None,
            "things": _things(thing) or None,
        }
        form = replace(form, **{field: value for field, value in given.items() if value is not None})
        seen = see_costs(form)
        if isinstance(seen, Refused):
            refuse(seen, OPTIONS)
            return
        if as_json:
            print_json(plain_value(seen))
        else:
            say_costs(seen, show_why=show_why)
        if pdf is not None:
            write(pdf, shopping_list_pdf(seen), quiet=as_json)
        if csv is not None:
            write(csv, shopping_csv(seen).encode("utf-8-sig"), quiet=as_json)


def _given_doses(dose: list[str], weekly_: list[str]) -> dict[str, Any]:
    """Doses and amounts a week: where either is given, neither begins from the form's own."""
    if not dose and not weekly_:
        return {}
    return {"doses": doses(dose), "weekly": weekly(weekly_)}


def _arm_of(forms: dict[str, Any], arm: str | None) -> Any:
    if arm is None and len(forms) == 1:
        return next(iter(forms.values()))
    if arm not in forms:
        known = f"Arms with water and a regime: {', '.join(forms) or 'none'}."
        raise FaultsError([Fault("does not say which arm." if arm is None else f'is "{arm[:40]}".', known, "--arm")])
    return forms[arm]


def _power(texts: list[str]) -> tuple[Any, ...]:
    from littoral.acts.mix_and_feed.cost_form import PowerForm

    return tuple(PowerForm(name, *_two("--power", rest, " for ", "lamp=24 W for 8 h")) for name, rest in
                 pairs("--power", texts, example="lamp=24 W for 8 h"))  # fmt: skip


def _things(texts: list[str]) -> tuple[Any, ...]:
    from littoral.acts.mix_and_feed.cost_form import BoughtForm

    found = []
    for name, rest in pairs("--thing", texts, example="lamp=120 over 5 years"):
        price, _, life = rest.partition(" over ")
        found.append(BoughtForm(name, price.strip(), life.strip()))
    return tuple(found)


def _kits(texts: list[str]) -> tuple[Any, ...]:
    from littoral.acts.mix_and_feed.cost_form import KitForm

    example = "nitrate test=18 for 60, 1 a week"
    found = []
    for name, rest in pairs("--kit", texts, example=example):
        price, tests = _two("--kit", rest, " for ", example)
        count, rate = _two("--kit", tests, ",", example)
        found.append(KitForm(name, price, count, rate.removesuffix("a week").strip()))
    return tuple(found)


def _two(option: str, text: str, at: str, example: str) -> tuple[str, str]:
    before, found, after = text.partition(at)
    if not found:
        raise FaultsError([Fault(f'is "{text[:60]}".', f'Write it like {option} "{example}".', option)])
    return before.strip(), after.strip()


def _in_weeks(written: str | None) -> str | None:
    """Return a length with its unit: a bare number after --weeks can only mean weeks."""
    return f"{written} weeks" if written is not None and written.strip().isdigit() else written
