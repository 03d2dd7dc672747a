"""The method box of a finding: four or five plain sentences on what was done, and one on what that cannot show."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

from littoral.findings.compared import Compared
from littoral.findings.model import Rule
from littoral.findings.rules import TANKS_FOR_A_REGIME
from littoral.findings.showing import shown
from littoral.findings.tank_values import day_by_day
from littoral.findings.wording import treatment
from littoral.trial.measures import MEASURES
from littoral.trial.model import Trial


@cache
def _texts() -> Mapping[str, Mapping[str, str]]:
    return tomllib.loads(files(__package__).joinpath("method_box.toml").read_text(encoding="utf-8"))


def plain_method(compared: Compared, rule: Rule, *, change_day: float) -> tuple[str, ...]:
    """Return what was done in plain sentences, in the order in which it was done; never none.

    `change_day` is when the regimes began, in days.
    """
    texts, measure = _texts(), compared.question.measure
    measured = texts["measured"].get(measure) or compared.method or f"By {MEASURES[measure].name}."
    if rule == "not answered":
        return (measured,)
    if compared.account:
        return (measured, texts["joined"]["account"])
    if not compared.tanks:  # no series of photos that days or cameras could blur
        return (measured,)
    joined, doubt = texts["joined"], texts["doubt"]
    tanks = [tank for arm in compared.tanks for tank in arm]
    said = [measured]
    if any(len(tank.used) > 1 for tank in tanks):
        said.append(joined["places"])
    replicated = compared.tanks_per_arm >= TANKS_FOR_A_REGIME
    if compared.swaps is not None:
        said.append(joined["crossover"])
    elif compared.paired:
        said.append(joined["pairs"])
    elif replicated:
        said.append(joined["tanks"])
    elif len(tanks) == 2 and day_by_day(measure, tanks[1], tanks[0], change_day=change_day) is not None:
        said.append(joined["pair"])
    said.append(doubt["replicates" if replicated or compared.swaps is not None else "days"])
    if compared.camera_term is not None:
        least = shown(measure, compared.camera_term, doubt=compared.camera_term, signed=True).lstrip("+")
        said.append(doubt["camera"].format(camera=least))
    return tuple(said)


def cannot_show(trial: Trial, compared: Compared, rule: Rule) -> str:
    """Return what the finding cannot show, in one or two plain sentences; never empty."""
    texts = _texts()["cannot"]
    if rule == "not answered":
        return texts["missing"].format(missing=compared.missing)
    if compared.account:
        return texts["account"]
    factor, swaps = treatment(trial), compared.swaps
    if compared.tanks_per_arm >= TANKS_FOR_A_REGIME:
        said = (
            texts["differed before"].format(factor=factor) if rule == "these two tanks differ" else texts["replicated"]
        )
        if rule == "effect of the regime" and not trial.drawn and swaps is None:
            said += texts["not drawn"].format(factor=factor)
    elif swaps is not None and swaps.why_too_short:
        said = texts["too short"].format(factor=factor, why=swaps.why_too_short)
    elif swaps is not None:
        said = texts["crossover"].format(factor=factor)
    elif compared.tanks_per_arm > 1:
        said = texts["few tanks"].format(factor=factor, tanks=compared.tanks_per_arm)
    else:
        said = texts["one pair"].format(factor=factor)
    return said + (texts["photos"] if MEASURES[compared.question.measure].taken_from == "photos" else "")
