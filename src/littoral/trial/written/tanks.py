"""Source water and tanks."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, cast

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.tank.volume import Vessel, VolumeError, net_volume_l
from littoral.trial.model import SourceWater, Tank
from littoral.trial.written.amounts import amount, lengths_cm
from littoral.trial.written.report import show_path
from littoral.trial.written.table import Key, Parse, Table
from littoral.trial.written.values import one_of, text

NUTRIENT_KEYS = {key: Key('"12 mg/L"', f"{nutrient.name}, as {nutrient.symbol}") for key, nutrient in NUTRIENTS.items()}
SOURCE_KEYS = {"name": Key('"tap water, report of 2026"', "where the values are from")} | NUTRIENT_KEYS
TANK_KEYS = {
    "name": Key('"left tank"', "name shown; the short name unless given"),
    "like": Key('"left"', "every key of another tank, unless given here; `name` is not taken over"),
    "glass": Key(
        '"60 x 30 x 30 cm"', "inside of the glass: length x width x height; left out where no water is tracked"
    ),
    "fill": Key('"27 cm"', "height of the water over the bottom glass", required=True),
    "substrate": Key('{ depth = "5 cm", porosity = 0.40 }', "what lies on the bottom"),
    "stone": Key('{ mass = "1.8 kg", density = "2.65 kg/L" }', "all stone together"),
    "wood": Key('"0.6 L"', "volume of the wood under water"),
    "net_volume": Key('"38 L"', "litres of water really in the tank, measured; overrides the geometry"),
    "evaporation": Key('"1.4 L per week"', "water lost to the air and topped up; none unless given"),
    "top_up": Key('"pure water"', 'what replaces evaporated water: "pure water" or "source water"'),
    "uptake": Key('{ nitrate = "9 % per day" }', "stated uptake of each nutrient, for the likely line of its level"),
    "start_levels": Key('{ nitrate = "10 mg/L" }', "levels on day 0; those of the source water unless given"),
}
SUBSTRATE_KEYS = {
    "depth": Key('"5 cm"', "mean depth", required=True),
    "porosity": Key("0.40", "share of its volume that is water, 0 to 1; 0.40 unless given"),
}
STONE_KEYS = {
    "mass": Key('"1.8 kg"', "dry mass of all stone", required=True),
    "density": Key('"2.65 kg/L"', "density; that of quartz and granite, 2.65 kg/L, unless given"),
}
UPTAKE_KEYS = {key: Key('"9 % per day"', entry.meaning) for key, entry in NUTRIENT_KEYS.items()}
WATER_KEYS = ("fill", "substrate", "stone", "wood", "net_volume", "evaporation", "top_up", "uptake", "start_levels")


def read_source(root: Table) -> SourceWater | None:
    """Read `[source]`; None where it is not given."""
    table = root.table("source", SOURCE_KEYS, "the source water")
    if table is None:
        return None
    levels = _per_nutrient(table, amount("concentration"))
    return SourceWater(name=table.optional("name", text, "source water"), level_mg_per_l=levels)


def _per_nutrient(table: Table, parse: Parse[float]) -> dict[str, float]:
    return {key: table.required(key, parse, 0.0) for key in NUTRIENTS if key in table}


def read_tanks(root: Table) -> dict[str, Tank]:
    """Read every `[tanks.…]`, those written in full first, so that `like` can refer to them."""
    plain = root.tables("tanks", TANK_KEYS, "a tank")
    return {key: _tank(key, _with_like(key, table, plain)) for key, table in plain.items()}


def _with_like(key: str, table: Table, plain: Mapping[str, Table]) -> Table:
    """Return the table with what `like` takes over; `like` may not lead to another `like`."""
    if "like" not in table:
        return table
    whole = [name for name, other in plain.items() if "like" not in other]
    model = table.required("like", one_of([name for name in plain if name != key], "other tanks"), "")
    if model in plain and model not in whole:
        named = f"Name a tank that is written out in full: {', '.join(whole)}." if whole else "Write one tank in full."
        table.wrong("like", f'names "{model}", which is itself like another tank.', named)
    return table.inheriting(plain[model], but=("name", "like")) if model in whole else table


def _tank(key: str, table: Table) -> Tank:
    vessel = _vessel(table) if "glass" in table else None
    if "glass" not in table and not table.was_unread("glass"):
        for dry in WATER_KEYS:
            if dry in table:
                what = "is given, but the tank has no `glass`."
                table.wrong(dry, what, f"Add `glass = {TANK_KEYS['glass'].example}`: {TANK_KEYS['glass'].meaning}.")
                break
    uptake = table.table("uptake", UPTAKE_KEYS, "uptake")
    start = table.table("start_levels", NUTRIENT_KEYS, "start levels")
    return Tank(
        key=key,
        name=table.optional("name", text, key),
        vessel=vessel,
        evaporation_l_per_day=table.optional("evaporation", amount("flow"), 0.0),
        topped_up_with=cast(
            "Literal['pure water', 'source water']",
            table.optional("top_up", one_of(("pure water", "source water"), "kinds of top-up"), "pure water"),
        ),
        uptake_per_day=_per_nutrient(uptake, amount("rate")) if uptake else {},
        start_level_mg_per_l=_per_nutrient(start, amount("concentration")) if start else {},
    )


def _vessel(table: Table) -> Vessel:
    """Read the glass and what stands in it; the volume is judged only where every part could be read."""
    said_before = table.report.said
    length, width, height = table.required("glass", lengths_cm, (1.0, 1.0, 1.0))
    fill = table.required("fill", amount("length", above_zero=True), 1.0)
    substrate = table.table("substrate", SUBSTRATE_KEYS, "the substrate")
    stone = table.table("stone", STONE_KEYS, "the stone")
    net = table.optional("net_volume", amount("volume", above_zero=True), 0.0)
    vessel = Vessel(
        length_cm=length,
        width_cm=width,
        height_cm=height,
        fill_cm=fill,
        substrate_cm=substrate.required("depth", amount("length"), 0.0) if substrate else 0.0,
        substrate_porosity=substrate.optional("porosity", amount("fraction", at_most=1.0), 0.4) if substrate else 0.4,
        stone_kg=stone.required("mass", amount("mass"), 0.0) / 1000 if stone else 0.0,
        stone_density=stone.optional("density", amount("density", above_zero=True), 2.65) if stone else 2.65,
        wood_l=table.optional("wood", amount("volume"), 0.0),
        net_l=net or None,
    )
    if table.report.said > said_before:
        return vessel
    _check_vessel(vessel, table)
    return vessel


def _check_vessel(vessel: Vessel, table: Table) -> None:
    try:
        net_volume_l(vessel)
    except VolumeError as error:
        path = table.where("net_volume" if "net_volume" in table else "fill")
        table.wrong_at(path, f"{show_path(path)}: {error.what}.", error.right)
