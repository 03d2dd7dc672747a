"""The package as an RO-Crate 1.1 (w3id.org/ro/crate/1.1): one flat JSON-LD file that says what each file is.

Written by us, since it is one list of plain objects; tests read it with the reference library.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from littoral import __version__
from littoral.publish.package.packed import LICENCES, About, PackedTrial

CRATE_FILE = "ro-crate-metadata.json"
SOFTWARE = "#littoral"
_PEOPLE = "#author"
_KINDS = {
    ".csv": "text/csv", ".json": "application/json", ".toml": "application/toml", ".md": "text/markdown",
    ".jpg": "image/jpeg", ".jpeg": "image/jpeg", ".png": "image/png", ".webp": "image/webp",
}  # fmt: skip


def media_type(path: str) -> str:
    """Return the media type of a package's file by its suffix."""
    return _KINDS.get(path[path.rfind(".") :].lower(), "application/octet-stream")


def crate_text(
    packed: PackedTrial, about: About, files: Sequence[tuple[str, str, int | None]], *, now: datetime
) -> str:
    """Return ro-crate-metadata.json; `files` are (path, what it is, bytes)."""
    title, address = LICENCES[about.licence]
    root: dict[str, Any] = {
        "@id": "./",
        "@type": "Dataset",
        "name": packed.trial.title,
        "description": description(packed),
        "datePublished": now.date().isoformat(),
        "identifier": packed.trial_id,
        "version": about.version,
        "license": {"@id": address},
        "hasPart": [{"@id": path} for path, _, _ in files],
        "mentions": {"@id": "#made"},
    }
    people = _people(about)
    if people:
        root["author"] = {"@id": _PEOPLE}
    graph: list[Mapping[str, Any]] = [
        {
            "@id": CRATE_FILE,
            "@type": "CreativeWork",
            "conformsTo": {"@id": "https://w3id.org/ro/crate/1.1"},
            "about": {"@id": "./"},
        },
        root,
        {"@id": address, "@type": "CreativeWork", "name": title, "identifier": about.licence},
        {
            "@id": SOFTWARE,
            "@type": "SoftwareApplication",
            "name": "Littoral",
            "version": __version__,
            "softwareVersion": __version__,
        },
        {
            "@id": "#made",
            "@type": "CreateAction",
            "name": "Package made",
            "instrument": {"@id": SOFTWARE},
            "result": [{"@id": path} for path, _, _ in files],
        },
        *people,
        *(_file(path, what, size) for path, what, size in files),
    ]
    document = {"@context": "https://w3id.org/ro/crate/1.1/context", "@graph": graph}
    return json.dumps(document, indent=1, ensure_ascii=False) + "\n"


def description(packed: PackedTrial) -> str:
    """Return in one or two sentences what the trial was."""
    trial = packed.trial
    arms = " and ".join(arm.name for arm in trial.arms)
    drawn = " Its photos were rendered from known truth: no real tanks." if trial.rendered else ""
    return (
        f"A trial in planted freshwater tanks: {arms} ({trial.factor}), {len(trial.tanks)} tanks, "
        f"{trial.length_days:g} days.{drawn}"
    )


def _people(about: About) -> list[Mapping[str, Any]]:
    if not about.author:
        return []
    person: dict[str, Any] = {"@id": _PEOPLE, "@type": "Person", "name": about.author}
    if not about.institution:
        return [person]
    place = {"@id": "#institution", "@type": "Organization", "name": about.institution}
    return [person | {"affiliation": {"@id": "#institution"}}, place]


def _file(path: str, what: str, size: int | None) -> Mapping[str, Any]:
    said = {"@id": path, "@type": "File", "name": what, "encodingFormat": media_type(path)}
    return said if size is None else said | {"contentSize": str(size)}
