"""Entries that disturb a comparison: care that one arm had and the other had not, heat, doses late or twice, outages.

What counts as equal is what `same_care` says: the same margins, the same gauges. Here each reading and act is looked at
by itself, so that a reader can open its day; whether care was equal on the whole is for the audit.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from littoral.feeding.regimes import PlannedDose, falls_on
from littoral.findings.compared import Compared
from littoral.findings.doses import day_meant
from littoral.findings.same_care import GAUGE_OF, GAUGED, Gauged, margins_of, same_care
from littoral.quantities.runs import runs_words
from littoral.trial.days import date_of, day_of
from littoral.trial.entries import Dose, Entry, Equipment, GaugeReading, Living, Note, Payload, Trim, WaterChange
from littoral.trial.measures import MEASURES
from littoral.trial.model import Trial
from littoral.trial.regime_on import regime_on

HEAT_C = 2.0
"""A reading so far from the tank's usual temperature (its median, °C) is unusual: common practice, no source."""
SAME_ACT_DAYS = 1
"""An act in one arm has its counterpart in the other within so many days: common practice, no source."""
OUTAGES = re.compile(
    r"power (cut|fail|out)|outage|black-?out|without power|no power|broke|fail(ed|ure)|stuck|leak|ran out|was off|"
    r"stopped|forgot|algicide|algaecide|medicat|medicine|overdos|heat ?wave",
    re.IGNORECASE,
)
"""Words in a note by which keepers tell of something that no plan had; others stay notes."""


@dataclass(frozen=True, slots=True)
class _Seen:
    """One entry that disturbs: its id, whole day, tank (None: all), and why, without tank and day."""

    entry_id: str
    day: int
    tank: str | None
    why: str


def disturbing(trial: Trial, entries: Sequence[Entry], compared: Compared) -> dict[str, str]:
    """Return the entries that disturb a comparison, by id with tank, days and reason; none of an account.

    Entries of one tank with one reason share a text that names all their days. Days before the regimes began count
    only where the finding has a baseline.
    """
    if compared.account or not compared.arms:
        return {}
    seen_tanks = {value.tank for value in compared.arms}
    arms = tuple(tuple(tank for tank in arm.tanks if tank in seen_tanks) for arm in trial.arms[:2])
    tanks = {tank for arm in arms for tank in arm}
    first = 0.0 if compared.before is not None else float(trial.baseline_days)
    last = max(compared.days, default=float(trial.length_days)) + 1
    seen = [
        entry
        for entry in entries
        if first <= day_of(entry.at, trial) < last and (entry.tank is None or entry.tank in tanks)
    ]
    found = [*_heat(trial, seen), *_apart(trial, seen, arms), *_doses(trial, seen), *_outages(trial, seen)]
    found += _one_sided(trial, seen, entries, arms, compared)
    return _told(trial, found)


def unequal_care(trial: Trial, entries: Sequence[Entry]) -> tuple[str, ...]:
    """Return what the audit of same care found unequal besides the factor, each a sentence or two for every finding."""
    factor = trial.factor.casefold()
    differ = _changes_differ(trial)
    return tuple(
        f"Not held equal: {item.row.what}. {item.row.comment}"
        for item in same_care(trial, entries)
        if item.row.verdict == "fails"
        and not (item.key == "changes" and differ)
        and item.key not in factor
        and item.row.what.casefold() not in factor
    )


def _told(trial: Trial, found: Iterable[_Seen]) -> dict[str, str]:
    alike: dict[tuple[str | None, str], list[_Seen]] = defaultdict(list)
    for one in found:
        alike[one.tank, one.why].append(one)
    told: dict[str, str] = {}
    for (tank, why), several in alike.items():
        days = {one.day for one in several}
        where = "all tanks" if tank is None else trial.tanks[tank].name
        text = f"{where}, day{'' if len(days) == 1 else 's'} {runs_words(days)}: {why}"
        for one in several:
            told[one.entry_id] = f"{told[one.entry_id]}; {text}" if one.entry_id in told else text
    return told


