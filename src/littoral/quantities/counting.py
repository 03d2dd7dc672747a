"""Counts of things in words."""

from __future__ import annotations

from collections.abc import Sized


def counted(number: int | Sized, noun: str) -> str:
    """Return a count and its noun, which is given in the singular: "1 entry", "2 entries", "0 photos".

    For things that have a length, that is the count. Only regular plurals are made.
    """
    many = number if isinstance(number, int) else len(number)
    if many == 1:
        return f"1 {noun}"
    if noun.endswith("y") and noun[-2:-1] not in "aeiou":
        return f"{many:,} {noun[:-1]}ies"
    return f"{many:,} {noun}{'es' if noun.endswith(('s', 'x', 'ch', 'sh')) else 's'}"
