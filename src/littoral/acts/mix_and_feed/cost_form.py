"""What seeing costs takes and gives."""

from __future__ import annotations

from dataclasses import dataclass

from littoral.acts.mix_and_feed.bottle_form import MACRO, MICRO, BottleForm, ToolLine
from littoral.acts.mix_and_feed.figures import Figure, Pairs
from littoral.acts.mix_and_feed.mix_form import LabelReading
from littoral.acts.mix_and_feed.week_form import DoseForm, WeeklyForm
from littoral.publish.pdf.shopping_list import ShoppingList
from littoral.quantities.check_row import CheckRow


@dataclass(frozen=True, slots=True)
class PowerForm:
    """Something that draws power: `watts` such as "24 W", `hours` a day such as "8 h"."""

    name: str
    watts: str
    hours: str


@dataclass(frozen=True, slots=True)
class BoughtForm:
    """Plants or equipment: `price`, `life` such as "5 years" (empty: not written down), what is `left_over` of it."""

    name: str
    price: str
    life: str = ""
    left_over: str = ""
    part: str = "equipment"


@dataclass(frozen=True, slots=True)
class KitForm:
    """A test kit: its `price`, how many `tests` it does, and tests `per_week`."""

    name: str
    price: str
    tests: str
    per_week: str


@dataclass(frozen=True, slots=True)
class CostForm:
    """What one arm, or the whole bench, runs on; text with units. A price or rate may be a range: "7 to 9".

    `tanks` is how many tanks get these doses, of `net_volume` each. `left` is what stands on the shelf, ("KNO3",
    "350 g"), full packs unless given; `bought` and `keeps` say since when and how long: ("micro", "2026-03-01"),
    ("micro", "52 weeks"). `minutes` a week count only with a price of an `hour`. `other_start` and `other_week` are of
    the way to compare with. `today` is YYYY-MM-DD; a list for `weeks` weeks, ordered `lead` before it runs out.
    `uncertainty` is the share by which doses or prices of feeding may be off. `weekly` are amounts a week beside the
    `doses`; how they are laid out changes no cost.
    """

    name: str = "one tank"
    currency: str = "EUR"
    net_volume: str = "42 L"
    tanks: str = "1"
    bottles: tuple[BottleForm, ...] = (MACRO, MICRO)
    doses: tuple[DoseForm, ...] = (DoseForm("macro", "2 strokes", "Sun, Wed"), DoseForm("micro", "8 drops", "Mon, Thu"))
    weekly: tuple[WeeklyForm, ...] = ()
    left: Pairs = ()
    bought: Pairs = ()
    keeps: Pairs = ()
    uncertainty: str = "0 %"
    gas_fill: str = ""
    gas_price: str = ""
    gas_per_day: str = ""
    kwh_price: str = "0.35"
    power: tuple[PowerForm, ...] = (PowerForm("lamp", "24 W", "8 h"),)
    water_per_week: str = "17 L"
    water_m3_price: str = "4.50"
    kits: tuple[KitForm, ...] = ()
    things: tuple[BoughtForm, ...] = ()
    minutes: str = ""
    hour: str = ""
    other_name: str = ""
    other_start: str = ""
    other_week: str = ""
    today: str = ""
    weeks: str = "26 weeks"
    lead: str = "7 days"


@dataclass(frozen=True, slots=True)
class CostPartLine:
    """One part of the cost: a week of it (wear counted), and what it costs at the start."""

    part: str
    name: str
    per_week: Figure
    at_start: Figure


@dataclass(frozen=True, slots=True)
class SupplyLine:
    """How long one thing lasts at the real dose: what is left, used a week, weeks, the day it is empty, spoilage."""

    name: str
    left: Figure
    per_week: Figure
    weeks: Figure
    empty_on: str
    spoils: str


@dataclass(frozen=True, slots=True)
class BatchLine:
    """One batch of a stock: the grams it takes of each salt, what it costs, how many more can be made, what lacks."""

    of: str
    takes: tuple[tuple[str, Figure], ...]
    price: Figure | None
    batches_left: Figure
    missing_first: str


@dataclass(frozen=True, slots=True)
class BuyLine:
    """One line of the shopping list."""

    name: str
    packs: Figure
    amount: Figure
    price: Figure | None
    buy_by: str
    runs_out: str
    overdue: bool


@dataclass(frozen=True, slots=True)
class Costs:
    """What it costs, in `currency`: parts and sums; supply, the first to run out first; shopping list with its print.

    `lower_bound` names what has no price; while it is not empty, every sum is at least that much.
    `readings` are the labels of bought bottles in both countings.
    """

    name: str
    currency: str
    lines: tuple[CostPartLine, ...]
    per_week: Figure
    per_100_l: Figure
    per_year: Figure
    at_start: Figure
    paid_per_week: Figure
    lower_bound: tuple[str, ...]
    supply: tuple[SupplyLine, ...]
    runs_out_first: str
    batches: tuple[BatchLine, ...]
    break_even: Figure | None
    shopping: tuple[BuyLine, ...]
    shopping_total: Figure
    printable: ShoppingList
    tools: tuple[ToolLine, ...]
    checks: tuple[CheckRow, ...]
    cautions: tuple[str, ...]
    readings: tuple[LabelReading, ...] = ()
