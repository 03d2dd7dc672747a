"""A package written: tables, trial file, findings, MIAPPE, RO-Crate and descriptor, in that order."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from typing import Any

from littoral import __version__
from littoral.logbook.payloads import KINDS, kind_of
from littoral.publish.findings_json import SCHEMA_FILE, schema_text
from littoral.publish.package.columns import TableSpec, cell_of
from littoral.publish.package.crate import CRATE_FILE, crate_text, description
from littoral.publish.package.descriptor import DESCRIPTOR, descriptor_text, package_id
from littoral.publish.package.entry_tables import ENTRIES, kind_table
from littoral.publish.package.files import PackageWriter, Written
from littoral.publish.package.miappe import miappe_rows, miappe_table
from littoral.publish.package.packed import About, PackedTrial, PhotoMode
from littoral.publish.package.trial_rows import design_rows, entry_row, level_rows, measured_rows, payload_row
from littoral.publish.package.trial_tables import DESIGN, LEVELS, MEASURES_TABLE, PHOTO_MEASURES

TRIAL_FILE = "trial.toml"
TEXTS_FILE = "texts.json"
FINDINGS_FILE = "findings.json"
METHODS_FILE = "methods.json"
Parts = list[tuple[Written, str, str, TableSpec | None]]


def write_package(
    writer: PackageWriter,
    packed: PackedTrial,
    findings_text: str,
    about: About,
    *,
    photos: PhotoMode,
    pictures: Mapping[str, str],
    now: datetime,
) -> str:
    """Write all of a package but its pictures, which `writer` has already, and return the package's identifier.

    `pictures` is the path within the package of each photo entry's corrected picture, {} where none went in.
    """
    parts: Parts = [(one, f"photo-{number:05d}", "a photo", None) for number, one in enumerate(writer.written, start=1)]
    _plain(writer, parts, TRIAL_FILE, "the trial file in force", packed.texts[-1][1])
    texts = [{"written_at": at.astimezone(UTC).isoformat(), "text": text} for at, text in packed.texts]
    _plain(writer, parts, TEXTS_FILE, "every text of the trial file, the last in force", _json(texts))
    _plain(writer, parts, FINDINGS_FILE, "what was found", findings_text)
    _plain(writer, parts, SCHEMA_FILE, "what each key of findings.json means", schema_text())
    _plain(writer, parts, METHODS_FILE, "methods and versions", _json(_methods(packed, findings_text)))

    for spec, rows in _tables(packed, pictures):
        data = table_bytes(spec, rows)
        parts.append((writer.add(f"data/{spec.name}.csv", data), spec.name, spec.title, spec))
    data_files = [(one.path, what) for one, _, what, spec in parts if spec is not None]
    for section, found in miappe_rows(packed, about, data_files).items():
        spec = miappe_table(section)
        parts.append((writer.add(f"miappe/{section}.csv", table_bytes(spec, found)), spec.name, spec.title, spec))
    _plain(writer, parts, "README.md", "how to read this package", _readme(packed, about, parts))
    described: list[tuple[str, str, int | None]] = [(one.path, what, one.size_bytes) for one, _, what, _ in parts]
    described.append((DESCRIPTOR, "Frictionless Data Package descriptor", None))
    _plain(writer, parts, CRATE_FILE, "RO-Crate metadata", crate_text(packed, about, described, now=now))
    identity = package_id([one for one, _, _, _ in parts])
    writer.add(DESCRIPTOR, descriptor_text(packed, about, parts, photos=photos, now=now).encode())
    return identity


def table_bytes(spec: TableSpec, rows: Iterable[Mapping[str, Any]]) -> bytes:
    """Return a table as CSV (RFC 4180, UTF-8); what a row does not name is missing."""
    buffer = io.StringIO(newline="")
    writer = csv.writer(buffer, lineterminator="\r\n")
    writer.writerow([column.name for column in spec.columns])
    writer.writerows([cell_of(row.get(column.name), column) for column in spec.columns] for row in rows)
    return buffer.getvalue().encode()


def _tables(
    packed: PackedTrial, pictures: Mapping[str, str]
) -> Iterable[tuple[TableSpec, Iterable[Mapping[str, Any]]]]:
    design = design_rows(packed)
    for spec in DESIGN:
        if design[spec.name]:
            yield spec, design[spec.name]
    in_force = {entry.id for entry in packed.in_force()}
    trial = packed.trial
    yield ENTRIES, [entry_row(entry, trial, in_force=entry.id in in_force) for entry in packed.entries]
    for kind in KINDS:
        own = [payload_row(entry, trial) for entry in packed.entries if kind_of(entry.payload) == kind]
        if own:
            yield kind_table(kind), own
    if packed.photos:
        measured = measured_rows(packed, pictures)
        yield PHOTO_MEASURES, measured[PHOTO_MEASURES.name]
        yield MEASURES_TABLE, measured[MEASURES_TABLE.name]
    if packed.levels:
        yield LEVELS, level_rows(packed)


def _plain(writer: PackageWriter, parts: Parts, path: str, what: str, text: str) -> None:
    name = path.lower().replace(".", "-")
    parts.append((writer.add(path, text.encode()), name, what, None))


def _json(value: Any) -> str:
    return json.dumps(value, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _methods(packed: PackedTrial, findings_text: str) -> Mapping[str, Any]:
    findings = json.loads(findings_text)["findings"]
    return {
        "software": {"name": "littoral", "version": __version__},
        "measuring_method": packed.method,
        "findings": [{key: one[key] for key in ("question", "measure", "method", "source")} for one in findings],
        "levels": "mass balance of doses, water changes and top-ups; upper line without uptake, likely line with the "
        "first-order uptake stated in the trial file",
    }


def _readme(packed: PackedTrial, about: About, parts: Parts) -> str:
    tables = "\n".join(f"- `{one.path}`: {what}" for one, _, what, _ in parts if one.path.endswith(".csv"))
    private = "\nNames, places and dates were taken out: times count from day 0.\n" if packed.anonymous else ""
    return (
        f"# {packed.trial.title}\n\n{description(packed)}\n{private}\n"
        f"Licence: {about.licence}. `{DESCRIPTOR}` says what every column means, with its unit.\n\n"
        f"`findings.json` holds what was found, `{TRIAL_FILE}` the design. `littoral import PACKAGE` makes a logbook "
        f"of it with the same findings; `littoral pool PACKAGE PACKAGE …` pools it with others.\n\n{tables}\n"
    )
