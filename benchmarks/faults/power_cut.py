"""A disk whose power is cut: what was not synced may be there, or not, or in part.

The model is stricter than common file systems. A file's bytes are sure from its last sync on; of later writes any may
be there, each torn into sectors of 512 bytes. A name (made, renamed, removed) is sure from the sync of its folder on;
of later changes of names in one folder the first so many are there, in each folder on its own.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from faults.disk_log import Op

Unsynced = Literal["kept", "dropped", "random"]
SECTOR_BYTES = 512


@dataclass(slots=True, eq=False)
class _File:
    sure: bytearray = field(default_factory=bytearray)
    later: list[Op] = field(default_factory=list)


@dataclass(slots=True, eq=False)
class _Folder:
    sure: dict[str, _File | _Folder] = field(default_factory=dict)
    names: dict[str, _File | _Folder] = field(default_factory=dict)
    later: list[tuple[str | None, str | None, _File | _Folder]] = field(default_factory=list)
    """Changes of names that are not sure: (name that goes, name that comes, what it stands for)."""


def acknowledged(ops: Sequence[Op]) -> tuple[str, ...]:
    """Return the lines that the process had said."""
    return tuple(b"".join(op.data for op in ops if op.kind == "say").decode().splitlines())


def write_state(
    ops: Sequence[Op], to: Path, *, unsynced: Unsynced, rng: random.Random, before: Path | None = None
) -> None:
    """Write into the new folder `to` what a disk holds after `ops` and a cut; `before` was there already, for sure.

    "kept" is what the end of the process alone leaves; "dropped" loses all that was not synced.
    """
    root = _read(before) if before is not None else _Folder()
    for op in ops:
        _apply(root, op)
    to.mkdir()
    _write(root, to, unsynced, rng)


def _read(folder: Path) -> _Folder:
    made = _Folder()
    for path in folder.iterdir():
        made.names[path.name] = _read(path) if path.is_dir() else _File(bytearray(path.read_bytes()))
    made.sure = dict(made.names)
    return made


def _apply(root: _Folder, op: Op) -> None:
    if op.kind == "say":
        return
    if op.kind == "sync":
        _sync(_found(root, op.path))
        return
    around, name = _around(root, op.path)
    match op.kind:
        case "create":
            if name not in around.names:
                _rename(around, None, name, _File())
        case "mkdir":
            _rename(around, None, name, _Folder())
        case "unlink" | "rmdir":
            _rename(around, name, None, around.names[name])
        case "rename":
            other, new = _around(root, op.to)
            if other is not around:
                raise ValueError(f"a rename from folder to folder: {op.path} to {op.to}")
            _rename(around, name, new, around.names[name])
        case _:
            file = around.names[name]
            assert isinstance(file, _File)
            file.later.append(op)


def _around(root: _Folder, path: str) -> tuple[_Folder, str]:
    folder, _, name = path.rpartition("/")
    found = _found(root, folder)
    assert isinstance(found, _Folder)
    return found, name


def _found(root: _Folder, path: str) -> _File | _Folder:
    found: _File | _Folder = root
    for name in filter(None, path.split("/")):
        assert isinstance(found, _Folder)
        found = found.names[name]
    return found


def _rename(folder: _Folder, old: str | None, new: str | None, what: _File | _Folder) -> None:
    _change(folder.names, (old, new, what))
    folder.later.append((old, new, what))


def _change(names: dict[str, _File | _Folder], change: tuple[str | None, str | None, _File | _Folder]) -> None:
    old, new, what = change
    if old is not None:
        names.pop(old, None)
    if new is not None:
        names[new] = what


def _sync(what: _File | _Folder) -> None:
    if isinstance(what, _File):
        for op in what.later:
            _put(what.sure, op, None)
    else:
        for change in what.later:
            _change(what.sure, change)
    what.later.clear()


def _put(data: bytearray, op: Op, rng: random.Random | None) -> None:
    """Apply a write, whole, or each sector of it by the toss of a coin."""
    if op.kind == "truncate":
        del data[op.offset :]
        data.extend(bytes(op.offset - len(data)))
        return
    end = op.offset + len(op.data)
    at = op.offset
    while at < end:
        until = min(end, (at // SECTOR_BYTES + 1) * SECTOR_BYTES)
        if rng is None or rng.random() < 0.5:
            data.extend(bytes(max(0, until - len(data))))
            data[at:until] = op.data[at - op.offset : until - op.offset]
        at = until


def _write(folder: _Folder, to: Path, unsynced: Unsynced, rng: random.Random) -> None:
    count = {"kept": len(folder.later), "dropped": 0, "random": rng.randint(0, len(folder.later))}[unsynced]
    names = dict(folder.sure)
    for change in folder.later[:count]:
        _change(names, change)
    for name, what in names.items():
        if isinstance(what, _Folder):
            (to / name).mkdir()
            _write(what, to / name, unsynced, rng)
        else:
            (to / name).write_bytes(_bytes(what, unsynced, rng))


def _bytes(file: _File, unsynced: Unsynced, rng: random.Random) -> bytes:
    data = bytearray(file.sure)
    for op in file.later:
        if unsynced == "kept":
            _put(data, op, None)
        elif unsynced == "random" and rng.random() < 0.7:
            _put(data, op, None if rng.random() < 0.5 else rng)
    return bytes(data)
