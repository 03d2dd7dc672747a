"""The four sheets: for each its form, the act that works it out, and how its fields are read."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from littoral.acts.mix_and_feed.cost_form import CostForm
from littoral.acts.mix_and_feed.mix_form import MixForm
from littoral.acts.mix_and_feed.water_form import WaterForm
from littoral.acts.mix_and_feed.week_form import WeekForm
from littoral.web.mixing import working

Row = Mapping[str, str]
_PAIR: Row = {"is": "", "of": ""}
_NAMED: Row = {"of": "", "is": ""}


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet. `work` is its act, `units` what a number alone is taken in, `new_rows` what a list's new row holds.

    Both go by field without the numbers of rows.
    """

    path: str
    title: str
    template: str
    form: type
    work: Callable[[Any], Any]
    units: Mapping[str, str]
    new_rows: Mapping[str, Row] = field(default_factory=dict)


_BOTTLE_UNITS = {
    "bottles.salts.is": "g", "bottles.made_up_to": "mL", "bottles.label.is": "%", "bottles.density": "kg/L",
    "bottles.stroke": "mL", "bottles.drop": "mL", "bottles.cylinder": "mL", "bottles.bulk": "g/mL",
}  # fmt: skip

MIX = Sheet(
    "/mix", "Mix a bottle", "mixing/mix.html", MixForm, working.mix,
    {
        "salts.is": "g", "target.is": "mg/L", "made_up_to": "mL", "scale_step": "g", "dose": "mL", "net_volume": "L",
        "in_water.is": "mg/L", "coldest": "°C", "hardness": "dGH", "temperature": "°C", "own.purity": "%",
        "own.label.is": "%", "purity.is": "%",
    },
    {"salts": _PAIR, "target": _PAIR, "in_water": _PAIR, "purity": _PAIR,
     "own": {"name": "", "formula": "", "purity": "", "grade": "", "counting": "oxides"}, "own.label": _NAMED},
)  # fmt: skip
WATER = Sheet(
    "/water", "Build water", "mixing/water.html", WaterForm, working.water,
    {
        "levels.is": "mg/L", "hardness": "dGH", "alkalinity": "dKH", "temperature": "°C", "altitude": "m",
        "target_gh": "dGH", "target_kh": "dKH", "volume": "L", "share": "%", "shelf.is": "g",
        "conductivity": "µS/cm", "purity.is": "%",
    },
    {"levels": _NAMED, "shelf": _NAMED, "purity": _PAIR},
)  # fmt: skip
WEEK = Sheet(
    "/week", "Plan a week", "mixing/week.html", WeekForm, working.week,
    {
        **_BOTTLE_UNITS, "net_volume": "L", "doses.amount": "mL", "weekly.amount": "mL", "changes.share": "%",
        "source.is": "mg/L", "uptake.is": "% per day", "start_levels.is": "mg/L", "hardness": "dGH",
        "temperature": "°C", "weeks": "weeks", "light_hours": "h", "pump_least": "mL", "scale_to": "L",
    },
    {
        "doses": {"amount": "", "of": "", "on": "Mon, Thu"},
        "weekly": {"amount": "", "of": "", "laid_out": "evenly"},
        "changes": {"share": "", "on": "Sun"}, "source": _PAIR,
        "uptake": _PAIR, "start_levels": _PAIR, "bands": _NAMED, "apart": _NAMED, "pump_flow": _NAMED,
        "bottles": {"key": "", "name": "", "made_up_to": "500 mL", "salts.1.is": "", "salts.1.of": ""},
        "bottles:label": {"key": "", "name": "", "label_by": "mass", "density": "", "grade": "", "counting": "oxides",
                          "label.1.of": "", "label.1.is": ""},
        "bottles:dry": {"key": "", "dry": "", "tool": "0.1 g"},
        "bottles.salts": _PAIR, "bottles.label": _NAMED,
    },
)  # fmt: skip
COSTS = Sheet(
    "/costs", "See costs", "mixing/costs.html", CostForm, working.costs,
    {
        **_BOTTLE_UNITS, "net_volume": "L", "doses.amount": "mL", "weekly.amount": "mL",
        "left.is": "g", "uncertainty": "%",
        "gas_fill": "g", "gas_per_day": "g", "power.watts": "W", "power.hours": "h", "water_per_week": "L",
        "things.life": "years", "weeks": "weeks", "lead": "days", "keeps.is": "weeks",
    },
    {
        "doses": {"amount": "", "of": "", "on": "Mon, Thu"},
        "weekly": {"amount": "", "of": "", "laid_out": "evenly"}, "left": _PAIR, "bought": _NAMED, "keeps": _NAMED,
        "bottles.packs": _NAMED, "power": {"name": "", "watts": "", "hours": ""},
        "kits": {"name": "", "price": "", "tests": "", "per_week": ""},
        "things": {"name": "", "price": "", "life": "5 years", "left_over": "", "part": "equipment"},
    },
)  # fmt: skip
SHEETS = (MIX, WATER, WEEK, COSTS)
