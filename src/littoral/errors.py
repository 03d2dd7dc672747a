"""The one exception family, and faults: mistakes in the user's own data, kept as values.

An exception is for a request that failed. A fault says what is wrong in something a person wrote, where, and what
would be right; faults are collected and shown together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


class LittoralError(Exception):
    """Base of every error Littoral raises on purpose; the message says what, where and what would be right."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One mistake in the user's data.

    `where` names the file (and key), `line` is 1-based or None where a line makes no sense.
    """

    what: str
    right: str
    where: str
    line: int | None = None

    def __str__(self) -> str:
        place = f"{self.where}, line {self.line}" if self.line is not None else self.where
        return f"{place}: {self.what} {self.right}".rstrip()


class FaultsError(LittoralError):
    """The user's data holds mistakes; `faults` lists them all."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))
