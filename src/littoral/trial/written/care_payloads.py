"""What and how much, for the kinds of entry that watch over a tank: gauges, scores, animals, plants, equipment."""

from __future__ import annotations

import math
import re
from typing import Literal

from littoral.quantities.hardness import alkalinity_in, hardness_in
from littoral.quantities.numbers import plain_number, two_readings
from littoral.trial.entries import Equipment, GaugeReading, Living, Score, Skipped
from littoral.trial.gauges import GAUGES, Gauge
from littoral.trial.scales import TOP_STEP, scales
from littoral.trial.written.amounts import read_amount
from littoral.trial.written.report import WrongValueError, suggest
from littoral.trial.written.said import Read, Said, WrongCellError, mistakes

_NUMBER = r"-?[0-9][0-9.,]*"
_GAUGE = re.compile(
    rf"(?P<sign>[<>])?\s*(?P<value>{_NUMBER}?)(?:\s*[-–]\s*(?P<upto>[0-9][0-9.,]*?))?\s*"
    r"(?P<unit>(?:[^\s(,±<>0-9.–-][^(,±]*?)?)\s*"
    r"(?:±\s*(?P<error>[0-9][0-9.,]*?)(?:\s*(?P=unit))?\s*"
    r"|\(\s*(?P<low>[0-9][0-9.,]*)\s*[-–]\s*(?P<high>[0-9][0-9.,]*)\s*\)\s*)?"
    r"(?:,\s+(?P<method>.+))?"
)
_LIVING = re.compile(r"\+?([0-9]{1,5})\s+(added|removed|died)|([+-])\s*([0-9]{1,5})", re.IGNORECASE)
_STEP = re.compile(rf"([0-9]+)(?:\s*(?:of|/)\s*{TOP_STEP})?")
_TASK = re.compile(r"water change|photo|test [a-z0-9 ]{1,40}|trim(?: [A-Za-z0-9_-]{1,40})?")


def read_gauge(said: Said) -> Read:
    """Read a value of a gauge (`trial.gauges`) with the range it stands for."""
    gauge = GAUGES[said.what.casefold()]
    return Read(_gauge(gauge, said.amount), said.note)


def _gauge(gauge: Gauge, amount: str) -> GaugeReading:
    match = _GAUGE.fullmatch(amount)
    example = f"Write for example {gauge.example}; a range or an error may follow, and the method after a comma."
    if match is None:
        raise WrongCellError("amount", f'is "{amount}", not a reading.' if amount else "is empty.", example)

    def value(part: str) -> float:
        return _in_unit(gauge, match[part], match["unit"].strip())

    try:
        at = value("value")
        low = high = at
        if match["sign"]:
            if match["upto"] or match["error"] or match["low"]:
                raise WrongValueError(f'is "{amount}".')
            low, high = (gauge.low, at) if match["sign"] == "<" else (at, math.inf)
        elif match["upto"]:
            high = value("upto")
        elif match["error"]:
            error = abs(value("error") - _in_unit(gauge, "0", match["unit"].strip()))
            low, high = at - error, at + error
        elif match["low"]:
            low, high = value("low"), value("high")
    except WrongValueError as error_:
        raise WrongCellError("amount", error_.what, error_.right or example) from None
    if not low <= at <= high:
        raise WrongCellError("amount", f'is "{amount}", a range that does not hold its value.', example)
    if not gauge.low <= at <= gauge.high:
        what = f'is "{amount}"; {gauge.name} lies between {gauge.low:g} and {gauge.high:g} {gauge.unit}.'.replace(
            " .", "."
        )
        raise WrongCellError("amount", what, example)
    shown = amount[: match.end("unit")].strip()
    return GaugeReading(gauge.key, low, high, (match["method"] or "").strip(), shown)


def _in_unit(gauge: Gauge, digits: str, unit: str) -> float:
    written = f"{digits} {unit}".strip()
    if gauge.key == "temperature":
        return read_amount(written, "temperature")
    if gauge.key == "kh":
        return float(alkalinity_in(read_amount(written, "alkalinity"), unit="dKH"))
    if gauge.key == "gh":
        return float(hardness_in(read_amount(written, "hardness"), unit="dGH"))
    factors = {name.casefold().replace(" ", ""): factor for name, factor in gauge.units.items()}
    factor = factors.get(unit.casefold().replace(" ", ""))
    if factor is None:
        what = f'is "{written}": "{unit}" is no unit of {gauge.name}.' if unit else f'is "{written}", without a unit.'
        raise WrongValueError(what, f"Its units are {', '.join(filter(None, gauge.units))}.")
    number = plain_number(digits.removeprefix("-"))
    if number is None:
        readings = two_readings(digits.removeprefix("-"))
        right = f"Write {' or '.join(f'{one} {unit}'.strip() for one in readings)}." if readings else ""
        raise WrongValueError(f'is "{written}", which may mean two numbers.' if readings else f'is "{written}".', right)
    return (-1 if digits.startswith("-") else 1) * factor * float(number)


