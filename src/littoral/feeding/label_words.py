"""How a real dose stands to what a bottle's label recommends, in words with the number."""

from __future__ import annotations

import math

_NAMED = {
    0.1: "a tenth of",
    0.25: "a quarter of",
    1 / 3: "a third of",
    0.5: "half of",
    1.0: "as much as",
    2.0: "twice",
    3.0: "three times",
}
_LABEL = "what the label recommends"
_SAME, _ABOUT = 0.03, 0.15  # distance in natural logarithms: within 3 %, within 15 %


def factor_words(factor: float) -> str:
    """Return a factor between real and recommended dose in words: "half of what the label recommends (0.5 times)".

    ValueError for a factor that is negative or no number.
    """
    if not (math.isfinite(factor) and factor >= 0):
        raise ValueError(f"a factor is zero or more, not {factor}")
    if factor == 0:
        return f"none of {_LABEL}"
    nearest = min(_NAMED, key=lambda known: abs(math.log(factor / known)))
    number = f"{factor:.2g} times"
    off = abs(math.log(factor / nearest))
    if off < _ABOUT:
        return f"{'' if off < _SAME else 'about '}{_NAMED[nearest]} {_LABEL} ({number})"
    return f"{number} {_LABEL}"
