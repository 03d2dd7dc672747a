"""What a process did to the files of a folder, in order, as strace(1) saw it: each write, sync, rename, and its words.

Nothing of the process is replaced: it is the logbook as it is shipped, with the SQLite that Python carries.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

CALLS = (
    "open,openat,creat,close,dup,dup2,dup3,write,writev,pwrite64,pwritev,pwritev2,ftruncate,truncate,fallocate,fsync,"
    "fdatasync,sync_file_range,rename,renameat,renameat2,unlink,unlinkat,mkdir,mkdirat,rmdir,link,linkat,symlink,"
    "symlinkat,sendfile,copy_file_range,splice,lseek,fcntl"
)
Kind = Literal["create", "mkdir", "write", "truncate", "sync", "rename", "unlink", "rmdir", "say"]
_CALL = re.compile(r"(\w+)\((.*)\)\s+= (-?\d+|\?)")
_TEXT = re.compile(r'"((?:\\x[0-9a-f]{2})*)"')


@dataclass(frozen=True, slots=True)
class Op:
    """One thing that happened to a file or folder, by its path within the folder looked at; "say" is a word on stdout.

    `offset` is where `data` was written, or the size that a file was cut to; `to` is the new name of a rename.
    """

    kind: Kind
    path: str = ""
    data: bytes = b""
    offset: int = 0
    to: str = ""


class UnseenCallError(Exception):
    """The process did something to a file that this recorder does not follow."""


def can_record() -> bool:
    """Return whether strace is there and may look at a process."""
    if shutil.which("strace") is None:
        return False
    tried = subprocess.run(["strace", "-o", os.devnull, "true"], capture_output=True, check=False)
    return tried.returncode == 0


def record(kind: str, folder: Path, log: Path, *, weaken: str = "", photos: Path | None = None) -> tuple[Op, ...]:
    """Do one kind of work (`faults.workload`) in `folder` and return all that happened to files around it, in order.

    Paths are relative to the folder's parent. `weaken` takes a promise back (`faults.workload.weaken`), to see that the
    check would find the loss. `photos` is the folder that "intake" takes in; it lies elsewhere.
    """
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(one for one in sys.path if one)}
    if weaken:
        environment["FAULTS_WEAKEN"] = weaken
    if photos is not None:
        environment["FAULTS_PHOTOS"] = str(photos)
    command = ["strace", "-xx", "-s", "16777216", "-e", f"trace={CALLS}", "-e", "signal=none", "-o", str(log)]
    work = [sys.executable, "-m", "faults.workload", kind, str(folder)]
    subprocess.run([*command, *work], check=True, capture_output=True, env=environment)
    return tuple(_ops(log, folder.parent.resolve()))


def _ops(log: Path, root: Path) -> Iterator[Op]:
    reader = _Reader(root)
    with log.open(encoding="ascii") as lines:
        for line in lines:
            call = _CALL.match(line)
            if call is not None and call[3] != "?" and int(call[3]) >= 0:
                yield from reader.read(call[1], call[2], int(call[3]))


class _Reader:
    """Follows which number stands for which open file."""

    def __init__(self, root: Path) -> None:
        self._root = str(root) + "/"
        self._open: dict[int, str] = {1: "<stdout>"}
        self._at: dict[int, int] = {}

    def read(self, name: str, said: str, result: int) -> Iterator[Op]:
        """Return what one call did to files that are looked at."""
        texts = [bytes.fromhex(text.replace("\\x", "")) for text in _TEXT.findall(said)]
        rest = [part.strip() for part in _TEXT.sub("*", said).split(",")]
        match name:
            case "open" | "openat" | "creat":
                yield from self._opened(name, texts[0].decode(), rest, said, result)
            case "close":
                self._open.pop(int(rest[0]), None)
            case "write" | "pwrite64":
                yield from self._written(int(rest[0]), texts[0][:result], rest, name)
            case "ftruncate":
                path = self._path(int(rest[0]))
                if path:
                    yield Op("truncate", path, offset=int(rest[1]))
            case "fsync" | "fdatasync":
                path = self._path(int(rest[0]))
                if path is not None:
                    yield Op("sync", path)
            case "rename" | "renameat" | "renameat2":
                old, new = (self._resolved(text.decode(), rest, at) for text, at in zip(texts, (0, 2), strict=True))
                first, second = self._inside(old), self._inside(new)
                if (first is None) != (second is None):
                    raise UnseenCallError(f"a rename into or out of the folder: {said}")
                if first is not None and second is not None:
                    yield Op("rename", first, to=second)
            case "unlink" | "unlinkat" | "rmdir" | "mkdir" | "mkdirat":
                path = self._inside(self._resolved(texts[0].decode(), rest, 0))
                if path is not None:
                    removes_folder = name == "rmdir" or "AT_REMOVEDIR" in said
                    yield Op("mkdir" if name.startswith("mkdir") else "rmdir" if removes_folder else "unlink", path)
            case "lseek":
                self._at[int(rest[0])] = result
            case "fcntl" | "dup" | "dup2" | "dup3":
                if name != "fcntl" or "F_DUPFD" in said:
                    self._open[result] = self._open.get(int(rest[0]), "")
            case _:
                number = int(rest[0]) if rest[0].isdigit() else -1
                if self._path(number) is not None or any(self._inside(text.decode()) for text in texts):
                    raise UnseenCallError(f"{name}({said[:200]})")

    def _opened(self, name: str, text: str, rest: list[str], said: str, number: int) -> Iterator[Op]:
        path = self._resolved(text, rest if name == "openat" else [], 0)
        self._open[number], self._at[number] = path, 0
        inside = self._inside(path)
        if inside is None:
            return
        if "O_CREAT" in said or name == "creat":
            yield Op("create", inside)
        if "O_TRUNC" in said or name == "creat":
            yield Op("truncate", inside, offset=0)
        if "O_APPEND" in said:
            raise UnseenCallError(f"opened to append: {inside}")

    def _written(self, number: int, data: bytes, rest: list[str], name: str) -> Iterator[Op]:
        if number == 1:
            yield Op("say", data=data)
            return
        path = self._path(number)
        offset = int(rest[3]) if name == "pwrite64" else self._at.get(number, 0)
        if name == "write":
            self._at[number] = offset + len(data)
        if path is not None:
            yield Op("write", path, data=data, offset=offset)

    def _path(self, number: int) -> str | None:
        path = self._open.get(number)
        return None if path is None else self._inside(path)

    def _resolved(self, text: str, rest: list[str], at: int) -> str:
        """Return a path as an absolute one; `rest[at]` is the open folder that it is relative to, if any."""
        if text.startswith("/"):
            return os.path.normpath(text)
        if rest[at : at + 1] and rest[at].isdigit():
            return os.path.normpath(f"{self._open[int(rest[at])]}/{text}")
        return os.path.normpath(os.path.join(os.getcwd(), text))

    def _inside(self, path: str) -> str | None:
        if path + "/" == self._root:
            return ""
        return path[len(self._root) :] if path.startswith(self._root) else None
