"""Let a phone or another computer use a logbook's page, and take that back."""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from littoral.acts.who_recorded import stands_in_entries
from littoral.errors import Fault, FaultsError, LittoralError
from littoral.logbook.book import Logbook
from littoral.logbook.devices import Device, Role, hash_of, read_device, read_devices, write_device
from littoral.logbook.invitations import write_invitation

LONGEST_NAME = 40


class NoDeviceError(LittoralError):
    """No device of this id or name is let in."""

    def __init__(self, asked: str, known: tuple[str, ...]) -> None:
        self.asked, self.known = asked, known
        listed = f"Let in are {', '.join(known)}." if known else "No device is let in."
        super().__init__(f'no device is called "{asked[:60]}". {listed}')


@dataclass(frozen=True, slots=True)
class Paired:
    """A device that was let in, and its key, which is told once and kept nowhere here."""

    device: Device
    key: str


def list_devices(folder: Path) -> tuple[Device, ...]:
    """Return all devices of a logbook, revoked ones too, the first paired first; NoLogbookError."""
    with Logbook.open(folder):
        return read_devices(folder)


def _sure() -> None:
    return None


def pair_device(folder: Path, name: str, *, role: Role, now: datetime, sure: Callable[[], None] = _sure) -> Paired:
    """Let a device in under a name, which stands in `who` of what it records.

    `sure` is called last before anything is written, and refuses by raising. FaultsError where the name is empty, too
    long or taken; UnwrittenFileError; the logbook's error where it is read-only.
    """
    said = " ".join(name.split())
    with Logbook.open(folder) as book:
        if book.read_only is not None:
            raise book.read_only
        used = role == "helper" and stands_in_entries(book, said)
    taken = {one.name.casefold() for one in read_devices(folder) if one.revoked_at is None}
    if not said or not said.isprintable():
        raise FaultsError([Fault("is empty or holds signs that cannot be shown.", "Write whose it is.", "name")])
    if len(said) > LONGEST_NAME:
        raise FaultsError([Fault(f"has {len(said)} characters.", f"Write at most {LONGEST_NAME}.", "name")])
    if said.casefold() in taken:
        raise FaultsError([Fault(f'is "{said}", as another device is called.', "Choose another.", "name")])
    if used:  # a helper mends its own entries, which are told by this name
        right = f'Choose another, such as "{said} 2".'
        raise FaultsError([Fault(f'is "{said}", which stands at entries already.', right, "name")])
    sure()
    key = secrets.token_urlsafe(32)
    device = Device(secrets.token_hex(8), said, role, hash_of(key), now)
    write_device(folder, device)
    return Paired(device, key)


def invite(folder: Path, code: str, *, role: Role, now: datetime, lasts_s: float) -> None:
    """Open a code that lets one device in, for whichever page of this logbook runs now. NoLogbookError."""
    with Logbook.open(folder) as book:
        if book.read_only is not None:
            raise book.read_only
    write_invitation(folder, code, role=role, now=now, until=now + timedelta(seconds=lasts_s))


def known_device(folder: Path, identity: str, key: str) -> Device | None:
    """Return the device that this key is of, None where it is of none or was revoked; read anew at every request."""
    device = read_device(folder, identity)
    if device is None or device.revoked_at is not None:
        return None
    return device if hmac.compare_digest(device.key_sha256.encode(), hash_of(key).encode()) else None


def revoke_device(folder: Path, asked: str, *, now: datetime) -> Device:
    """Let a device in no more, from its next request on; `asked` is its id or name. NoDeviceError, NoLogbookError."""
    there = [one for one in list_devices(folder) if one.revoked_at is None]
    name = " ".join(asked.split()).casefold()
    found = next((one for one in there if one.id == asked or one.name.casefold() == name), None)
    if found is None:
        raise NoDeviceError(asked, tuple(one.name for one in there))
    revoked = replace(found, revoked_at=now)
    write_device(folder, revoked)
    return revoked


def device_as_json(device: Device) -> dict[str, Any]:
    """Return a device as plain data, without what is kept of its key."""
    return {
        "id": device.id,
        "name": device.name,
        "role": device.role,
        "paired_at": device.paired_at.isoformat(),
        "revoked_at": None if device.revoked_at is None else device.revoked_at.isoformat(),
    }
