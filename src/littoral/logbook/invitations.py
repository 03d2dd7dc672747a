"""Codes that a command opened for a page that runs elsewhere: one small file each, used once, gone after five minutes.

Of a code only its SHA-256 is kept. Using one up is removing its file, which only one of two can do.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from littoral.logbook.devices import FOLDER, LARGEST_BYTES, ROLES, Role, hash_of
from littoral.logbook.whole_files import write_whole

INVITATIONS = "invited"


@dataclass(frozen=True, slots=True)
class Invitation:
    """An open code's hash, the role that it gives, and until when it holds."""

    code_sha256: str
    role: Role
    until: datetime


def write_invitation(folder: Path, code: str, *, role: Role, now: datetime, until: datetime) -> None:
    """Open a code for the page of the logbook at `folder`; those that are over go. UnwrittenFileError."""
    for old in _read_all(folder):
        if old.until <= now:
            _path(folder, old.code_sha256).unlink(missing_ok=True)
    said = {"role": role, "until": until.isoformat()}
    write_whole(_path(folder, hash_of(code)), json.dumps(said).encode())


def find_invitation(folder: Path, code: str, *, now: datetime) -> Invitation | None:
    """Return the open invitation that a code is of; None where there is none or its time is over."""
    sha256 = hash_of(code)
    found = next((one for one in _read_all(folder) if one.code_sha256 == sha256), None)
    return found if found is not None and found.until > now else None


def use_invitation(folder: Path, code: str, *, now: datetime) -> bool:
    """Use an invitation up and return whether it was still there: of two at once only one is let in."""
    if find_invitation(folder, code, now=now) is None:
        return False
    try:
        _path(folder, hash_of(code)).unlink()
    except OSError:
        return False
    return True


def close_invitations(folder: Path) -> None:
    """Close every code that a command has opened."""
    for one in _read_all(folder):
        _path(folder, one.code_sha256).unlink(missing_ok=True)


def _read_all(folder: Path) -> Iterator[Invitation]:
    try:
        paths = sorted((folder / FOLDER / INVITATIONS).glob("*.json"))
    except OSError:
        return
    for path in paths:
        try:
            with path.open("rb") as file:
                said = json.loads(file.read(LARGEST_BYTES))
            until = datetime.fromisoformat(said["until"])
            yield Invitation(path.stem, ROLES[ROLES.index(said["role"])], until)
        except (OSError, ValueError, KeyError, TypeError):
            continue


def _path(folder: Path, sha256: str) -> Path:
    return folder / FOLDER / INVITATIONS / f"{sha256}.json"
