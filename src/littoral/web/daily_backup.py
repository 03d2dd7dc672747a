"""A backup when the page is opened and every day while it stays open, beside the serving and never in its way."""

from __future__ import annotations

import threading
from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType

from littoral.errors import LittoralError
from littoral.quantities.counting import counted

ASK_EVERY_S = 3600.0


def _now() -> datetime:
    return datetime.now(UTC)


class DailyBackup(AbstractContextManager["DailyBackup"]):
    """Makes the backups that are due while it is entered; what goes wrong is said, and the page goes on.

    `to` is the folder for the backups, by default within the logbook; `say` gets each line once until another comes.
    """

    def __init__(
        self, folder: Path, *, to: Path | None, say: Callable[[str], None], now: Callable[[], datetime] = _now
    ) -> None:
        self._folder, self._to, self._say, self._now = folder, to, say, now
        self._said = ""
        self._end = threading.Event()
        self._thread = threading.Thread(target=self._run, name="daily backup")

    def __enter__(self) -> DailyBackup:
        self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._end.set()
        self._thread.join()

    def once(self) -> None:
        """Make a backup if one is due."""
        from littoral.acts.back_up import back_up_if_due
        from littoral.acts.verify_logbook import space_warning

        try:
            made = back_up_if_due(self._folder, now=self._now(), to=self._to)
        except LittoralError as error:
            self._tell(f"No backup was made: {error}")
            return
        if made is not None:
            lost = f"; missing or damaged: {counted(made.lost, 'photo')}, see littoral verify" if made.lost else ""
            self._tell(f"{made.words()}{lost}")
        if warning := space_warning(self._folder):
            self._tell(warning)

    def _tell(self, line: str) -> None:
        if line != self._said:
            self._said = line
            self._say(line)

    def _run(self) -> None:
        self.once()
        while not self._end.wait(ASK_EVERY_S):
            self.once()
