"""Encoding ready pictures as a film, the same bytes for the same pictures.

H.264 or AV1 in MP4, its index first, or VP9 in WebM. PyAV's wheel carries libx264 (GPL), libvpx and SVT-AV1; a build
without libx264 falls back to libopenh264.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

from littoral.errors import LittoralError, extras_needed
from littoral.publish.film.script import FPS, Chapter

if TYPE_CHECKING:
    from av import VideoFrame

ENCODERS: dict[str, tuple[str, ...]] = {
    "h264": ("libx264", "libopenh264"),
    "vp9": ("libvpx-vp9",),
    "av1": ("libsvtav1",),
}
"""The encoders of each codec, the better one first."""
NAMES = {"h264": "H.264", "vp9": "VP9", "av1": "AV1"}
BT709 = 1
"""The number that H.264 (ITU-T H.264, tables E-3 to E-5) gives to BT.709 primaries, transfer and matrix."""
OPTIONS = {
    # Constant quality, chosen so that no artefacts are seen on plants; two threads fixed, for the bytes depend on them.
    "libx264": {"preset": "veryfast", "crf": "20", "threads": "2", "flags": "+bitexact"},
    "libopenh264": {"b": "8M"},
    "libvpx-vp9": {"crf": "30", "b": "0", "deadline": "realtime", "cpu-used": "6", "threads": "2", "row-mt": "0"},
    "libsvtav1": {"preset": "9", "crf": "30", "svtav1-params": "lp=2"},
}
CONTAINERS = {
    "mp4": {"movflags": "+faststart", "fflags": "+bitexact"},
    "webm": {"fflags": "+bitexact", "cues_to_front": "1"},
}


class EncoderError(LittoralError):
    """PyAV is installed without an encoder for a codec."""

    def __init__(self, codec: str = "h264") -> None:
        self.codec = codec
        super().__init__(
            f"No film: this PyAV has none of the {NAMES[codec]} encoders {', '.join(ENCODERS[codec])}. "
            "Its wheels on PyPI have one."
        )


@dataclass(frozen=True, slots=True)
class Encoded:
    """A written film: frames, frames per second, size (width, height), and the encoder used."""

    path: Path
    encoder: str
    frames: int
    fps: int
    size: tuple[int, int]


def encoder_here(codec: str = "h264") -> str:
    """Return the encoder that will be used; EncoderError where there is none, MissingExtraError without PyAV."""
    with extras_needed():
        import av
    for name in ENCODERS[codec]:
        if name in av.codecs_available:
            return name
    raise EncoderError(codec)


def encode(
    path: Path,
    pictures: Iterable[tuple[VideoFrame, int]],
    *,
    size: tuple[int, int] = (1920, 1080),
    codec: str = "h264",
    chapters: Sequence[Chapter] = (),
    total: int = 0,
    title: str = "",
) -> Encoded:
    """Write a film of `pictures`, each a yuv420p frame of `size` with the number of film frames it stands.

    `chapters` end where the next begins, the last at `total` frames. The file appears only when it is whole. Raises
    EncoderError where this PyAV has no encoder for `codec`.
    """
    encoder = encoder_here(codec)
    os.environ.setdefault("SVT_LOG", "1")  # SVT-AV1 tells its settings on stderr otherwise
    import av
    from av import VideoStream

    kind = "webm" if codec == "vp9" else "mp4"
    part = path.with_name(path.name + ".part")
    count = 0
    try:
        with av.open(part, "w", format=kind, options=CONTAINERS[kind]) as film:
            stream = film.add_stream(encoder, rate=FPS, options=dict(OPTIONS[encoder]))
            assert isinstance(stream, VideoStream), "all encoders are for pictures"
            stream.width, stream.height = size
            stream.pix_fmt = "yuv420p"
            stream.time_base = Fraction(1, FPS)
            context = stream.codec_context
            context.gop_size = 2 * FPS
            context.color_range, context.colorspace = 1, BT709
            context.color_primaries, context.color_trc = BT709, BT709
            if title:
                film.metadata["title"] = title
            film.set_chapters(_chapters(chapters, total))
            for frame, stands in pictures:
                for _ in range(stands):
                    frame.pts, frame.time_base = count, Fraction(1, FPS)
                    film.mux(stream.encode(frame))
                    count += 1
            film.mux(stream.encode(None))
        os.replace(part, path)
    finally:
        part.unlink(missing_ok=True)
    return Encoded(path, encoder, count, FPS, size)


def _chapters(chapters: Sequence[Chapter], total: int) -> list[Any]:
    ends = [*(one.frame for one in chapters[1:]), total]
    return [
        {
            "id": place,
            "start": round(1000 * one.frame / FPS),
            "end": round(1000 * end / FPS),
            "time_base": Fraction(1, 1000),
            "metadata": {"title": one.name},
        }
        for place, (one, end) in enumerate(zip(chapters, ends, strict=False), start=1)
    ]
