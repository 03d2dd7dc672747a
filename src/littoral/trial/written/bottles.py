"""Bottles: bought by label, weighed from salts, or a salt dosed dry."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from littoral.chemistry.labels import LabelError, content_of_label
from littoral.chemistry.salts import UnknownSaltError, content_of_salt, salt
from littoral.chemistry.stock import StockError, content_of_stock
from littoral.feeding.bottles import Bottle, Pack
from littoral.trial.written.amounts import amount, keeping_days, pack, recommended
from littoral.trial.written.report import WrongValueError, show_path, suggest
from littoral.trial.written.table import Key, Table
from littoral.trial.written.values import day, one_of, show_value, text

BOTTLE_KEYS = {
    "name": Key('"macro stock"', "name shown; the short name unless given"),
    "label": Key('{ by = "mass", density = "1.06 kg/L", Fe = "0.7 %" }', "analysis printed on a bought bottle"),
    "salts": Key('{ KNO3 = "33 g" }', "what a stock solution was weighed from; a formula names its water of hydration"),
    "made_up_to": Key('"500 mL"', "volume of that stock solution when filled up", required=True),
    "dry": Key('"KNO3"', "the salt, where it is dosed dry by the gram"),
    "stroke": Key('"1.1 mL"', "one press of the pump: weigh ten presses of water and divide by ten"),
    "drop": Key('"0.05 mL"', "one drop: count the drops in a millilitre"),
    "recommended": Key('"6 mL per 100 L every 7 days"', "what the label recommends"),
    "packs": Key('{ KNO3 = "500 g for 7.90" }', "content and price of what is bought: by salt, or `bottle`"),
    "bought": Key("2026-03-01", "day the bottle or dry salt was bought"),
    "made_on": Key("2026-03-01", "day the stock solution was mixed"),
    "keeps": Key(
        '"6 months"', "how long it keeps from that day; a stock solution as common practice says unless given"
    ),
    "coldest": Key('"5 °C"', "the coldest that a stock solution is kept at; 10 °C unless given"),
}
LABEL_KEYS = {
    "by": Key('"mass"', 'whether the percentages are by "mass" or by "volume" (g per 100 mL)', required=True),
    "density": Key('"1.06 kg/L"', "density; needed where the percentages are by mass"),
}
"""Beside these, a label holds one key for each line of the analysis: an element or oxide and its percentage."""
LOWEST_CELSIUS, HIGHEST_CELSIUS = -5.0, 50.0  # no stock is kept outside these


def read_bottles(root: Table) -> dict[str, Bottle]:
    """Read every `[bottles.…]`."""
    return {key: _bottle(key, table) for key, table in root.tables("bottles", BOTTLE_KEYS, "a bottle").items()}


def _bottle(key: str, table: Table) -> Bottle:
    kinds = [kind for kind in ("label", "salts", "dry") if kind in table]
    if len(kinds) != 1 and not any(table.was_unread(kind) for kind in ("label", "salts", "dry")):
        found = f"has {' and '.join(f'`{kind}`' for kind in kinds)}" if kinds else "does not say what it holds"
        right = "Give one of them: `label` for a bought bottle, `salts` for a stock solution, `dry` for a dry salt."
        table.wrong_at(table.path, f"{show_path(table.path)} {found}.", right)
    salts_g = _salts(table) if "salts" in table else {}
    made_up_to = table.required("made_up_to", amount("dose volume", above_zero=True), 0.0) if "salts" in table else None
    if "made_up_to" in table and "salts" not in table:
        table.wrong("made_up_to", "is given without `salts`.", "Only a stock solution weighed from salts is made up.")
    dry = table.optional("dry", _salt_key, "")
    wrong = any(table.report.is_wrong(table.where(kind)) for kind in kinds)
    unsure = wrong or len(kinds) != 1
    per_ml: Mapping[str, float] = {}
    if "label" in table:
        per_ml = _label(table)
    elif salts_g and made_up_to:
        try:
            per_ml = content_of_stock(salts_g, made_up_to_ml=made_up_to)
        except StockError as error:
            table.wrong("made_up_to", f"cannot be: {error.what}.", error.right)
    bottle = Bottle(
        key=key,
        name=table.optional("name", text, key),
        content_mg_per_ml=per_ml,
        content_mg_per_g=content_of_salt(dry) if dry else {},
        salts_g=salts_g,
        made_up_to_ml=made_up_to,
        dry_formula=dry,
        stroke_ml=table.optional("stroke", amount("dose volume", above_zero=True), None),
        drop_ml=table.optional("drop", amount("dose volume", above_zero=True), None),
        recommended=table.optional("recommended", recommended, None),
        packs=_packs(table, None if unsure else [*salts_g, *([dry] if dry else [])]),
        made_on=table.optional("made_on", day("made_on"), None),
        coldest_celsius=table.optional("coldest", _storage_celsius, None),
    )
    bottle = _kept(table, bottle, unsure=unsure)
    if dry and not unsure:
        for liquid in ("stroke", "drop", "recommended"):
            if liquid in table:
                table.wrong(liquid, "is given for a salt that is dosed dry.", "A dry salt is dosed in g: leave it out.")
    return bottle


def _kept(table: Table, bottle: Bottle, *, unsure: bool) -> Bottle:
    """Return the bottle with since when and how long it keeps: a stock's own, or those of the pack that was bought."""
    bought = table.optional("bought", day("bought"), None)
    keeps = table.optional("keeps", keeping_days, None)
    if unsure:
        return bottle
    if bottle.salts_g:
        if "bought" in table:
            table.wrong("bought", "is given for a stock solution, which is mixed.", "Write `made_on` instead.")
        return replace(bottle, keeps_days=keeps)
    for key in ("made_on", "coldest"):
        if key in table:
            right = "Write `bought` instead." if key == "made_on" else "Leave it out."
            table.wrong(key, "is given for what is no stock solution.", right)
    if "keeps" in table and "bought" not in table:
        table.wrong("keeps", "does not say since when.", "Add `bought = 2026-03-01`.")
    if "bought" in table and "packs" not in table:
        thing, unit = (f'"{bottle.dry_formula}"', "g") if bottle.dry_formula else ("bottle", "mL")
        right = f'Add its content and price: `packs = {{ {thing} = "{_pack_example(unit)}" }}`.'
        table.wrong("bought", "is given without `packs`.", right)
    packs = {name: replace(one, bought=bought, keeps_days=keeps) for name, one in bottle.packs.items()}
    return replace(bottle, packs=packs)