def read_score(said: Said) -> Read:
    """Read a condition score: "algae", or "plants red-stem", and the step."""
    words = said.what.split(maxsplit=1)
    scale = words[0].casefold() if words else ""
    step = _STEP.fullmatch(said.amount)
    wrong_step: tuple[WrongCellError, ...] = ()
    if step is None or int(step[1]) > TOP_STEP:
        what = f'is "{said.amount}".' if said.amount else "is empty."
        shown = "; ".join(f"{place} {words_}" for place, words_ in enumerate(_steps(scale)))
        wrong_step = (WrongCellError("amount", what, f"Write a step from 0 to {TOP_STEP}: {shown}."),)
    if scale not in scales():
        what = f'is "{said.what}".' if said.what else "is empty."
        raise WrongCellError("what", what, suggest(scale, scales(), "scales"), also=wrong_step)
    stand = words[1] if len(words) > 1 else None
    stands = sorted(key for key, one in said.trial.stands.items() if said.tank.key in one.tanks)
    if stand is not None and stand not in stands:
        right = suggest(stand, stands, "stands of this tank")
        raise WrongCellError("what", f'names the stand "{stand}".', right, also=wrong_step)
    if wrong_step:
        raise wrong_step[0]
    assert step is not None
    return Read(Score(scale=scale, step=int(step[1]), stand=stand), said.note)


def _steps(scale: str) -> list[str]:
    known = scales().get(scale)
    return [known.words(step) for step in range(TOP_STEP + 1)] if known else ["is the lowest"]


def read_living(said: Said, group: Literal["animals", "plants"]) -> Read:
    """Read animals or plants that came or went: "5 added", "1 died", "+3"."""
    match = _LIVING.fullmatch(said.amount)
    wrong: tuple[WrongCellError, ...] = ()
    if match is None or int(match[1] or match[4]) == 0:
        what = f'is "{said.amount}".' if said.amount else "is empty."
        wrong = (WrongCellError("amount", what, "Write for example 5 added, 2 removed or 1 died."),)
    if not said.what:
        raise WrongCellError("what", "is empty.", f"Write which {group}, such as their trade name.", also=wrong)
    if match is None or wrong:
        raise wrong[0]
    signs: dict[str, Literal["added", "removed"]] = {"+": "added", "-": "removed"}
    words: dict[str, Literal["added", "removed", "died"]] = {"added": "added", "removed": "removed", "died": "died"}
    change = signs[match[3]] if match[3] else words[match[2].lower()]
    return Read(Living(group, said.what, int(match[1] or match[4]), change), said.note)


def read_equipment(said: Said) -> Read:
    """Read a change of equipment: which in `what`, what was done or set in `amount`."""
    found = mistakes(lambda: _needed("what", said.what, "Write which: filter, lamp, heater, gas, pump…"))
    found += mistakes(
        lambda: _needed("amount", said.amount, "Write what was done or set, such as replaced, or 8 h a day.")
    )
    if found:
        raise WrongCellError(found[0].column, found[0].what, found[0].right, also=found[1:])
    return Read(Equipment(said.what, said.amount), said.note)


def read_skipped(said: Said) -> Read:
    """Read that a planned task was let go: "water change", "photo", "test nitrate", "trim red-stem"."""
    if said.amount:
        raise WrongCellError("amount", f'is "{said.amount}", but what was skipped has none.', "Put it into `note`.")
    if _TASK.fullmatch(said.what) is None:
        what = f'is "{said.what}".' if said.what else "is empty."
        raise WrongCellError("what", what, "Write water change, photo, test nitrate or trim; a dose is a missed dose.")
    return Read(Skipped(said.what), said.note)


def _needed(column: str, written: str, right: str) -> None:
    if not written:
        raise WrongCellError(column, "is empty.", right)
