"""What the four acts share: a number that a person reads, what was refused, and a dose that was stopped."""

from __future__ import annotations

from dataclasses import dataclass

from littoral.errors import Fault
from littoral.quantities.check_row import CheckRow
from littoral.quantities.derivation import Step

Pairs = tuple[tuple[str, str], ...]
"""Rows of a form: a name and an amount as a person wrote them, such as ("KNO3", "33 g")."""


@dataclass(frozen=True, slots=True)
class Figure:
    """A number as it is read, with its unit in `text`; `value` is the bare number in `unit`, None where there is none.

    `steps` answer "why?", line by line. They are empty only where the number is the person's own.
    """

    text: str
    value: float | None
    unit: str
    steps: tuple[Step, ...] = ()


@dataclass(frozen=True, slots=True)
class Refused:
    """A form with mistakes: nothing was computed. `where` of a fault is the field's name, `line` its row from 1."""

    faults: tuple[Fault, ...]


@dataclass(frozen=True, slots=True)
class Stop:
    """A dose that would pass a published limit. `anyway` is the reason of who gives it all the same; "" stops it.

    `explanation` is for the person, `rows` are the limits passed, `steps` derive them. What a stopped result would have
    one weigh out or print is left empty.
    """

    explanation: str
    rows: tuple[CheckRow, ...]
    steps: tuple[Step, ...]
    anyway: str

    @property
    def stands(self) -> bool:
        """Whether the dose is stopped: nobody gave a reason."""
        return not self.anyway

    @property
    def words(self) -> str:
        """The explanation, and the reason where it was overridden."""
        if self.stands:
            return self.explanation
        return f"{self.explanation} Overridden deliberately: “{self.anyway}”."