def _storage_celsius(value: Any) -> float:
    celsius = amount("temperature")(value)
    if not LOWEST_CELSIUS <= celsius <= HIGHEST_CELSIUS:
        right = f"Give {LOWEST_CELSIUS:g} to {HIGHEST_CELSIUS:g} °C."
        raise WrongValueError(f"is {show_value(value)}, where no stock is kept.", right)
    return celsius


def _salt_key(value: Any) -> str:
    try:
        return salt(text(value)).key
    except UnknownSaltError as error:
        raise WrongValueError("is not one certain salt.", str(error)) from None


def _rows(table: Table, key: str) -> dict[str, tuple[Any, tuple[str, ...]]]:
    """Return the values under a key with the steps to each, `MgSO4.7H2O` without quotation marks joined again.

    TOML reads a bare `MgSO4.7H2O = "5 g"` as a table within a table; nobody who weighs salts means that.
    """
    values = table.plain(key)
    rows: dict[str, tuple[Any, tuple[str, ...]]] = {}
    for name, value in values.items():
        steps: tuple[str, ...] = (name,)
        while isinstance(value, dict) and len(value) == 1:
            inner, value = next(iter(value.items()))
            steps = (*steps, inner)
        rows[".".join(steps)] = (value, steps)
    return rows


def _salts(table: Table) -> dict[str, float]:
    weighed: dict[str, float] = {}
    rows = _rows(table, "salts")
    for written, (value, steps) in rows.items():
        try:
            formula = _salt_key(written)
            if formula in weighed:
                table.wrong("salts", f"is the same salt as another line: {formula}.", "Add the two masses.", *steps)
            weighed[formula] = amount("mass", above_zero=True)(value)
        except WrongValueError as error:
            table.wrong("salts", error.what, error.right or 'Write for example `KNO3 = "33 g"`.', *steps)
    if not rows:
        table.wrong("salts", "is empty.", f"Write for example `salts = {BOTTLE_KEYS['salts'].example}`.")
    return weighed


def _label(table: Table) -> Mapping[str, float]:
    values = table.plain("label")
    analysis = {name: Key('"0.7 %"', "share printed on the label") for name in values if name not in LABEL_KEYS}
    label = table.table("label", LABEL_KEYS | analysis, "a label")
    if label is None:
        return {}
    said_before = label.report.said
    by = label.required("by", one_of(("mass", "volume"), "kinds of percentage"), "mass")
    density = label.optional("density", amount("density", above_zero=True), None)
    percent = {name: 100 * label.required(name, amount("fraction"), 0.0) for name in analysis}
    if label.report.said > said_before:
        return {}
    try:
        return content_of_label(percent, by="volume" if by == "volume" else "mass", density_kg_per_l=density)
    except LabelError as error:
        path = (*label.path, error.entry) if error.entry in label else label.path
        table.wrong_at(path, f"{show_path(label.path)}, {error.entry}: {error.reason}.", error.right)
        return {}


def _packs(table: Table, salts: list[str] | None) -> dict[str, Pack]:
    """Read the packs of a bottle made of `salts` (none: bought whole; None: not known, so names are not checked)."""
    packs: dict[str, Pack] = {}
    names = salts if salts else ["bottle"]
    for written, (value, steps) in (_rows(table, "packs") if "packs" in table else {}).items():
        try:
            name = written if written == "bottle" else _salt_key(written)
            if salts is not None and name not in names:
                raise WrongValueError("is not in this bottle.", suggest(written, names, "things bought for it"))
            found = pack(value)
            unit = "g" if salts else "mL"
            if salts is not None and found.unit != unit.lower():
                raise WrongValueError(
                    f"is {show_value(value)}.", f'It is used by the {unit}: write for example "{_pack_example(unit)}".'
                )
            packs[name] = found
        except WrongValueError as error:
            right = error.right or f'Write for example "{_pack_example("g" if salts else "mL")}".'
            table.wrong("packs", error.what, right, *steps)
    return packs


def _pack_example(unit: str) -> str:
    return "500 g for 7.90" if unit == "g" else "250 mL for 9.80"
