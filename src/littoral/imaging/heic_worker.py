"""The process that decodes HEIC photos for `imaging.heic`: reads from stdin, answers on stdout, ends with its input."""

from __future__ import annotations

import json
import struct
import sys
from contextlib import suppress
from typing import Any, BinaryIO

MOST_BYTES = 3 << 30
"""Address space of the process: 64 megapixels need a tenth of it."""


def main() -> None:
    """Answer until the input ends."""
    _limit()
    sent, answer = sys.stdin.buffer, sys.stdout.buffer
    while len(head := sent.read(12)) == 12:
        length, size = struct.unpack("<IQ", head)
        wanted = json.loads(sent.read(length))
        said, parts = _read(sent.read(size), wanted)
        _write(answer, said, parts)


def _limit() -> None:
    with suppress(ImportError, ValueError, OSError):  # not on every system
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _read(data: bytes, wanted: dict[str, Any]) -> tuple[dict[str, Any], tuple[bytes, bytes, bytes]]:
    try:
        import pillow_heif
    except ModuleNotFoundError:
        return {"error": "missing"}, (b"", b"", b"")
    pillow_heif.options.DECODE_THREADS = 1
    pillow_heif.options.THUMBNAILS = pillow_heif.options.DEPTH_IMAGES = pillow_heif.options.AUX_IMAGES = False
    try:
        file = pillow_heif.open_heif(data, convert_hdr_to_8bit=True)
        width, height = file.size
        exif, profile = file.info.get("exif") or b"", file.info.get("icc_profile") or b""
        nclx = file.info.get("nclx_profile") or {}
        said = {
            "full": (width, height),
            "size": (width, height),
            "mode": file.mode,
            "frames": len(file),
            "primaries": None if profile else nclx.get("color_primaries"),
            "transfer": None if profile else nclx.get("transfer_characteristics"),
        }
        if not wanted["pixels"] or width * height > wanted["max"]:
            return said, (exif, profile, b"")
        image = file.to_pillow()
        if image.mode not in ("RGB", "RGBA"):
            image = image.convert("RGB")
        if wanted["width"] and image.width > 1.5 * wanted["width"] and image.mode == "RGB":
            image = image.reduce(max(1, int(image.width / wanted["width"])))
    except MemoryError:
        return {"error": "damaged"}, (b"", b"", b"")
    except Exception as error:  # noqa: BLE001 - whatever the decoder raises, the photo is damaged
        ends = any(word in str(error).lower() for word in ("end of", "truncat", "premature", "eof", "extent"))
        return {"error": "cut short" if ends else "damaged"}, (b"", b"", b"")
    return {**said, "size": image.size, "mode": image.mode}, (exif, profile, image.tobytes())


def _write(answer: BinaryIO, said: dict[str, Any], parts: tuple[bytes, bytes, bytes]) -> None:
    head = json.dumps(said).encode()
    answer.write(struct.pack("<IQQQ", len(head), *map(len, parts)) + head)
    for part in parts:
        answer.write(part)
    answer.flush()


if __name__ == "__main__":
    main()
