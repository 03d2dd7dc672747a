"""Another regime as a person writes it: "left: macro 10 mL", "right: change 30 %"."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from littoral.errors import Fault, FaultsError
from littoral.feeding.regimes import Regime
from littoral.findings.estimates.other_regime import changed_regime, regime_now
from littoral.quantities.amounts import AmountError, parse_amount
from littoral.trial.model import Trial
from littoral.trial.written.regimes import read_dose
from littoral.trial.written.report import WrongValueError

FORM = 'Write a tank, a colon, a bottle or "change", and how much: "left: macro 10 mL", "right: change 30 %".'
WHERE = "another regime"
_NOTHING = re.compile(r"0|nothing|none|0 *m[lL]|0 *g")
_LINE = re.compile(r"\s*(?P<tank>[^:]+?)\s*:\s*(?P<of>[^\s]+)\s+(?P<amount>.+?)\s*")


def written_regimes(trial: Trial, lines: Sequence[str], *, now_day: float) -> Mapping[str, Regime]:
    """Return the regime of each tank named, with what the lines change; FaultsError names every line that is wrong.

    A bottle that the regime doses on several lines is changed on all of them.
    """
    faults: list[Fault] = []
    doses: dict[str, dict[int, float]] = {}
    shares: dict[str, dict[int, float]] = {}
    for line in lines:
        match = _LINE.fullmatch(line)
        tank = None if match is None else _tank_named(trial, match["tank"])
        regime = None if tank is None else regime_now(trial, tank, now_day=now_day)
        if match is None:
            faults.append(Fault(f'"{line[:60]}" is no other regime.', FORM, WHERE))
        elif tank is None:
            faults.append(
                Fault(
                    f'There is no tank "{match["tank"]}".',
                    f"Tanks: {', '.join(trial.tanks)}.",
                    WHERE,
                )
            )
        elif regime is None:
            faults.append(
                Fault(
                    f"Nothing is dosed in {tank} now.",
                    "Name a tank that has a regime.",
                    WHERE,
                )
            )
        else:
            doses.setdefault(tank, {})
            shares.setdefault(tank, {})
            faults += _read(trial, regime, match["of"], match["amount"], doses[tank], shares[tank])
    if faults:
        raise FaultsError(faults)
    changed = {}
    for tank in doses:
        regime = regime_now(trial, tank, now_day=now_day)
        assert regime is not None  # checked above
        changed[tank] = changed_regime(regime, doses=doses[tank], shares=shares[tank])
    return changed


def _read(
    trial: Trial,
    regime: Regime,
    of: str,
    amount: str,
    doses: dict[int, float],
    shares: dict[int, float],
) -> list[Fault]:
    try:
        if of.casefold() == "change":
            if not regime.changes:
                return [Fault("No water change is planned.", "Change a dose instead.", WHERE)]
            share = parse_amount(amount, kind="fraction")
            shares.update(dict.fromkeys(range(len(regime.changes)), share))
            return []
        places = [at for at, dose in enumerate(regime.doses) if dose.of == of]
        if not places:
            named = ", ".join(dict.fromkeys(dose.of for dose in regime.doses))
            return [Fault(f'The regime doses no "{of}".', f"It doses {named}.", WHERE)]
        ml, g = (0.0, 0.0) if _NOTHING.fullmatch(amount) else read_dose(amount, trial.bottles[of])
        doses.update(dict.fromkeys(places, ml if ml is not None else g or 0.0))
    except AmountError as error:
        return [Fault(f'"{amount}": {error.reason}.', error.right, WHERE)]
    except WrongValueError as error:
        return [Fault(f"The dose {error.what}", error.right or FORM, WHERE)]
    return []


def _tank_named(trial: Trial, name: str) -> str | None:
    wanted = name.casefold()
    return next(
        (key for key, tank in trial.tanks.items() if wanted in (key.casefold(), tank.name.casefold())),
        None,
    )
