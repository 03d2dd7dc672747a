"""Encoding ready pictures as an H.264 film in MP4, the same bytes for the same pictures.

PyAV's wheel carries libx264 (GPL); a build without it falls back to libopenh264.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from littoral.errors import LittoralError, extras_needed

if TYPE_CHECKING:
    from av import VideoFrame

SIZE = (1920, 1080)
FPS = 30
ENCODERS = ("libx264", "libopenh264")
BT709 = 1
"""The number that H.264 (ITU-T H.264, tables E-3 to E-5) gives to BT.709 primaries, transfer and matrix."""
OPTIONS = {
    # crf 20: no artefacts to be seen on plants; two threads fixed, for the bytes depend on their number.
    "libx264": {"preset": "veryfast", "crf": "20", "threads": "2", "flags": "+bitexact"},
    "libopenh264": {"b": "8M"},
}


class EncoderError(LittoralError):
    """PyAV is installed without an H.264 encoder."""

    def __init__(self) -> None:
        super().__init__(
            f"No film: this PyAV has none of the H.264 encoders {', '.join(ENCODERS)}. Its wheels on PyPI have one."
        )


@dataclass(frozen=True, slots=True)
class Encoded:
    """A written film: frames, frames per second, size (width, height), and the encoder used."""

    path: Path
    encoder: str
    frames: int
    fps: int
    size: tuple[int, int]


def encoder_here() -> str:
    """Return the H.264 encoder that will be used; EncoderError where there is none, MissingExtraError without PyAV."""
    with extras_needed():
        import av
    for name in ENCODERS:
        if name in av.codecs_available:
            return name
    raise EncoderError


def encode(path: Path, pictures: Iterable[tuple[VideoFrame, int]]) -> Encoded:
    """Write a film of `pictures`, each a yuv420p frame of SIZE with the number of film frames it stands.

    The file appears only when it is whole. Raises EncoderError where this PyAV has no H.264 encoder.
    """
    encoder = encoder_here()
    import av
    from av import VideoStream

    part = path.with_name(path.name + ".part")
    count = 0
    try:
        with av.open(part, "w", format="mp4", options={"movflags": "+faststart", "fflags": "+bitexact"}) as film:
            stream = film.add_stream(encoder, rate=FPS, options=dict(OPTIONS[encoder]))
            assert isinstance(stream, VideoStream), "both encoders are for pictures"
            stream.width, stream.height = SIZE
            stream.pix_fmt = "yuv420p"
            stream.time_base = Fraction(1, FPS)
            context = stream.codec_context
            context.gop_size = 2 * FPS
            context.color_range, context.colorspace = 1, BT709
            context.color_primaries, context.color_trc = BT709, BT709
            for frame, stands in pictures:
                for _ in range(stands):
                    frame.pts, frame.time_base = count, Fraction(1, FPS)
                    film.mux(stream.encode(frame))
                    count += 1
            film.mux(stream.encode(None))
        os.replace(part, path)
    finally:
        part.unlink(missing_ok=True)
    return Encoded(path, encoder, count, FPS, SIZE)
