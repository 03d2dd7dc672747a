"""A recorded dose far above any planned one: a slip of a decimal, or a tank to be looked at now."""

from __future__ import annotations

from littoral.speech.say import say
from littoral.trial.entries import Dose, Entry
from littoral.trial.model import Trial

TIMES = 3.0
"""From this multiple of the largest planned dose on a remark is made: common practice, no source."""


def large_dose_remark(entry: Entry, trial: Trial) -> str:
    """Return what to do about a dose of at least TIMES the largest planned one of its bottle; "" for any other entry.

    Doses of a bottle that no regime plans have nothing to be compared with.
    """
    dose = entry.payload
    if not isinstance(dose, Dose) or not dose.given:
        return ""
    planned = [one for regime in trial.regimes.values() for one in regime.doses if one.of == dose.of]
    if dose.ml is not None:
        amount, unit, largest = dose.ml, "mL", max((one.ml or 0.0 for one in planned), default=0.0)
    else:
        amount, unit, largest = dose.g or 0.0, "g", max((one.g or 0.0 for one in planned), default=0.0)
    if largest <= 0 or amount < TIMES * largest:
        return ""
    tank = trial.tanks[entry.tank].name if entry.tank is not None and entry.tank in trial.tanks else say("the tank")
    return say(
        "{amount:.3g} {unit} is {largest:.2g} times the largest planned dose "
        "({largest_2:.3g} {unit}). A slip? Undo or correct it. If it went in, look at the "
        "animals of {tank} now: too much of a fertiliser can kill them. Changing water takes "
        "it out again; if they gasp, dart or lie still, ask a qualified person.",
        amount=amount,
        unit=unit,
        largest=amount / largest,
        largest_2=largest,
        tank=tank,
    )
