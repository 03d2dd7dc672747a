"""Devices that may use the page over the network: one small file each in the logbook's folder, written whole.

They are no entries and no part of what happened in a tank, so they are neither in the database nor in a backup: a
logbook that is restored elsewhere lets no phone in until it is paired there. A file each, because two programs may then
pair and revoke at the same moment without one undoing what the other did. Of a key only the SHA-256 is kept; keys are
256 random bits, so that it leads nowhere.
"""

from __future__ import annotations

import hashlib
import json
import re
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Literal, get_args

from littoral.logbook.whole_files import write_whole

Role = Literal["keeper", "helper", "reader"]
ROLES: tuple[Role, ...] = get_args(Role)
FOLDER = "devices"
_ID = re.compile(r"[0-9a-f]{16}")
LARGEST_BYTES = 4_096


@dataclass(frozen=True, slots=True)
class Device:
    """One paired device. What its role may do is said in `web.access`; `revoked_at` is None while it is let in."""

    id: str
    name: str
    role: Role
    key_sha256: str
    paired_at: datetime
    revoked_at: datetime | None = None


def hash_of(key: str) -> str:
    """Return what is kept of a device's key: its SHA-256 in hex."""
    return hashlib.sha256(key.encode()).hexdigest()


def write_device(folder: Path, device: Device) -> None:
    """Write one device's file. Raises UnwrittenFileError; ValueError for an id that is not one of ours."""
    said = {
        "id": device.id,
        "name": device.name,
        "role": device.role,
        "key_sha256": device.key_sha256,
        "paired_at": device.paired_at.isoformat(),
        "revoked_at": None if device.revoked_at is None else device.revoked_at.isoformat(),
    }
    write_whole(_path(folder, device.id), json.dumps(said, ensure_ascii=False, indent=1).encode())


def read_device(folder: Path, identity: str) -> Device | None:
    """Return the device of an id, revoked or not; None where there is none or its file cannot be read."""
    if _ID.fullmatch(identity) is None:
        return None
    try:
        with _path(folder, identity).open("rb") as file:
            said = json.loads(file.read(LARGEST_BYTES))
        revoked = said["revoked_at"]
        device = Device(
            id=str(said["id"]),
            name=str(said["name"]),
            role=_role(said),
            key_sha256=str(said["key_sha256"]),
            paired_at=datetime.fromisoformat(said["paired_at"]),
            revoked_at=None if revoked is None else datetime.fromisoformat(revoked),
        )
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return device if device.id == identity else None


def _role(said: dict[str, Any]) -> Role:
    """Return a device's role. One of before there were roles wrote or only looked: it never gets to more."""
    if "role" not in said:
        return "helper" if said["may_write"] is True else "reader"
    found: Role = ROLES[ROLES.index(said["role"])]
    return found


def read_devices(folder: Path) -> tuple[Device, ...]:
    """Return all devices, the first paired first; a file that cannot be read lets nobody in and is left out."""
    try:
        names = [path.stem for path in (folder / FOLDER).glob("*.json")]
    except OSError:
        return ()
    found = (read_device(folder, name) for name in names)
    return tuple(sorted((one for one in found if one is not None), key=lambda one: (one.paired_at, one.id)))


def _path(folder: Path, identity: str) -> Path:
    if _ID.fullmatch(identity) is None:
        raise ValueError(f"{identity!r} is no id of a device")
    return folder / FOLDER / f"{identity}.json"
