"""A film as an animated WebP: small, without sound or controls, for pages."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from pathlib import Path

from PIL import Image

from littoral.publish.film.encode import Encoded
from littoral.publish.film.script import FPS

QUALITY = 72
LONGEST_SIDE = 720
"""What a film for a page has at most, in pixels."""


def write_webp(path: Path, pictures: Iterable[tuple[Image.Image, int]]) -> Encoded:
    """Write pictures, each with the number of film frames (1/30 s) it stands, as an animated WebP that repeats.

    The file appears only when it is whole.
    """
    durations: list[int] = []
    count = 0

    def shrunk() -> Iterator[Image.Image]:
        nonlocal count
        for picture, stands in pictures:
            begin = round(1000 * count / FPS)
            count += stands
            durations.append(round(1000 * count / FPS) - begin)
            ratio = min(1.0, LONGEST_SIDE / max(picture.size))
            size = (round(picture.width * ratio), round(picture.height * ratio))
            yield picture.resize(size, Image.Resampling.LANCZOS) if ratio < 1 else picture

    frames = list(shrunk())  # a few hundred small ones: the writer wants to know all durations before
    part = path.with_name(path.name + ".part")
    try:
        frames[0].save(
            part, "WEBP", save_all=True, append_images=frames[1:], duration=durations, loop=0, quality=QUALITY, method=4
        )
        os.replace(part, path)
    finally:
        part.unlink(missing_ok=True)
    return Encoded(path, "libwebp", count, FPS, frames[0].size)