def _read(trial: Trial, entries: Iterable[Entry], gauge: str) -> dict[str, list[tuple[int, float, float, str]]]:
    """Return (whole day, middle, half of its range, entry id) of a gauge's readings, by tank."""
    found: dict[str, list[tuple[int, float, float, str]]] = defaultdict(list)
    for entry in entries:
        one = entry.payload
        if isinstance(one, GaugeReading) and one.gauge == gauge and entry.tank and np.isfinite(one.high):
            half = (one.high - one.low) / 2
            found[entry.tank].append((int(day_of(entry.at, trial)), one.low + half, half, entry.id))
    return found


def _heat(trial: Trial, entries: Sequence[Entry]) -> list[_Seen]:
    found = []
    for tank, read in _read(trial, entries, "temperature").items():
        usual = float(np.median([value for _, value, _, _ in read]))
        for day, value, half, entry_id in read:
            away = value - usual
            if abs(away) - half >= HEAT_C:
                word = "warmer" if away > 0 else "colder"
                found.append(_Seen(entry_id, day, tank, f"at least {HEAT_C:g} °C {word} than usual ({usual:.1f} °C)"))
    return found


def _apart(trial: Trial, entries: Sequence[Entry], arms: Sequence[Sequence[str]]) -> list[_Seen]:
    """Return the readings of days on which the arms' means lie further apart than the margin, errors aside."""
    margins, found = margins_of(trial), []
    for one in GAUGED:
        if one.key not in GAUGE_OF:
            continue
        read = _read(trial, entries, GAUGE_OF[one.key])
        by_day = [_by_day(read, arm) for arm in arms]
        for day in sorted(by_day[0].keys() & by_day[1].keys()):
            (first, doubt, first_ids), (second, other_doubt, second_ids) = by_day[0][day], by_day[1][day]
            limit = margins[one.key] * ((first + second) / 2 if one.relative else 1.0)
            if abs(second - first) - doubt - other_doubt > limit * (1 + 1e-9):
                why = f"{one.name} further apart between the arms than {_margin(one, margins[one.key])}"
                found += [_Seen(entry_id, day, tank, why) for tank, entry_id in (*first_ids, *second_ids)]
    return found


def _margin(one: Gauged, margin: float) -> str:
    return f"{100 * margin:g} %" if one.relative else f"{margin:g} {one.unit}"


def _by_day(
    read: Mapping[str, Sequence[tuple[int, float, float, str]]], arm: Sequence[str]
) -> dict[int, tuple[float, float, list[tuple[str, str]]]]:
    """Return an arm's mean, mean half range and (tank, entry id) by whole day."""
    days: dict[int, list[tuple[float, float, tuple[str, str]]]] = defaultdict(list)
    for tank in arm:
        for day, value, half, entry_id in read.get(tank, ()):
            days[day].append((value, half, (tank, entry_id)))
    return {
        day: (
            float(np.mean([value for value, _, _ in some])),
            float(np.mean([half for _, half, _ in some])),
            [one for _, _, one in some],
        )
        for day, some in days.items()
    }


def _doses(trial: Trial, entries: Sequence[Entry]) -> list[_Seen]:
    """Return doses given on a later day than planned, and given more often on a day than planned."""
    found = []
    given: dict[tuple[str, str, int], list[str]] = defaultdict(list)
    for entry in entries:
        dose = entry.payload
        if not isinstance(dose, Dose) or not dose.given or entry.tank is None:
            continue
        day = day_of(entry.at, trial)
        meant, name = day_meant(day, dose, trial), _name(trial, dose.of)
        given[entry.tank, dose.of, meant].append(entry.id)
        if meant < int(day):
            found.append(_Seen(entry.id, int(day), entry.tank, f"dose of {name} given late, for day {meant}"))
    for (tank, of, meant), ids in given.items():
        if len(ids) > max(1, _planned(trial, tank, of, meant)):
            why = f"{_name(trial, of)} dosed {'twice' if len(ids) == 2 else f'{len(ids)} times'}"
            found += [_Seen(entry_id, meant, tank, why) for entry_id in ids]
    return found


