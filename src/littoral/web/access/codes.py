"""One-time codes that pair a device: short, soon over, and few wrong ones forgiven."""

from __future__ import annotations

import secrets
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from littoral.errors import LittoralError
from littoral.logbook.devices import Role
from littoral.logbook.invitations import close_invitations, find_invitation, use_invitation
from littoral.web.access.limits import (
    CODE_CHARS,
    CODE_LASTS_S,
    MAX_ADDRESSES,
    MAX_OPEN_CODES,
    TRIES_IN_ALL,
    TRIES_PER_MINUTE,
)

LETTERS = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
"""Without 0 and O, 1, I and L, which are taken for each other."""


def new_code() -> str:
    """Return a fresh code's text."""
    return "".join(secrets.choice(LETTERS) for _ in range(CODE_CHARS))


class WrongCodeError(LittoralError):
    """A code that is not open: mistyped, used already, or too old. Which of these is not told."""

    def __init__(self) -> None:
        super().__init__(
            "This code is not open. It is used once and for five minutes only: show a new one on the computer."
        )


class TooManyTriesError(LittoralError):
    """Too many wrong codes; `wait_s` is when to try again."""

    def __init__(self, wait_s: int) -> None:
        self.wait_s = wait_s
        super().__init__(f"Too many wrong codes from here. Wait {wait_s} seconds, then try again.")


@dataclass(frozen=True, slots=True)
class Code:
    """An open code: its text, the role that it gives, until when (the clock's seconds) it holds.

    `invited` tells that the command has opened it.
    """

    text: str
    role: Role
    until: float
    invited: bool = False

    @property
    def shown(self) -> str:
        """The code in two groups, as it is read out."""
        half = len(self.text) // 2
        return f"{self.text[:half]} {self.text[half:]}"


class Codes:
    """The open codes of this start, kept in memory only: a new start knows none of them.

    What the command has opened lies in the logbook's `folder`.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic, *, folder: Path | None = None) -> None:
        self._clock = clock
        self._folder = folder
        self._lock = threading.Lock()
        self._open: list[Code] = []
        self._wrong: dict[str, list[float]] = {}
        self._wrong_in_all = 0

    def make(self, *, role: Role) -> Code:
        """Open a code."""
        code = Code(new_code(), role, self._clock() + CODE_LASTS_S)
        with self._lock:
            self._open = [*self._open, code][-MAX_OPEN_CODES:]
            self._wrong_in_all = 0
        return code

    def open(self) -> tuple[Code, ...]:
        """Return the codes that can be used now, the newest first."""
        now = self._clock()
        with self._lock:
            self._open = [code for code in self._open if code.until > now]
            return tuple(reversed(self._open))

    def seconds_left(self, code: Code) -> int:
        """Return how long a code still holds, s."""
        return max(0, round(code.until - self._clock()))

    def find(self, text: str, *, address: str) -> Code:
        """Return an open code as it was typed; WrongCodeError, TooManyTriesError. A wrong one is counted."""
        now = self._clock()
        given = "".join(text.split()).upper().encode()
        found = None
        with self._lock:
            recent = [at for at in self._wrong.get(address, ()) if at > now - 60]
            if len(recent) >= TRIES_PER_MINUTE:
                raise TooManyTriesError(max(1, round(recent[0] + 60 - now)))
            for code in self._open:
                if code.until > now and secrets.compare_digest(code.text.encode(), given):
                    found = code
            if found is None:
                found = self._invited(given.decode(), now)
            if found is not None:
                return found
            self._wrong.pop(address, None)  # put back at the end: the dictionary is in the order of the last try
            self._wrong[address] = [*recent, now]
            if len(self._wrong) > MAX_ADDRESSES:
                del self._wrong[next(iter(self._wrong))]
            self._wrong_in_all += 1
            if self._wrong_in_all >= TRIES_IN_ALL:
                self._wrong_in_all = 0  # none is open now; one that the command opens later has its own tries
                self._open.clear()
                if self._folder is not None:
                    close_invitations(self._folder)
        raise WrongCodeError

    def _invited(self, text: str, now: float) -> Code | None:
        found = None if self._folder is None else find_invitation(self._folder, text, now=datetime.now(UTC))
        return None if found is None else Code(text, found.role, now + CODE_LASTS_S, invited=True)

    def spend(self, code: Code) -> None:
        """Use a code up; WrongCodeError where another device was faster or its time is over."""
        with self._lock:
            if code.invited:
                if self._folder is None or not use_invitation(self._folder, code.text, now=datetime.now(UTC)):
                    raise WrongCodeError
                return
            if code not in self._open or code.until <= self._clock():
                raise WrongCodeError
            self._open.remove(code)
