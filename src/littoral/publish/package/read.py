"""A package read back: the same trial, entries and measures that were packed, or what is wrong with it."""

from __future__ import annotations

import csv
import io
import json
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.errors import FaultsError
from littoral.findings.measured import MeasuredPhoto
from littoral.imaging.results import RegionMeasure
from littoral.logbook.payloads import KINDS
from littoral.logbook.rows import in_force
from littoral.publish.package.columns import CellError, TableSpec, value_of
from littoral.publish.package.entry_tables import ENTRIES, fields_of, kind_table
from littoral.publish.package.packed import PackedTrial, drawings_of
from littoral.publish.package.source import PHOTOS, DamagedPackageError, Listed, PackageSource
from littoral.publish.package.trial_tables import MEASURES_TABLE, PHOTO_MEASURES, REGION_WORDS
from littoral.publish.package.write import FINDINGS_FILE, TEXTS_FILE, TRIAL_FILE
from littoral.trial.belonging import misfits
from littoral.trial.days import day_of
from littoral.trial.entries import Dose, Drawn, Entry, GaugeReading, Payload, Photo, Reading, Score, Taught, WaterChange
from littoral.trial.gauges import GAUGES
from littoral.trial.model import Trial
from littoral.trial.scales import scales
from littoral.trial.written.drawings import as_drawn
from littoral.trial.written.reader import read_trial

_ID = re.compile(r"[A-Za-z0-9_.-]{1,64}")
_SHA256 = re.compile(r"[0-9a-f]{64}")
_URN = re.compile(r"urn:uuid:[0-9a-f-]{36}")
SAME_DAY = 1e-6
"""Days that a table may depart from the moment in `entries`: a tenth of a second."""


@dataclass(frozen=True, slots=True)
class ReadPackage:
    """A package's trial, and the pictures that are in it: by the SHA-256 of the file, and by photo entry."""

    identity: str
    packed: PackedTrial
    findings: bytes
    photos: Mapping[str, Listed]
    pictures: Mapping[str, Listed]


def read_package(source: PackageSource) -> ReadPackage:
    """Return what a package holds. DamagedPackageError says what is wrong, FaultsError what does not fit the trial."""
    ours = source.descriptor["littoral"]
    identity, trial_id = str(source.descriptor.get("id")), str(ours.get("trial_id"))
    if not _URN.fullmatch(identity) or not _URN.fullmatch(trial_id):
        raise DamagedPackageError(source.where, "it has no identifier")
    trial, texts = _texts(source)
    entries = _entries(source, trial)
    if faults := misfits(in_force(entries), trial, where=source.where):
        raise FaultsError(faults)
    trial = as_drawn(trial, drawings_of(in_force(entries)))  # what was measured belongs to the views as drawn last
    pictures: dict[str, Listed] = {}
    photos = _measured(source, trial, {entry.id: entry for entry in entries}, pictures)
    packed = PackedTrial(
        trial=trial,
        texts=texts,
        entries=entries,
        photos=photos,
        method=str(ours.get("measuring_method"))[:32],
        trial_id=trial_id,
        anonymous=ours.get("anonymous") is True,
    )
    own = {listed.sha256: listed for path, listed in source.files.items() if path.startswith(PHOTOS)}
    return ReadPackage(identity, packed, source.read(FINDINGS_FILE), own, pictures)


def _texts(source: PackageSource) -> tuple[Trial, tuple[tuple[datetime, str], ...]]:
    try:
        said = json.loads(source.read(TEXTS_FILE))
        texts = tuple((datetime.fromisoformat(one["written_at"]), str(one["text"])) for one in said)
        if not texts or any(at.tzinfo is None for at, _ in texts):
            raise ValueError("a text has no time")
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise DamagedPackageError(source.where, f"{TEXTS_FILE} cannot be read ({error})") from None
    if source.read(TRIAL_FILE) != texts[-1][1].encode():
        raise DamagedPackageError(source.where, f"{TRIAL_FILE} is not the last text of {TEXTS_FILE}")
    trial, faults = read_trial(texts[-1][1], where=f"{TRIAL_FILE} in {source.where}")
    if trial is None:
        raise FaultsError(faults)
    return trial, tuple((at.astimezone(UTC), text) for at, text in texts)


def _entries(source: PackageSource, trial: Trial) -> tuple[Entry, ...]:
    rows = _table(source, ENTRIES)
    own: dict[str, Mapping[str, Any]] = {}
    for kind in KINDS:
        spec = kind_table(kind)
        if f"data/{spec.name}.csv" in source.files:
            for row in _table(source, spec):
                if row["entry"] in own:
                    raise DamagedPackageError(source.where, f"entry {row['entry'][:40]} stands in two tables")
                own[row["entry"]] = row | {"_kind": kind}
    found = tuple(_entry(source, trial, row, own.pop(row["entry"], None)) for row in rows)
    if own or len({entry.id for entry in found}) < len(found):
        raise DamagedPackageError(source.where, "its tables do not name the same entries")
    known = {entry.id for entry in found}
    if any(entry.supersedes is not None and entry.supersedes not in known for entry in found):
        raise DamagedPackageError(source.where, "an entry corrects one that is not there")
    return found


