"""Numbers as people write them: decimal points and commas, separators of thousands, and what is not clear."""

from __future__ import annotations

import re

_POINT = re.compile(r"[0-9]+\.?[0-9]*|\.[0-9]+", re.ASCII)
AMBIGUOUS = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}", re.ASCII)  # 1,500: one and a half, or fifteen hundred?
_COMMA = re.compile(r"[0-9]*,[0-9]+", re.ASCII)
_GROUPED_COMMA = re.compile(r"[1-9][0-9]{0,2}((,[0-9]{3}){2,}|(,[0-9]{3})+\.[0-9]+)", re.ASCII)
_GROUPED_POINT = re.compile(r"[1-9][0-9]{0,2}((\.[0-9]{3}){2,}|(\.[0-9]{3})+,[0-9]+)", re.ASCII)


def plain_number(digits: str) -> str | None:
    """Return digits with a decimal point and no separators of thousands; None where that is not certain."""
    if _POINT.fullmatch(digits):
        return digits
    if AMBIGUOUS.fullmatch(digits):
        return None
    if _COMMA.fullmatch(digits):
        return digits.replace(",", ".")
    if _GROUPED_COMMA.fullmatch(digits):
        return digits.replace(",", "")
    if _GROUPED_POINT.fullmatch(digits):
        return digits.replace(".", "").replace(",", ".")
    return None
