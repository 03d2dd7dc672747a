"""Bands: the floor and the ceiling between which a level should stay."""

from __future__ import annotations

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.trial.model import Band
from littoral.trial.written.amounts import amount
from littoral.trial.written.table import Key, Table

BAND_NUTRIENT_KEYS = {
    key: Key('{ floor = "5 mg/L", ceiling = "20 mg/L" }', f"{nutrient.name}, as {nutrient.symbol}")
    for key, nutrient in NUTRIENTS.items()
}
BAND_KEYS = {
    "floor": Key('"5 mg/L"', "level that it should not fall below; none unless given"),
    "ceiling": Key('"20 mg/L"', "level that it should not rise above; none unless given"),
}


def read_bands(root: Table) -> dict[str, Band]:
    """Read `[bands]`; nothing where it is not given."""
    table = root.table("bands", BAND_NUTRIENT_KEYS, "the bands")
    if table is None:
        return {}
    opened = {key: table.table(key, BAND_KEYS, "a band") for key in NUTRIENTS if key in table}
    return {key: _band(table, key, band) for key, band in opened.items() if band is not None}


def _band(table: Table, key: str, band: Table) -> Band:
    parse = amount("concentration")
    floor, ceiling = band.optional("floor", parse, None), band.optional("ceiling", parse, None)
    if "floor" not in band and "ceiling" not in band:
        table.wrong(key, "has neither a floor nor a ceiling.", "Give one of them, or both.")
    if floor is not None and ceiling is not None and floor >= ceiling:
        what = f"has a floor of {floor:g} mg/L, not below its ceiling of {ceiling:g} mg/L."
        table.wrong(key, what, "The floor is the lower of the two.")
    return Band(floor, ceiling)
