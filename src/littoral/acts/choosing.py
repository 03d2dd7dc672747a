"""Which trial of a logbook is meant."""

from __future__ import annotations

from littoral.errors import LittoralError
from littoral.logbook.book import Logbook


class WhichTrialError(LittoralError):
    """The logbook holds no trial, or several and none was named."""

    def __init__(self, known: tuple[str, ...]) -> None:
        self.known = known
        super().__init__(
            f"this logbook holds {len(known)} trials; say which with --trial KEY: {', '.join(known)}."
            if known
            else "this logbook holds no trial yet. `littoral start LOGBOOK` asks three things and starts one; "
            "`littoral import FILE` takes one in that is written already."
        )


def chosen_trial(book: Logbook, key: str | None) -> str:
    """Return the key that was named, or that of the only trial; WhichTrialError where that is not clear."""
    known = book.trials()
    if key is None and len(known) != 1:
        raise WhichTrialError(known)
    return known[0] if key is None else key
