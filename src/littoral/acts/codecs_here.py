"""Which films can be made on this computer."""

from __future__ import annotations

from collections.abc import Mapping

from littoral.errors import LittoralError

NAMES: Mapping[str, str] = {
    "h264": "H.264, plays everywhere",
    "vp9": "VP9, open, smaller",
    "av1": "AV1, open, smallest",
    "webp": "animated WebP, for a page",
}
"""Each codec in words, by its key among the options of a film."""


def codecs_here() -> dict[str, str]:
    """Return the codecs that an encoder is here for, in words, by key; {} without the libraries of films."""
    from littoral.publish.film.encode import encoder_here

    found = {}
    for codec, words in NAMES.items():
        try:
            if codec != "webp":
                encoder_here(codec)
        except LittoralError:
            continue
        found[codec] = words
    return found
