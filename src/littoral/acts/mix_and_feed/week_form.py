"""What planning a week takes and gives."""

from __future__ import annotations

from dataclasses import dataclass

from littoral.acts.mix_and_feed.bottle_form import MACRO, MICRO, BottleForm, ToolLine
from littoral.acts.mix_and_feed.figures import Figure, Pairs, Stop
from littoral.acts.mix_and_feed.mix_form import LabelReading
from littoral.quantities.check_row import CheckRow
from littoral.quantities.derivation import Step

AIMS = ("simplest", "cheapest")


@dataclass(frozen=True, slots=True)
class DoseForm:
    """A dose that repeats: `amount` such as "2 strokes", `on` such as "Sun, Wed", "daily", "every 3 days"."""

    of: str
    amount: str
    on: str


@dataclass(frozen=True, slots=True)
class WeeklyForm:
    """An amount a week, "40 mL", and how it is `laid_out`: "evenly", "evenly on Mon, Thu", "every other day".

    Or "half after the water change" (or "30 %", and ", the rest on Mon, Wed"), or "macro and micro days": which of the
    two a bottle gets is told from what it holds, or said: "micro days".
    """

    of: str
    amount: str
    laid_out: str = "evenly"


@dataclass(frozen=True, slots=True)
class ChangeForm:
    """A water change that repeats: `share` such as "40 %"."""

    share: str
    on: str


@dataclass(frozen=True, slots=True)
class WeekForm:
    """A week of one tank, as a person writes it; text with units, empty where not known.

    `source` are levels of the water it is changed with; `uptake` such as ("nitrate", "9 % per day"). `bands` are what
    the adviser keeps, such as ("nitrate", "5 to 20 mg/L"), "at least 5 mg/L" or "at most 20 mg/L"; without one it says
    nothing. `present` are the days somebody is there; `apart` are bottles kept off each other's day. `start_levels` are
    where levels begin, the source's unless given. `day_0` is the weekday of the first day. `light` ("60", µmol/m²/s at
    the plants), `light_hours` and `planted` ("0.15", m²) add a start that follows the light. `scale_to` is another
    tank's net volume, "" for none. `weekly` are amounts a week that are laid out over the days, beside the `doses`.
    `currency` is the packs' prices'.
    """

    name: str = "sparing"
    net_volume: str = "42 L"
    bottles: tuple[BottleForm, ...] = (MACRO, MICRO)
    doses: tuple[DoseForm, ...] = (DoseForm("macro", "2 strokes", "Sun, Wed"), DoseForm("micro", "8 drops", "Mon, Thu"))
    weekly: tuple[WeeklyForm, ...] = ()
    changes: tuple[ChangeForm, ...] = (ChangeForm("40 %", "Sat"),)
    source: Pairs = (("nitrate", "12 mg/L"), ("phosphate", "0.1 mg/L"), ("potassium", "3 mg/L"), ("iron", "0.01 mg/L"))
    uptake: Pairs = (
        ("nitrate", "9 % per day"),
        ("phosphate", "12 % per day"),
        ("potassium", "5 % per day"),
        ("iron", "30 % per day"),
    )
    start_levels: Pairs = ()
    hardness: str = "10 dGH"
    ph: str = "7.2"
    temperature: str = "24 °C"
    day_0: str = "Mon"
    bands: Pairs = ()
    present: str = "daily"
    apart: Pairs = (("macro", "micro"),)
    aim: str = "simplest"
    currency: str = "EUR"
    weeks: str = "12 weeks"
    light: str = ""
    light_hours: str = "8 h"
    planted: str = ""
    pump_least: str = ""
    pump_flow: Pairs = ()
    scale_to: str = ""
    anyway: str = ""


