"""One row as it was said, and as it was read: what every kind of entry is made from."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from littoral.trial.entries import Payload
from littoral.trial.model import Tank, Trial
from littoral.trial.written.report import WrongValueError


@dataclass(frozen=True, slots=True)
class Said:
    """One row's `what`, `amount` and `note`, of `tank`, on `weekday` (0 is Monday) and `day` of the trial."""

    what: str
    amount: str
    note: str
    tank: Tank
    trial: Trial
    day: float
    weekday: int


@dataclass(frozen=True, slots=True)
class Read:
    """The payload, the note that is left, and the amount as it was measured (for `identity.entry_id`)."""

    payload: Payload
    note: str
    written: tuple[str, ...] = ()


class WrongCellError(WrongValueError):
    """A mistake in one cell; `column` names it, and `also` are mistakes in other cells of the row."""

    def __init__(self, column: str, what: str, right: str, *, also: tuple[WrongCellError, ...] = ()) -> None:
        self.column = column
        self.also = also
        super().__init__(what, right)


def mistakes(step: Callable[[], object]) -> tuple[WrongCellError, ...]:
    """Return the mistakes that a step meets."""
    try:
        step()
    except WrongCellError as error:
        return (error, *error.also)
    return ()