def _entry(source: PackageSource, trial: Trial, row: Mapping[str, Any], own: Mapping[str, Any] | None) -> Entry:
    name = str(row["entry"])
    if own is None or own["_kind"] != row["kind"] or own["tank"] != row["tank"]:
        raise DamagedPackageError(source.where, f"entry {name[:40]} is not in the table of its kind")
    try:
        if not _ID.fullmatch(name):
            raise ValueError("its identifier is none")
        ZoneInfo(row["zone"])
        day = day_of(row["at"], trial)
        if abs(day - row["day"]) > SAME_DAY or abs(day - own["day"]) > SAME_DAY:
            raise ValueError("its day is not that of its moment")
        may_miss = fields_of(row["kind"])
        said: dict[str, Any] = {
            field: "" if own[field] is None and not missing else own[field] for field, missing in may_miss.items()
        }
        payload = KINDS[row["kind"]](**said)
        if why := _impossible(payload):
            raise ValueError(why)
    except (ValueError, TypeError, LookupError, OverflowError, OSError) as error:
        raise DamagedPackageError(source.where, f"entry {name[:40]} cannot be read ({error})") from None
    return Entry(
        id=name,
        at=row["at"],
        zone=row["zone"],
        tank=row["tank"],
        payload=payload,
        who=row["who"] or "",
        supersedes=row["supersedes"],
        note=row["note"] or "",
        trial=trial.key,
        origin=row["origin"] or "",
    )


def _impossible(payload: Payload) -> str:
    """Return what pages could not show of a payload although its columns are right, "" where nothing is wrong."""
    match payload:
        case Photo(sha256=sha256) if not _SHA256.fullmatch(sha256):
            return "its photo has no SHA-256"
        case Taught(strokes=strokes) if not isinstance(_json(strokes), list):
            return "its strokes are no JSON of strokes"
        case Drawn(panes=panes) if not isinstance(_json(panes), dict):
            return "its drawing is no JSON of tanks"
        case Reading(nutrient=nutrient) if nutrient not in NUTRIENTS:
            return f"there is no nutrient {nutrient[:40]!r}"
        case GaugeReading(gauge=gauge) if gauge not in GAUGES:
            return f"there is no gauge {gauge[:40]!r}"
        case Score(scale=scale, step=step) if scale not in scales() or step > 4:
            return f"there is no step {step} on a scale {scale[:40]!r}"
        case Reading(low_mg_per_l=low, high_mg_per_l=high) | GaugeReading(low=low, high=high) if low > high:
            return "its range ends before it begins"
        case WaterChange(share=share) if share > 1:
            return "it changed more than all the water"
        case Dose(ml=ml, g=g) if (ml is None) == (g is None):
            return "its dose is not in mL, or else in g"
        case _:
            return ""


def _json(text: str) -> Any:
    """Return what JSON says, None where it is none."""
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        return None


def _measured(
    source: PackageSource, trial: Trial, entries: Mapping[str, Entry], pictures: dict[str, Listed]
) -> tuple[MeasuredPhoto, ...]:
    """Return the measured photos, and note in `pictures` which of them came with a picture."""
    if f"data/{PHOTO_MEASURES.name}.csv" not in source.files:
        return ()
    regions: dict[str, list[RegionMeasure]] = {}
    for row in _table(source, MEASURES_TABLE):
        numbers = {name: row[name] for name in REGION_WORDS}
        one = RegionMeasure(row["tank"], row["region"], row["region_kind"], **numbers, flags=row["flags"] or ())
        regions.setdefault(row["entry"], []).append(one)
    found = []
    for row in _table(source, PHOTO_MEASURES):
        entry = entries.get(row["entry"])
        if entry is None or not isinstance(entry.payload, Photo) or entry.payload.view != row["view"]:
            raise DamagedPackageError(
                source.where, f"{PHOTO_MEASURES.name} names {row['entry'][:40]}, which is no photo"
            )
        if row["view"] not in trial.views:
            raise DamagedPackageError(source.where, f"it measured a view {row['view'][:40]!r} that the trial has not")
        if row["picture"] is not None:
            if row["picture"] not in source.files:
                raise DamagedPackageError(source.where, f"the picture {row['picture'][:60]} is missing")
            pictures[entry.id] = source.files[row["picture"]]
        found.append(
            MeasuredPhoto(
                entry_id=entry.id,
                sha256=entry.payload.sha256,
                view=row["view"],
                day=day_of(entry.at, trial),
                prepared=None,
                colour_residual=row["colour_residual"],
                align_residual_px=row["align_residual_px"],
                correction=row["correction"] or "",
                flags=row["flags"] or (),
                regions=tuple(regions.pop(entry.id, ())),
                excluded=row["excluded"] or "",
            )
        )
    if regions:
        raise DamagedPackageError(source.where, f"{MEASURES_TABLE.name} names a photo that was not measured")
    return tuple(found)


def _table(source: PackageSource, spec: TableSpec) -> list[dict[str, Any]]:
    path = f"data/{spec.name}.csv"
    try:
        lines = list(csv.reader(io.StringIO(source.read(path).decode("utf-8"), newline=""), strict=True))
    except (UnicodeDecodeError, csv.Error) as error:
        raise DamagedPackageError(source.where, f"{path} cannot be read ({error})") from None
    columns = [column.name for column in spec.columns]
    if not lines or lines[0] != columns:
        raise DamagedPackageError(source.where, f"{path} has not the columns {', '.join(columns)}")
    rows = []
    for number, cells in enumerate(lines[1:], start=2):
        if len(cells) != len(columns):
            raise DamagedPackageError(source.where, f"{path}, line {number}, has {len(cells)} cells")
        row = {}
        for column, cell in zip(spec.columns, cells, strict=True):
            try:
                value = value_of(cell, column)
                if value == math.inf and not column.name.startswith("high"):
                    raise CellError("is infinite")
            except CellError as error:
                raise DamagedPackageError(source.where, f"{path}, line {number}: {column.name} {error}") from None
            row[column.name] = value
        rows.append(row)
    return rows
