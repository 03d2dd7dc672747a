"""A check as a row: what was looked at, its value, the limit, and whether it holds. Never just a yes or no."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Verdict = Literal["holds", "warns", "fails", "cannot tell"]


@dataclass(frozen=True, slots=True)
class CheckRow:
    """One check. `value` and `limit` are in `unit`; None where a check is not about a number.

    `operator` relates value to limit ("<=" holds while value is at most limit). `comment` is a sentence for the person,
    with what to do where it does not hold; `source` says where the limit comes from.
    """

    what: str
    value: float | None
    operator: str
    limit: float | None
    unit: str
    verdict: Verdict
    comment: str
    source: str