@dataclass(frozen=True, slots=True)
class DoseLine:
    """One planned dose: of which bottle, how written, how much (mL or g), when, what one of it adds in mg/L.

    `row` is the row of the form it is from, "doses.1" or "weekly.2", "" for another tank's. `really` is what its tool
    gives: the nearest whole steps and their range; None where that is nothing new.
    """

    of: str
    name: str
    written: str
    amount: Figure
    when: str
    adds: tuple[tuple[str, Figure], ...]
    row: str = ""
    really: Figure | None = None


@dataclass(frozen=True, slots=True)
class DayLine:
    """One day: its name, the share of water changed ("40 %", "" for none), and the doses as they are measured out."""

    day: str
    change: str
    doses: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LevelLine:
    """One nutrient of the week: added per week (as the ion, and as the element), and where its level settles.

    `trough`, `peak`, `mean` in mg/L; `settles` the days until nine tenths of the way there. `trap` as in a bottle.
    `path` is the settled level as points (day from 0, mg/L), empty where it grows for ever; `band` the floor and the
    ceiling that were asked for, mg/L, None for no such end.
    """

    nutrient: str
    symbol: str
    name: str
    week: Figure
    element: Figure
    trough: Figure
    peak: Figure
    mean: Figure
    settles: Figure
    trap: str
    path: tuple[tuple[float, float], ...] = ()
    band: tuple[float | None, float | None] = (None, None)


@dataclass(frozen=True, slots=True)
class LabelLine:
    """One bottle's real week against its label's, in words with the factor: "half of what the label recommends".

    `compared` is, by nutrient, what this bottle adds in the real week and in the label's, mg/L; the largest first.
    """

    of: str
    name: str
    real: Figure
    recommended: Figure | None
    factor: Figure | None
    words: str
    compared: tuple[tuple[str, Figure, Figure], ...] = ()


@dataclass(frozen=True, slots=True)
class StartLine:
    """A described way to feed: `adds` by nutrient, "15 to 30 mg/L"; `against` says where this week lies."""

    name: str
    what: str
    adds: tuple[tuple[str, str], ...]
    against: tuple[tuple[str, str], ...]
    source: str


@dataclass(frozen=True, slots=True)
class Advised:
    """The adviser's pattern, or, where nothing fits, the `smallest_change` that would make something fit, and then it.

    `costs` says in words what each wish costs. `doses` can be taken over into the form as they are; they are left out
    while a `stop` stands, where they would pass a published limit.
    """

    fits: bool
    smallest_change: str
    doses: tuple[DoseForm, ...]
    stop: Stop | None
    portions: Figure | None
    price: Figure | None
    checks: tuple[CheckRow, ...]
    costs: tuple[str, ...]
    proof: Figure | None


@dataclass(frozen=True, slots=True)
class PumpLine:
    """One line of a dosing pump's programme."""

    channel: int
    of: str
    when: str
    clock: str
    amount: Figure
    seconds: Figure | None
    check: CheckRow


@dataclass(frozen=True, slots=True)
class Week:
    """A planned week in numbers. `doses`, `days`, `pump`, `scaled` are empty while a `stop` stands; levels stay.

    `readings` are the labels of bought bottles in both countings; `limit_steps` derive the limits, each under the name
    of its row. `lines` are by nutrient; `npk` has both ratios in words. Advice is an act of its own, since it
    may take a second.
    """

    name: str
    tools: tuple[ToolLine, ...]
    doses: tuple[DoseLine, ...]
    days: tuple[DayLine, ...]
    lines: tuple[LevelLine, ...]
    npk: Figure
    labels: tuple[LabelLine, ...]
    limits: tuple[CheckRow, ...]
    checks: tuple[CheckRow, ...]
    stop: Stop | None
    starts: tuple[StartLine, ...]
    pump: tuple[PumpLine, ...]
    pump_note: str
    scaled: tuple[DoseLine, ...]
    cautions: tuple[str, ...]
    readings: tuple[LabelReading, ...] = ()
    limit_steps: tuple[Step, ...] = ()
