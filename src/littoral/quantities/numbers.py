"""Numbers as people write them: decimal points and commas, separators of thousands, and what is not clear."""

from __future__ import annotations

import re

_POINT = re.compile(r"[0-9]+\.?[0-9]*|\.[0-9]+", re.ASCII)
_ONE_COMMA = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}", re.ASCII)  # 1,500: one and a half, or fifteen hundred?
_ONE_POINT = re.compile(r"[1-9][0-9]{0,2}\.[0-9]{3}", re.ASCII)  # the same where commas are decimal
_COMMA = re.compile(r"[0-9]*,[0-9]+", re.ASCII)
_GROUPED_COMMA = re.compile(r"[1-9][0-9]{0,2}((,[0-9]{3}){2,}|(,[0-9]{3})+\.[0-9]+)", re.ASCII)
_GROUPED_POINT = re.compile(r"[1-9][0-9]{0,2}((\.[0-9]{3}){2,}|(\.[0-9]{3})+,[0-9]+)", re.ASCII)


def plain_number(digits: str) -> str | None:
    """Return digits with a decimal point and no separators of thousands; None where that is not certain.

    A single point is a decimal point here; where the writer may use decimal commas, ask `two_readings` first.
    """
    if _POINT.fullmatch(digits):
        return digits
    if _ONE_COMMA.fullmatch(digits):
        return None
    if _COMMA.fullmatch(digits):
        return digits.replace(",", ".")
    if _GROUPED_COMMA.fullmatch(digits):
        return digits.replace(",", "")
    if _GROUPED_POINT.fullmatch(digits):
        return digits.replace(".", "").replace(",", ".")
    return None


def two_readings(digits: str, *, points_are_decimal: bool = True) -> tuple[str, str] | None:
    """Return both numbers that digits may mean, each as it is clear everywhere; None where they mean one thing only.

    "1,500" may be 1.5 or 1500, and so may "1.500" unless it is known that `points_are_decimal`: 1.5 in some countries
    is 1500 in others. "1.234" may be 1.2340, whose fourth digit tells that the point parts no thousands, or 1234.
    """
    if not _ONE_COMMA.fullmatch(digits) and (points_are_decimal or not _ONE_POINT.fullmatch(digits)):
        return None
    whole, _, rest = digits.replace(",", ".").partition(".")
    share = rest.rstrip("0")
    if len(share) == 3:
        share += "0"
    return f"{whole}.{share}".rstrip("."), whole + rest


def has_decimal_comma(digits: str) -> bool:
    """Tell whether digits hold a comma that can only be a decimal one: "5,5" and "1.500,5", not "1,500"."""
    if _ONE_COMMA.fullmatch(digits):
        return False
    return _COMMA.fullmatch(digits) is not None or (_GROUPED_POINT.fullmatch(digits) is not None and "," in digits)
