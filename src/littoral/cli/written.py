"""Options that hold several things: "KNO3=33 g", "macro=2 strokes on Sun, Wed", a bottle in one line."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from littoral.errors import Fault, FaultsError

if TYPE_CHECKING:
    from littoral.acts.mix_and_feed.bottle_form import BottleForm
    from littoral.acts.mix_and_feed.figures import Pairs, Refused
    from littoral.acts.mix_and_feed.week_form import ChangeForm, DoseForm, WeeklyForm

STOCK = "macro=KNO3 33 g + KH2PO4 2.6 g in 500 mL"
LABEL = "micro=Fe 0.7 % + Mn 0.18 % at 1.06 kg/L"
LABEL_GRADE = "all-in-one=5-10-20 + NO3-N 5 % at 1.2 kg/L"
DRY = "nitre=KNO3"
MEASURES = (
    '"macro=stroke of 1.1 mL", counted: "macro=10 strokes of 12.0 11.8 12.1 mL", "micro=0.5 mL", "nitre=0.1 g", level '
    'spoons: "nitre=1.25 mL spoon", with its own bulk density "nitre=1.25 mL spoon at 1.0 to 1.3 g/mL"'
)
LAID_OUT = "macro=40 mL laid out evenly on Mon, Thu"
GRADE = re.compile(r"[0-9.,]+(\s*[-–:/]\s*[0-9.,]+)+", re.ASCII)
_HOW = re.compile(
    r"(?P<amount>.+?)\s+(?:laid out\s+)?"
    r"(?P<how>evenly.*|every other day|half after the water change|macro and micro days)"
)
_WHEN = re.compile(r"(?P<amount>.+?)\s+(?:on\s+)?(?P<on>every\s.+|daily)")
_COUNTED = re.compile(r"([0-9]{1,4}) strokes?", re.ASCII)


def pairs(option: str, texts: Sequence[str], *, example: str, amount_needed: bool = True) -> Pairs:
    """Return "NAME=AMOUNT" texts as pairs; FaultsError for one without an equals sign where it is needed."""
    found = []
    for text in texts:
        name, equals, amount = text.partition("=")
        if (amount_needed and not equals) or not name.strip():
            raise FaultsError([Fault(f'is "{text[:60]}".', f'Write it like {option} "{example}".', option)])
        found.append((name.strip(), amount.strip()))
    return tuple(found)


def doses(texts: Sequence[str]) -> tuple[DoseForm, ...]:
    """Return doses of "BOTTLE=AMOUNT on DAYS". Raises FaultsError."""
    from littoral.acts.mix_and_feed.week_form import DoseForm

    found = []
    for of, rest in pairs("--dose", texts, example="macro=2 strokes on Sun, Wed"):
        bare = _WHEN.fullmatch(rest)
        amount, days = (
            (bare["amount"], bare["on"])
            if bare
            else _split(rest, " on ", "--dose", "macro=2 strokes on Sun, Wed", otherwise="daily")
        )
        found.append(DoseForm(of, amount, days))
    return tuple(found)


def weekly(texts: Sequence[str]) -> tuple[WeeklyForm, ...]:
    """Return amounts a week of "BOTTLE=AMOUNT laid out HOW"; evenly unless said. Raises FaultsError."""
    from littoral.acts.mix_and_feed.week_form import WeeklyForm

    found = []
    for of, rest in pairs("--weekly", texts, example=LAID_OUT):
        bare = _HOW.fullmatch(rest)
        amount, how = (
            (bare["amount"], bare["how"])
            if bare
            else _split(rest, " laid out ", "--weekly", LAID_OUT, otherwise="evenly")
        )
        found.append(WeeklyForm(of, amount, how))
    return tuple(found)


def changes(texts: Sequence[str]) -> tuple[ChangeForm, ...]:
    """Return water changes of "SHARE on DAYS". Raises FaultsError."""
    from littoral.acts.mix_and_feed.week_form import ChangeForm

    found = []
    for text in texts:
        share, days = _split(text, " on ", "--change", "40 % on Sat")
        found.append(ChangeForm(share, days))
    return tuple(found)


def bottles(
    *,
    stock: Sequence[str],
    label: Sequence[str],
    dry: Sequence[str],
    measure: Sequence[str],
    recommended: Sequence[str],
    pack: Sequence[str],
    counting: str = "oxides",
) -> tuple[BottleForm, ...]:
    """Return bottles written in one line each: STOCK, LABEL, LABEL_GRADE and DRY are examples. Raises FaultsError.

    `counting` is how three numbers on a label count: "oxides", "elements" or "not clear". `measure` is one of MEASURES;
    `pack` "KNO3=500 g for 7.90" or, of a bought bottle, by its own name.
    """
    from dataclasses import replace

    from littoral.acts.mix_and_feed.bottle_form import BottleForm

    found: dict[str, BottleForm] = {}
    for key, rest in pairs("--stock", stock, example=STOCK):
        salts, volume = _split(rest, " in ", "--stock", STOCK)
        rows = tuple(_name_first(part, "--stock", STOCK) for part in salts.split(" + "))
        found[key] = BottleForm(key, salts=rows, made_up_to=volume)
    for key, rest in pairs("--label", label, example=LABEL):
        contents, density = _split(rest, " at ", "--label", LABEL, otherwise="")
        parts = [part.strip() for part in contents.split(" + ")]
        grade = next((part for part in parts if GRADE.fullmatch(part)), "")
        rows = tuple(_name_first(part, "--label", LABEL) for part in parts if part != grade)
        by = "mass" if density else "volume"
        found[key] = BottleForm(key, label=rows, label_by=by, density=density, grade=grade, counting=counting)
    for key, rest in pairs("--dry", dry, example=DRY):
        found[key] = BottleForm(key, dry=rest)
    for key, rest in pairs("--measure", measure, example="macro=stroke of 1.1 mL"):
        _must_be("--measure", key, found)
        found[key] = replace(found[key], **_measure(rest))
    for key, rest in pairs("--recommended", recommended, example="micro=6 mL per 100 L every 7 days"):
        _must_be("--recommended", key, found)
        found[key] = replace(found[key], recommended=rest)
    for name, rest in pairs("--pack", pack, example="KNO3=500 g for 7.90"):
        for key, bottle in found.items():
            of = "bottle" if name == key and (bottle.label or bottle.grade) else name
            if of == "bottle" or name in (bottle.dry, *(salt for salt, _ in bottle.salts)):
                found[key] = replace(bottle, packs=(*bottle.packs, (of, rest)))
    return tuple(found.values())


def _measure(text: str) -> dict[str, Any]:
    """Return the fields of a bottle that one way of measuring fills in."""
    tool, _, size = text.partition(" of ")
    counted = _COUNTED.fullmatch(tool)
    if counted and size:
        return {"tool": "stroke", "cylinder_strokes": counted[1], "cylinder": size.strip()}
    if tool in ("stroke", "drop") and size:
        return {"tool": tool, tool: size.strip()}
    spoon, at, bulk = text.partition(" at ")
    return {"tool": spoon.strip(), "bulk": bulk.strip()} if at else {"tool": text}


def option_of(where: str, names: dict[str, str]) -> str:
    """Return the option that a form's field is given by: "made_up_to" is "--made-up-to", unless `names` says more."""
    field, dot, rest = where.partition(".")
    return f"{names.get(field, '--' + field.replace('_', '-'))}{f' {rest}' if dot else ''}"


def refuse(refused: Refused, names: dict[str, str]) -> None:
    """Raise FaultsError with every fault of a form, at the options it was given by."""
    raise FaultsError(
        [Fault(fault.what, fault.right, option_of(fault.where, names), fault.line) for fault in refused.faults]
    )


def _split(text: str, at: str, option: str, example: str, *, otherwise: str | None = None) -> tuple[str, str]:
    before, found, after = text.rpartition(at)
    if found:
        return before.strip(), after.strip()
    if otherwise is None:
        raise FaultsError([Fault(f'is "{text[:60]}".', f'Write it like {option} "{example}".', option)])
    return text.strip(), otherwise


def _name_first(part: str, option: str, example: str) -> tuple[str, str]:
    name, _, amount = part.strip().partition(" ")
    if not amount:
        raise FaultsError([Fault(f'has "{part[:60]}".', f'Write it like {option} "{example}".', option)])
    return name, amount.strip()


def _must_be(option: str, key: str, found: dict[str, BottleForm]) -> None:
    if key not in found:
        right = f"Bottles given: {', '.join(found) or 'none'}."
        raise FaultsError([Fault(f'is of "{key[:40]}", which is no bottle.', right, option)])
