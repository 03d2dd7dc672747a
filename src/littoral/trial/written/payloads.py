"""What and how much: the columns `what` and `amount` of an entry, for each kind."""

from __future__ import annotations

import math
import re
from collections.abc import Callable

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.reading_text import ReadingTextError, take_apart, written_range
from littoral.feeding.bottles import Bottle
from littoral.feeding.regimes import falls_on
from littoral.quantities.amounts import parse_counted
from littoral.tank.volume import net_volume_l
from littoral.trial.entries import Care, Dose, Note, Reading, TopUp, Trim, WaterChange
from littoral.trial.gauges import GAUGES
from littoral.trial.regime_on import regime_on
from littoral.trial.written.amounts import read_amount
from littoral.trial.written.care_payloads import read_equipment, read_gauge, read_living, read_score, read_skipped
from littoral.trial.written.regimes import read_dose
from littoral.trial.written.report import WrongValueError, suggest
from littoral.trial.written.said import Read, Said, WrongCellError, mistakes


def _cell(column: str, error: WrongValueError, example: str) -> WrongCellError:
    return WrongCellError(column, error.what, error.right or f"Write for example {example}.")


def _in_water(said: Said) -> None:
    if said.tank.vessel is None:
        what = f'is "{said.tank.key}", whose water is not described.'
        raise WrongCellError("tank", what, f"Add `glass` and `fill` to [tanks.{said.tank.key}].")


def _nothing_in_what(said: Said, kind: str) -> None:
    if said.what:
        raise WrongCellError("what", f'is "{said.what}", but a {kind} has nothing there.', "Put remarks into `note`.")


def _dose(said: Said, *, given: bool) -> Read:
    _in_water(said)
    bottle = said.trial.bottles.get(said.what)
    if bottle is None:
        what = f'is "{said.what}".' if said.what else "is empty."
        also = mistakes(lambda: _measured(said.amount, None)) if said.amount else ()
        raise WrongCellError("what", what, suggest(said.what, said.trial.bottles, "bottles"), also=also)
    amount = said.amount or (_planned(said) if not given else "")
    if not amount:
        planned = "the plan does not say how much was to be given, so w" if not given else "W"
        raise WrongCellError("amount", "is empty.", f"{planned.capitalize()}rite for example 5 mL or 2 strokes.")
    ml, g = _measured(amount, bottle)
    _fits(ml, said, amount)
    count, unit = parse_counted(amount)
    return Read(Dose(of=bottle.key, ml=ml, g=g, given=given, written=amount), said.note, (repr(count), unit))


def _fits(ml: float | None, said: Said, amount: str) -> None:
    """Refuse a dose of more than all the water in its tank: a slip of the finger, which would drown every level."""
    assert said.tank.vessel is not None
    net_l = net_volume_l(said.tank.vessel)
    if ml is not None and ml > 1000 * net_l:
        what = f'is "{amount}", more than the {net_l:.3g} L of water in the tank.'
        raise WrongCellError("amount", what, "Write for example 5 mL or 2 strokes.")


def _measured(amount: str, bottle: Bottle | None) -> tuple[float | None, float | None]:
    try:
        return read_dose(amount, bottle)
    except WrongValueError as error:
        raise _cell("amount", error, "5 mL or 2 strokes") from None


def _planned(said: Said) -> str:
    """Return the amount that was to be given of this bottle on this day, "" where the plan is not certain."""
    trial = said.trial
    regime = regime_on(trial, said.tank.key, said.day)
    doses = regime.doses if regime is not None else ()
    mine = [dose for dose in doses if dose.of == said.what]
    amounts = {dose.written for dose in mine}
    day = math.floor(said.day)
    today = {dose.written for dose in mine if falls_on(dose, day=day, weekday=said.weekday)}
    certain = today if len(today) == 1 else amounts
    return certain.pop() if len(certain) == 1 else ""


def _water_change(said: Said) -> Read:
    _in_water(said)
    _nothing_in_what(said, "water change")
    example = "Write for example 40 % or 20 L."
    assert said.tank.vessel is not None
    net_l = net_volume_l(said.tank.vessel)
    try:
        in_percent = said.amount.endswith("%")
        share = read_amount(said.amount, "fraction") if in_percent else read_amount(said.amount, "volume") / net_l
    except WrongValueError as error:
        what = error.what if said.amount else "is empty."
        raise WrongCellError("amount", what, example) from None
    if share > 1:
        what = f'is "{said.amount}", but the tank holds only {net_l:.3g} L.'
        raise WrongCellError("amount", what, "Write what was replaced at once, as litres or as a share in %.")
    if share <= 0:
        raise WrongCellError("amount", f'is "{said.amount}"; a change is above zero.', example)
    return Read(WaterChange(share), said.note, (said.amount.casefold(),))


