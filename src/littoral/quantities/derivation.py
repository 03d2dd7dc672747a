"""How a number came about, line by line, so that "why?" can always be answered."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Step:
    """One line of a derivation: what was computed, the formula with its numbers put in, the result, and the source.

    `result` is text with its unit; `source` names a publication, the user's own data ("from the label"), or
    "common practice, no source".
    """

    what: str
    formula: str
    result: str
    source: str = ""
