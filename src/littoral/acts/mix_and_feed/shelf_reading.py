"""From the bottles of a form to bottles, tools and packs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

from littoral.acts.mix_and_feed.bottle_form import BottleForm
from littoral.acts.mix_and_feed.figures import Pairs
from littoral.acts.mix_and_feed.label_written import LabelWritten, with_grade
from littoral.acts.mix_and_feed.mix_form import COUNTING
from littoral.acts.mix_and_feed.reading import Reading
from littoral.acts.mix_and_feed.tool_reading import Sized, read_strokes, read_tool
from littoral.chemistry.labels import content_of_label
from littoral.chemistry.own_substances import OwnSubstance, substance
from littoral.chemistry.salts import content_of_salt, salt
from littoral.chemistry.stock import content_of_stock
from littoral.feeding.bottles import Bottle, Pack
from littoral.feeding.cost import cost_of_feeding
from littoral.feeding.tools import Tool
from littoral.speech.say import say
from littoral.trial.written.amounts import pack, recommended

LARGEST_BOTTLE_ML = 1e6  # a cubic metre: what is meant is a smaller unit
LARGEST_TANK_L = 1e6


@dataclass(frozen=True, slots=True)
class Shelf:
    """What stands on the shelf: bottles by key, and the tool that each is measured with, where one is named.

    `sized` are those tools whose size was found here: strokes counted into a cylinder, level spoons. `labels` are
    those of bought bottles, as they were written.
    """

    bottles: dict[str, Bottle]
    tools: dict[str, Tool]
    sized: dict[str, Sized]
    labels: tuple[LabelWritten, ...] = ()


def read_shelf(reading: Reading, forms: tuple[BottleForm, ...], field: str = "bottles") -> Shelf:
    """Return the bottles that a form holds; what is wrong with one is a fault of "bottles.KEY.FIELD"."""
    bottles: dict[str, Bottle] = {}
    tools: dict[str, Tool] = {}
    found: dict[str, Sized] = {}
    labels: list[LabelWritten] = []
    if not forms:
        reading.wrong(field, say("is empty."), say("Name at least one bottle or salt."))
    for line, form in enumerate(forms, start=1):
        key = form.key.strip()
        if not key:
            reading.wrong(
                field, say("has a bottle without a short name."), say('Call it something, such as "macro".'), line=line
            )
        elif key in bottles:
            reading.wrong(
                field, say('has two bottles "{key}".', key=key), say("Give each a name of its own."), line=line
            )
        else:
            place = f"{field}.{key}"
            strokes = read_strokes(reading, form, place)
            bottle = _bottle(reading, replace(form, key=key), place, labels)
            bottles[key] = bottle if strokes is None else replace(bottle, stroke_ml=strokes.stroke_ml)
            unclear = any(fault.where in (place, f"{place}.dry") for fault in reading.faults)
            tool, sized = (None, None) if unclear else read_tool(reading, form, bottles[key], strokes, place)
            if tool is not None:
                tools[key] = tool
            if sized is not None:
                found[key] = sized
    return Shelf(_with_shared_packs(bottles), tools, found, tuple(labels))


def _with_shared_packs(bottles: Mapping[str, Bottle]) -> dict[str, Bottle]:
    """The bottles, each with the pack of every salt in it that some bottle states: a salt is bought once for all."""
    stated: dict[str, Pack] = {}
    for bottle in bottles.values():
        for name, one in bottle.packs.items():
            if name != "bottle":
                stated.setdefault(name, one)
    found = {}
    for key, bottle in bottles.items():
        needs = tuple(bottle.salts_g) or ((bottle.dry_formula,) if bottle.dry_formula else ())
        packs = {name: stated[name] for name in needs if name in stated and name not in bottle.packs}
        found[key] = replace(bottle, packs={**bottle.packs, **packs}) if packs else bottle
    return found


def read_percents(reading: Reading, field: str, label: Pairs, *, line: int | None = None) -> dict[str, float]:
    """Return a label's entries in percent; a share over 100 % or a name given twice is a fault."""
    found: dict[str, float] = {}
    for row, name, text in reading.rows(field, label):
        share = reading.amount(field, text, "fraction", above_zero=False, line=line or row, of=name)
        if name in found:
            reading.wrong(field, say("{name} is given twice.", name=name), say("Give it once."), line=line or row)
        # a percent that is typed is exact in its last digit, and must stay so: 100 x 0.007 is 0.7000000000000001
        found[name] = float(f"{100 * (share or 0.0):.12g}")
    return found


