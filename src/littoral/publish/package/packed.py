"""A trial as a package holds it: in memory, before it is written or after it was read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from littoral.findings.levels import Levels
from littoral.findings.measured import MeasuredPhoto
from littoral.trial.entries import Drawn, Entry, Withdrawn
from littoral.trial.model import Trial

FORMAT = "littoral package 1"
PhotoMode = Literal["none", "measured", "originals"]
PHOTO_MODES: tuple[PhotoMode, ...] = ("none", "measured", "originals")

LICENCES: Mapping[str, tuple[str, str]] = {
    "CC0-1.0": ("Creative Commons Zero v1.0 Universal", "https://creativecommons.org/publicdomain/zero/1.0/"),
    "CC-BY-4.0": ("Creative Commons Attribution 4.0", "https://creativecommons.org/licenses/by/4.0/"),
    "CC-BY-SA-4.0": ("Creative Commons Attribution Share Alike 4.0", "https://creativecommons.org/licenses/by-sa/4.0/"),
    "CC-BY-NC-4.0": (
        "Creative Commons Attribution Non Commercial 4.0",
        "https://creativecommons.org/licenses/by-nc/4.0/",
    ),
    "ODC-By-1.0": ("Open Data Commons Attribution License v1.0", "https://opendatacommons.org/licenses/by/1-0/"),
    "ODbL-1.0": ("Open Data Commons Open Database License v1.0", "https://opendatacommons.org/licenses/odbl/1-0/"),
    "PDDL-1.0": (
        "Open Data Commons Public Domain Dedication & License 1.0",
        "https://opendatacommons.org/licenses/pddl/1-0/",
    ),
}
"""Licences for data by their SPDX identifiers: title and address."""


def drawings_of(entries: Iterable[Entry]) -> tuple[Drawn, ...]:
    """Return the drawings among entries in force, in the order in which they were made."""
    made = (one for one in entries if isinstance(one.payload, Drawn))
    ordered = sorted(made, key=lambda entry: (entry.at, entry.id))
    return tuple(one.payload for one in ordered if isinstance(one.payload, Drawn))


@dataclass(frozen=True, slots=True)
class PackedTrial:
    """All of a trial: each text with when it was written down (the last in force), every entry, and what was measured.

    `photos` are measured photos, whose `prepared` pictures go along where they are asked for. `levels` are by tank, {}
    where none could be worked out. `method` is the version of the measuring method.
    """

    trial: Trial
    texts: tuple[tuple[datetime, str], ...]
    entries: tuple[Entry, ...]
    photos: tuple[MeasuredPhoto, ...]
    method: str
    trial_id: str
    anonymous: bool = False
    levels: Mapping[str, Levels] = field(default_factory=dict)

    def in_force(self) -> tuple[Entry, ...]:
        """Return the entries that nothing supersedes, by time."""
        gone = {entry.supersedes for entry in self.entries}
        return tuple(one for one in self.entries if one.id not in gone and not isinstance(one.payload, Withdrawn))


@dataclass(frozen=True, slots=True)
class About:
    """What the person who makes a package says of it: licence (SPDX), version, and, where not anonymous, who and where.

    `country` is an ISO 3166 code or name, `site` a place; all may be "".
    """

    licence: str
    version: str = "1.0.0"
    author: str = ""
    institution: str = ""
    country: str = ""
    site: str = ""