def _top_up(said: Said) -> Read:
    _in_water(said)
    _nothing_in_what(said, "top-up")
    return Read(TopUp(_above_zero(said.amount, "volume", "1.4 L")), said.note)


def _care(said: Said) -> Read:
    minutes = round(_above_zero(said.amount, "duration", "12 min") * 1440, 6)
    return Read(Care(minutes), "; ".join(part for part in (said.what, said.note) if part))


def _above_zero(amount: str, kind: str, example: str) -> float:
    try:
        found = read_amount(amount, kind) if amount else 0.0
    except WrongValueError as error:
        raise _cell("amount", error, example) from None
    if found <= 0:
        what = f'is "{amount}"; it must be above zero.' if amount else "is empty."
        raise WrongCellError("amount", what, f"Write for example {example}.")
    return found


def _trim(said: Said) -> Read:
    stands = {key for key, stand in said.trial.stands.items() if said.tank.key in stand.tanks}
    if said.what and said.what not in stands:
        right = suggest(said.what, sorted(stands), "stands of this tank")
        raise WrongCellError("what", f'is "{said.what}".', right, also=mistakes(lambda: _trimmed(said.amount)))
    left_cm, wet_g, minutes = _trimmed(said.amount)
    return Read(Trim(stand=said.what or None, left_cm=left_cm, wet_g=wet_g, minutes=minutes), said.note)


def _trimmed(amount: str) -> tuple[float | None, float | None, float | None]:
    """Return the height left, cm, the wet mass removed, g, and the minutes it took."""
    left_cm = wet_g = minutes = None
    for part in re.split(r",\s+|;\s*", amount) if amount else []:
        try:
            if part.startswith("to ") and left_cm is None:
                left_cm = read_amount(part.removeprefix("to "), "length")
            elif _MINUTES.search(part) and minutes is None:
                minutes = round(read_amount(part, "duration") * 1440, 6)
            elif not part.startswith("to ") and not _MINUTES.search(part) and wet_g is None:
                wet_g = read_amount(part, "mass")
            else:
                raise WrongValueError(f'is "{amount}".')
        except WrongValueError as error:
            right = "Write the height left, wet mass removed and minutes, or some of them: to 9 cm, 14 g, 6 min."
            raise WrongCellError("amount", error.what, right) from None
    return left_cm, wet_g, minutes


_MINUTES = re.compile(r"[0-9]\s*(min|minutes?|h|hours?)$")
_READING_FORMS = "Write 10 mg/L (7.5-15), colour card; or 10.2 mg/L ± 0.8, photometer; or <5 mg/L; or >80 mg/L."


def _reading(said: Said) -> Read:
    nutrient = said.what.casefold()
    if nutrient in GAUGES:
        return read_gauge(said)
    if nutrient not in NUTRIENTS:
        what = f'is "{said.what}".' if said.what else "is empty."
        right = suggest(said.what, (*NUTRIENTS, *GAUGES), "things that can be read")
        raise WrongCellError("what", what, right, also=mistakes(lambda: _level(nutrient, said.amount)))
    return Read(_level(nutrient, said.amount), said.note)


def _level(nutrient: str, amount: str) -> Reading:
    parts = take_apart(amount)
    if parts is None:
        what = f'is "{amount}", not a reading.' if amount else "is empty."
        raise WrongCellError("amount", what, _READING_FORMS)
    try:
        _, low, high = written_range(parts, lambda digits: read_amount(f"{digits} {parts.unit}", "concentration"))
    except (WrongValueError, ReadingTextError) as error:
        raise WrongCellError("amount", error.what, error.right or _READING_FORMS) from None
    return Reading(nutrient, low, high, parts.method, parts.shown)


def _note(said: Said) -> Read:
    if said.amount:
        raise WrongCellError("amount", f'is "{said.amount}", but a note has none.', "Put the text into `note`.")
    parts = [part for part in (said.what, said.note) if part]
    if not parts:
        raise WrongCellError("note", "is empty.", "Write what there is to note.")
    return Read(Note(": ".join(parts)), "")


KINDS: dict[str, Callable[[Said], Read]] = {
    "dose": lambda said: _dose(said, given=True),
    "missed dose": lambda said: _dose(said, given=False),
    "water change": _water_change,
    "top-up": _top_up,
    "trim": _trim,
    "reading": _reading,
    "score": read_score,
    "animals": lambda said: read_living(said, "animals"),
    "plants": lambda said: read_living(said, "plants"),
    "equipment": read_equipment,
    "skipped": read_skipped,
    "care": _care,
    "note": _note,
}
"""Every kind of entry that a row can be, and how its columns are read."""
