"""datapackage.json: the descriptor of a Frictionless Data Package, version 1 (specs.frictionlessdata.io)."""

from __future__ import annotations

import json
import uuid
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from littoral.publish.package.columns import TableSpec
from littoral.publish.package.crate import description, media_type
from littoral.publish.package.files import Written
from littoral.publish.package.packed import FORMAT, LICENCES, About, PackedTrial, PhotoMode

DESCRIPTOR = "datapackage.json"
_SPACE = uuid.UUID("2f0d6a1e-5a0b-5c55-9d0c-2b7b6f3f7c11")
"""Name space of our identifiers: drawn once."""
_STAMPED = ("README.md", "methods.json", "ro-crate-metadata.json", "findings.schema.json")
"""Files that say when and by what a package was made: no part of what makes it another package."""


def package_id(files: Sequence[Written]) -> str:
    """Return the identifier of a package: the same files have the same, whenever they were packed."""
    own = sorted(
        f"{one.path} {one.sha256}" for one in files if one.path not in _STAMPED and not one.path.startswith("miappe/")
    )
    return uuid.uuid5(_SPACE, "\n".join(own)).urn


def trial_id_of(secret: str) -> str:
    """Return the identifier of a trial in all packages that are made of it."""
    return uuid.uuid5(_SPACE, f"trial {secret}").urn


def descriptor_text(
    packed: PackedTrial,
    about: About,
    files: Sequence[tuple[Written, str, str, TableSpec | None]],
    *,
    photos: PhotoMode,
    now: datetime,
) -> str:
    """Return datapackage.json; `files` are (file, name, what it is, its table where it is one)."""
    tables = [spec.name for _, _, _, spec in files if spec is not None]
    title, address = LICENCES[about.licence]
    document: dict[str, Any] = {
        "name": packed.trial.key.replace("_", "-"),
        "id": package_id([one for one, _, _, _ in files]),
        "profile": "data-package",
        "title": packed.trial.title,
        "description": description(packed),
        "version": about.version,
        "created": now.astimezone(UTC).isoformat(timespec="seconds").replace("+00:00", "Z"),
        "keywords": ["planted aquarium", "aquatic plants", "controlled trial"],
        "licenses": [{"name": about.licence, "title": title, "path": address}],
        "littoral": {
            "format": FORMAT,
            "trial": packed.trial.key,
            "trial_id": packed.trial_id,
            "anonymous": packed.anonymous,
            "photos": photos,
            "measuring_method": packed.method,
        },
    }
    if about.author:
        organised = {"organization": about.institution} if about.institution else {}
        document["contributors"] = [{"title": about.author, "role": "author", **organised}]
    document["resources"] = [_resource(one, name, what, spec, tables) for one, name, what, spec in files]
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _resource(one: Written, name: str, what: str, spec: TableSpec | None, tables: Sequence[str]) -> Mapping[str, Any]:
    said: dict[str, Any] = {
        "name": name,
        "path": one.path,
        "title": what,
        "mediatype": media_type(one.path),
        "format": one.path.rpartition(".")[2],
        "bytes": one.size_bytes,
        "hash": f"sha256:{one.sha256}",
    }
    if one.path.endswith(".json"):
        said["type"] = "json"  # beyond the standard: keeps its validator from taking a schema for a Table Schema
    if spec is None:
        return said | {"profile": "data-resource"}
    return said | {
        "profile": "tabular-data-resource",
        "description": spec.meaning,
        "encoding": "utf-8",
        "dialect": {"delimiter": ",", "lineTerminator": "\r\n", "quoteChar": '"', "doubleQuote": True},
        "schema": spec.schema(tables),
    }