def _name(trial: Trial, of: str) -> str:
    return trial.bottles[of].name if of in trial.bottles else of


def _planned(trial: Trial, tank: str, of: str, day: int) -> int:
    regime = regime_on(trial, tank, day)
    weekday = date_of(day, trial).weekday()
    doses: Sequence[PlannedDose] = () if regime is None else regime.doses
    return sum(dose.of == of and falls_on(dose, day=day, weekday=weekday) for dose in doses)


def _outages(trial: Trial, entries: Sequence[Entry]) -> list[_Seen]:
    found = []
    for entry in entries:
        texts = [entry.note, entry.payload.text if isinstance(entry.payload, Note) else ""]
        told = next((text for text in texts if OUTAGES.search(text)), "")
        if told:
            short = told if len(told) <= 90 else f"{told[:88]}…"
            found.append(_Seen(entry.id, int(day_of(entry.at, trial)), entry.tank, f"noted: “{short}”"))
    return found


def _one_sided(
    trial: Trial, seen: Sequence[Entry], entries: Sequence[Entry], arms: Sequence[Sequence[str]], compared: Compared
) -> list[_Seen]:
    """Return what was done in one arm and, within a day, not in the other: changes, trims, equipment, animals."""
    found: list[_Seen] = []
    of_stands = "stand" in MEASURES[compared.question.measure].of
    asked = set(compared.question.of or trial.stands)
    others = {tank: arms[1 - place] for place, arm in enumerate(arms) for tank in arm}
    acts = [
        (int(day_of(entry.at, trial)), entry)
        for entry in entries
        if isinstance(entry.payload, WaterChange | Trim | Equipment | Living)
    ]
    changes_noted = {entry.tank for _, entry in acts if isinstance(entry.payload, WaterChange)}
    here = {entry.id for entry in seen}
    for day, entry in acts:
        payload, tank = entry.payload, entry.tank
        if tank is None or entry.id not in here:
            continue
        there = [
            other.payload for when, other in acts if other.tank in others[tank] and abs(when - day) <= SAME_ACT_DAYS
        ]
        match payload:
            case WaterChange(share=share) if changes_noted >= set(others[tank]) and not _changes_differ(trial):
                shares = [one.share for one in there if isinstance(one, WaterChange)]
                if not shares:
                    found.append(_Seen(entry.id, day, tank, f"{100 * share:g} % of the water changed here only"))
                elif min(abs(share - one) for one in shares) > margins_of(trial)["changes"] + 1e-9:
                    other = min(shares, key=lambda one: abs(share - one))
                    why = f"{100 * share:g} % of the water changed, {100 * other:g} % in the other arm"
                    found.append(_Seen(entry.id, day, tank, why))
            case Trim(stand=stand) if of_stands and (stand is None or stand in asked):
                if not any(isinstance(one, Trim) and one.stand in (None, stand) for one in there):
                    found.append(_Seen(entry.id, day, tank, f"{_stand(trial, stand)} trimmed here only"))
            case Equipment() | Living() if not any(_same(payload, one) for one in there):
                found.append(_Seen(entry.id, day, tank, f"{_act(payload)}, here only"))
            case _:
                pass
    return found


def _stand(trial: Trial, key: str | None) -> str:
    return "all stands" if key is None else trial.stands[key].name if key in trial.stands else key


def _same(one: Payload, other: Payload) -> bool:
    if isinstance(one, Equipment) and isinstance(other, Equipment):
        return one.what == other.what
    if isinstance(one, Living) and isinstance(other, Living):
        return (one.group, one.what, one.change) == (other.group, other.what, other.change)
    return False


def _act(payload: Equipment | Living) -> str:
    if isinstance(payload, Equipment):
        return f"{payload.what}: {payload.change}"
    return f"{payload.count} {payload.what} {payload.change}"


def _changes_differ(trial: Trial) -> bool:
    """Whether the arms' regimes plan other water changes: then they are what is compared, or part of it."""
    plans = [trial.regimes[arm.regime].changes if arm.regime else () for arm in trial.arms[:2]]
    return plans[0] != plans[1]