def read_grams(
    reading: Reading, field: str, rows: Pairs, own: tuple[OwnSubstance, ...] = (), *, needed: bool = True
) -> dict[str, float]:
    """Return grams by salt, in the order given; without `needed` an empty mass is read as none at all.

    A salt is called by its formula with its water, or by a name; "MgSO4" asks which. A salt given twice is a fault.
    """
    found: dict[str, float] = {}
    for line, name, text in reading.rows(field, rows):
        grams = reading.amount(field, text, "mass", needed=needed, line=line, of=name, at_most=1e6)
        with reading.trying(field, line=line):
            key = substance(name, own).key
            if key in found:
                reading.wrong(field, say("{key} is given twice.", key=key), say("Add the two masses."), line=line)
            found[key] = 0.0 if grams is None else grams
    if not found and not any(fault.where == field for fault in reading.faults):
        reading.wrong(field, say("is empty."), say('Give at least one salt, such as KNO3, "33 g".'))
    return found


def price_per_unit(bottle: Bottle) -> float | None:
    """Return the price of one mL of a bottle (one g of a dry salt) by its packs; None where one is not stated."""
    liquid = bool(bottle.content_mg_per_ml)
    one = {bottle.key: 1.0}
    cost = cost_of_feeding(
        one if liquid else {}, {} if liquid else one, {bottle.key: bottle}, weeks=1.0, net_volume_l=1.0
    )
    return None if cost.unpriced else cost.per_week


def _bottle(reading: Reading, form: BottleForm, place: str, labels: list[LabelWritten]) -> Bottle:
    kinds = [bool(form.salts), bool(form.label or form.grade.strip()), bool(form.dry.strip())]
    if sum(kinds) != 1:
        found = "says what it holds in several ways" if any(kinds) else "does not say what it holds"
        reading.wrong(place, f"{found}.", say("Give one of: salts, a label, or a dry salt."))
        return Bottle(form.key, form.name or form.key)
    name = form.name.strip() or form.key
    salts_g: dict[str, float] = {}
    made_up_to: float | None = None
    per_ml: dict[str, float] = {}
    per_g: dict[str, float] = {}
    dry = ""
    if form.salts:
        salts_g = read_grams(reading, f"{place}.salts", form.salts)
        made_up_to = reading.amount(f"{place}.made_up_to", form.made_up_to, "dose volume", at_most=LARGEST_BOTTLE_ML)
        if salts_g and made_up_to is not None:
            with reading.trying(f"{place}.salts"):
                per_ml = content_of_stock(salts_g, made_up_to_ml=made_up_to)
    elif form.label or form.grade.strip():
        per_ml = _label(reading, form, place, labels)
    else:
        with reading.trying(f"{place}.dry"):
            dry = salt(form.dry).key
            per_g = content_of_salt(dry)
    return Bottle(
        key=form.key,
        name=name,
        content_mg_per_ml=per_ml,
        content_mg_per_g=per_g,
        salts_g=salts_g,
        made_up_to_ml=made_up_to,
        dry_formula=dry,
        stroke_ml=reading.amount(f"{place}.stroke", form.stroke, "dose volume", needed=False, at_most=1000.0),
        drop_ml=reading.amount(f"{place}.drop", form.drop, "dose volume", needed=False, at_most=10.0),
        recommended=reading.parse(f"{place}.recommended", form.recommended, recommended, needed=False),
        packs=_packs(reading, form.packs, tuple(salts_g) or ((dry,) if dry else ("bottle",)), place),
    )


def _label(reading: Reading, form: BottleForm, place: str, labels: list[LabelWritten]) -> dict[str, float]:
    before = len(reading.faults)
    percent = read_percents(reading, f"{place}.label", form.label)
    by = reading.one_of(f"{place}.label_by", form.label_by, ("mass", "volume"))
    density = reading.amount(f"{place}.density", form.density, "density", needed=False)
    counting = reading.one_of(f"{place}.counting", form.counting or COUNTING[0], COUNTING)
    if len(reading.faults) > before:
        return {}
    grade, content = form.grade.strip(), {}
    with reading.trying(f"{place}.label"):
        entries = with_grade(grade, counting or "", percent)
        content = content_of_label(entries, by="volume" if by == "volume" else "mass", density_kg_per_l=density)
        name = form.name.strip() or form.key
        if not form.reckoned.strip():
            labels.append(LabelWritten(name, grade, (counting or "") if grade else "", entries, by or "mass"))
    return content


def _packs(reading: Reading, rows: Pairs, names: tuple[str, ...], place: str) -> dict[str, Pack]:
    found: dict[str, Pack] = {}
    for line, name, text in reading.rows(f"{place}.packs", rows):
        key = name
        if name != "bottle":
            with reading.trying(f"{place}.packs", line=line):
                key = salt(name).key
        if key not in names:
            right = say("Name one of: {value}.", value=", ".join(names))
            reading.wrong(f"{place}.packs", say('"{name}" is not in this bottle.', name=name[:40]), right, line=line)
            continue
        one = reading.parse(f"{place}.packs", text, pack, line=line, of=name)
        if one is not None:
            found[key] = one
    return found


def today_or(given: date | None, today: date | None) -> date:
    """Return the day a form names, else the one handed in, else this computer's."""
    return given or today or date.today()
