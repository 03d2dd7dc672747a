"""Read HEIC photos in a process of their own, so that a file that upsets the decoder takes nothing else down.

The process (`imaging.heic_worker`) is started at the first HEIC photo, has a limit on its memory, and is used again;
as many run as photos are read at once. One that dies or does not answer in time is ended, and its photo is damaged.
"""

from __future__ import annotations

import atexit
import json
import queue
import struct
import subprocess
import sys
import threading
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from littoral.errors import MissingExtraError
from littoral.imaging.photo_errors import DamagedPhotoError

PATIENCE_S = 60.0
"""A 12 MP photo takes about half a second; one that takes a hundred times as long is hostile."""
BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")
"""Brands of still pictures coded by HEVC, and of the container at large (ISO/IEC 23008-12, annex B)."""


@dataclass(frozen=True, slots=True, eq=False)
class Heic:
    """The first picture of a HEIC file, upright: `pixels` are `mode` ("RGB" or "RGBA"), None where none were asked for.

    `full_px` is its size (width, height), `size_px` that of the pixels; `primaries` and `transfer` are the codes of
    ITU-T H.273 where no ICC profile says the colours, None where nothing does.
    """

    full_px: tuple[int, int]
    size_px: tuple[int, int]
    mode: str
    frames: int
    exif: bytes
    profile: bytes
    primaries: int | None
    transfer: int | None
    pixels: bytes | None


def is_heic(data: bytes) -> bool:
    """Tell a HEIC file by its first bytes (ISO/IEC 14496-12, section 4.3)."""
    return data[4:8] == b"ftyp" and data[8:12] in BRANDS


def read_heic(data: bytes, *, width_px: int | None, pixels: bool, max_pixels: int) -> Heic:
    """Read a HEIC photo; with `pixels` its pixels too, at most 1.5 times and at least once as wide as `width_px`.

    A photo of more than `max_pixels` comes back without pixels. DamagedPhotoError; MissingExtraError.
    """
    worker = _WORKERS.borrow()
    try:
        said, parts = worker.ask(data, {"width": width_px or 0, "pixels": pixels, "max": max_pixels})
    except (OSError, EOFError, ValueError, struct.error) as error:
        worker.end()
        raise DamagedPhotoError("HEIC", detail="the decoder gave up on it") from error
    except BaseException:  # half of an answer may still be in the pipe
        worker.end()
        raise
    _WORKERS.give_back(worker)
    match said.get("error"):
        case None:
            exif, profile, raw = parts
            return Heic(
                full_px=(said["full"][0], said["full"][1]),
                size_px=(said["size"][0], said["size"][1]),
                mode=said["mode"],
                frames=said["frames"],
                exif=exif,
                profile=profile,
                primaries=said["primaries"],
                transfer=said["transfer"],
                pixels=raw or None,
            )
        case "missing":
            raise MissingExtraError("pillow-heif", "photos")
        case why:
            raise DamagedPhotoError("HEIC", cut_short=why == "cut short")


class _Worker:
    """One process; `ask` is called by one thread at a time."""

    def __init__(self) -> None:
        command = [sys.executable, "-m", "littoral.imaging.heic_worker"]
        self._process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
        )

    def ask(self, data: bytes, wanted: dict[str, Any]) -> tuple[dict[str, Any], list[bytes]]:
        """Send a photo and return what is said of it, with its metadata, profile and pixels."""
        assert self._process.stdin is not None
        late = threading.Timer(PATIENCE_S, self._process.kill)
        late.daemon = True
        late.start()
        try:
            said = json.dumps(wanted).encode()
            self._process.stdin.write(struct.pack("<IQ", len(said), len(data)) + said)
            self._process.stdin.write(data)
            self._process.stdin.flush()
            head, *sizes = struct.unpack("<IQQQ", self._exactly(28))
            answer: dict[str, Any] = json.loads(self._exactly(head))
            return answer, [self._exactly(size) for size in sizes]
        finally:
            late.cancel()

    def _exactly(self, size: int) -> bytes:
        assert self._process.stdout is not None
        data = self._process.stdout.read(size)
        if len(data) < size:
            raise EOFError("the decoder's process ended")
        return data

    def end(self) -> None:
        """End the process."""
        self._process.kill()
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                with suppress(OSError):  # what was still to be written has nobody to read it
                    pipe.close()
        self._process.wait()


class _Workers:
    def __init__(self) -> None:
        self._idle: queue.LifoQueue[_Worker] = queue.LifoQueue()

    def borrow(self) -> _Worker:
        try:
            return self._idle.get_nowait()
        except queue.Empty:
            return _Worker()

    def give_back(self, worker: _Worker) -> None:
        self._idle.put(worker)

    def end(self) -> None:
        while True:
            try:
                self._idle.get_nowait().end()
            except queue.Empty:
                return


_WORKERS = _Workers()
atexit.register(_WORKERS.end)
