"""What a reader can look at: days, photos, entries and series behind a finding, and what disturbed it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from littoral.findings.carrying import carrying_days
from littoral.findings.compared import Compared
from littoral.findings.disturbing import disturbing
from littoral.findings.measured import Measured
from littoral.findings.model import Evidence, Influence
from littoral.trial.days import day_of
from littoral.trial.entries import Dose, Entry
from littoral.trial.model import Trial


def evidence_of(
    trial: Trial,
    entries: Sequence[Entry],
    measured: Measured,
    compared: Compared,
    influence: tuple[Influence, ...] = (),
    *,
    unequal: tuple[str, ...] = (),
) -> Evidence:
    """Return the evidence of what was compared; what disturbed it is told by entry id.

    `unequal` is what was not held equal on the whole, which belongs beside every finding but an account.
    """
    return Evidence(
        days=compared.days,
        photos=compared.photos,
        entries=compared.entries,
        series=compared.series,
        disturbed_by=_disturbed(trial, entries, measured, compared),
        remarks=(*compared.remarks, *(unequal if compared.arms and not compared.account else ())),
        influence=influence,
        carrying=carrying_days(trial, compared, influence),
    )


def _disturbed(trial: Trial, entries: Sequence[Entry], measured: Measured, compared: Compared) -> dict[str, str]:
    tanks = {value.tank for value in compared.arms}
    found = {**compared.disturbed, **disturbing(trial, entries, compared)}
    dosing_matters = compared.question.measure != "care minutes"
    for entry in entries if dosing_matters else ():
        if not isinstance(entry.payload, Dose) or entry.payload.given or entry.tank not in tanks:
            continue
        day = day_of(entry.at, trial)
        if day >= trial.baseline_days:
            bottle = trial.bottles[entry.payload.of].name
            found[entry.id] = f"{trial.tanks[entry.tank].name}, day {int(day)}: dose of {bottle} missed"
    views = {photo.view for photo in measured.photos if photo.entry_id in set(compared.photos)}
    for photo in measured.photos:
        if photo.excluded and photo.view in views:
            found[photo.entry_id] = (
                f"{trial.views[photo.view].name}, day {int(photo.day)}: photo set aside, {photo.excluded}"
            )
    since = {entry.id: entry.at.timestamp() for entry in entries}
    return {key: found[key] for key in sorted(found, key=lambda key: since.get(key, math.inf))}
