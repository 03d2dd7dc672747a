"""Any order of recording, correcting, undoing and importing leaves what a naive twin says: a list of histories."""

from __future__ import annotations

import shutil
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import UUID

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import Bundle, RuleBasedStateMachine, initialize, invariant, rule

from littoral.acts.change_entry import correct_entry, undo_entry
from littoral.acts.record_entry import record_care
from littoral.acts.told import Told
from littoral.logbook.book import Logbook
from littoral.logbook.changed_entries import SupersededError
from littoral.trial.entries import Care
from littoral.trial.written.cells import cells_of
from littoral.trial.written.entries_csv import read_entries
from littoral.trial.written.reader import read_trial

TEXT = (Path(__file__).parents[1] / "trial" / "whole-trial.toml").read_text(encoding="utf-8")
TRIAL = read_trial(TEXT, where="trial.toml")[0]
assert TRIAL is not None
NOW = datetime(2026, 3, 20, 12, tzinfo=UTC)
MINUTES = st.integers(1, 99)


class Stream(RuleBasedStateMachine):
    """The twin: `history` holds for each line of entries the states it went through, the last in force (None: gone)."""

    lines = Bundle("lines")

    @initialize()
    def begin(self) -> None:
        self.folder = Path(tempfile.mkdtemp())
        self.ids: dict[int, list[str]] = {}
        self.history: list[list[float | None]] = []
        self.from_file: dict[int, str] = {}  # line -> row of the file that it was imported from
        self.file: dict[str, float] = {}
        self.ticks = 0
        with Logbook.create(self.folder) as book:
            book.take_in(TRIAL, TEXT)

    def teardown(self) -> None:
        if hasattr(self, "folder"):
            shutil.rmtree(self.folder)

    def now(self) -> datetime:
        self.ticks += 1
        return NOW + timedelta(seconds=self.ticks)

    @rule(target=lines, minutes=MINUTES, number=st.integers(0, 5))
    def record(self, minutes: int, number: int) -> int:
        told = Told(id=str(UUID(int=1000 + len(self.history))))
        first = record_care(self.folder, "left", f"{minutes} min", told=told, now=self.now())
        for _ in range(number % 3):  # a phone that sends again and again
            assert record_care(self.folder, "left", f"{minutes} min", told=told, now=self.now()).new == 0
        return self._line(first.entries[0].id, float(minutes))

    def _line(self, identity: str, minutes: float) -> int:
        self.history.append([minutes])
        self.ids[len(self.history) - 1] = [identity]
        return len(self.history) - 1

    @rule(line=lines, minutes=MINUTES)
    def correct(self, line: int, minutes: int) -> None:
        if self.history[line][-1] is None:
            return
        done = correct_entry(self.folder, self.ids[line][-1], amount=f"{minutes} min", now=self.now())
        self.history[line].append(float(minutes))
        self.ids[line].append(done.entries[0].id)

    @rule(line=lines)
    def undo(self, line: int) -> None:
        done = undo_entry(self.folder, self.ids[line][-1], now=self.now())
        before = self.history[line][-2] if len(self.history[line]) > 1 else None
        self.history[line].append(before)
        self.ids[line].append(done.entries[0].id)

    @rule(line=lines, minutes=MINUTES)
    def change_what_is_stale(self, line: int, minutes: int) -> None:
        if len(self.ids[line]) < 2:
            return
        with pytest.raises(SupersededError):
            correct_entry(self.folder, self.ids[line][-2], amount=f"{100 + minutes} min", now=self.now())

    @rule(target=lines, day=st.integers(2, 9), minutes=MINUTES)
    def write_a_new_row_and_import(self, day: int, minutes: int) -> int:
        row = f"2026-03-0{day},0{day}:{len(self.history) % 60:02},right,care,,{minutes} min"
        if row in self.file:
            return self._line_of(row)
        self.file[row] = float(minutes)
        self._import()
        found = {entry.id: entry for entry in self.read()[0]}
        (identity,) = [key for key in found if key not in {one for ids in self.ids.values() for one in ids}]
        line = self._line(identity, float(minutes))
        self.from_file[line] = row
        return line

    def _line_of(self, row: str) -> int:
        return next(line for line, its in self.from_file.items() if its == row)

    @rule()
    def import_again(self) -> None:
        self._import()

    def _import(self) -> None:
        entries, faults = self.read()
        assert faults == ()
        with Logbook.open(self.folder) as book:
            book.take_in(TRIAL, TEXT, entries, file="entries.csv")

    def read(self):
        data = "\n".join(("date,time,tank,kind,what,amount", *self.file)).encode()
        return read_entries(data, where="entries.csv", trial=TRIAL, now=NOW)

    @invariant()
    def what_is_in_force_is_what_the_twin_says(self) -> None:
        if not hasattr(self, "folder"):
            return
        with Logbook.open(self.folder) as book:
            whole = book.entries(TRIAL.key)
            part = book.entries_within(TRIAL.key, datetime(2026, 1, 1, tzinfo=UTC), datetime(2027, 1, 1, tzinfo=UTC))
        assert part == whole
        told = sorted(states[-1] for states in self.history if states[-1] is not None)
        assert sorted(entry.payload.minutes for entry in whole) == told
        assert all(isinstance(entry.payload, Care) for entry in whole)


Stream.TestCase.settings = settings(max_examples=12, stateful_step_count=15, deadline=None)
TestStream = Stream.TestCase


@pytest.mark.parametrize(
    "row",
    [
        "dose,macro,2 strokes",
        "missed dose,micro,8 drops",
        "water change,,40 %",
        "top-up,,1.4 L",
        'trim,red-stem,"to 9 cm, 14 g, 6 min"',
        "trim,,",
        'reading,nitrate,"10 mg/L (7.5-15), colour card"',
        "reading,nitrate,10-20 mg/L",
        "reading,nitrate,<5 mg/L",
        "reading,iron,500 µg/L ± 100 µg/L",
        "reading,ph,6.8 ± 0.1",
        "reading,temperature,24.5 °C ± 0.5",
        'reading,ph,"6.5-7, drops"',
        "reading,co2 bubbles,2 per s",
        "score,plants red-stem,3",
        "animals,shrimp,5 added",
        "equipment,lamp,8 h a day",
        "skipped,test nitrate,",
        "care,,12.25 min",
    ],
)
def test_an_entry_written_out_again_is_read_as_itself(row):
    def read(cells: str):
        data = f"date,tank,kind,what,amount\n2026-03-08,left,{cells}".encode()
        (entry,), faults = read_entries(data, where="", trial=TRIAL, now=NOW)
        assert faults == ()
        return entry.payload

    first = read(row)
    cells = cells_of(first)
    again = read(f'{cells.kind},{cells.what},"{cells.amount}"')
    for name in first.__slots__:
        mine, theirs = getattr(first, name), getattr(again, name)
        if name != "shown":  # printed in the logbook's own unit where there is a range
            assert theirs == (pytest.approx(mine) if isinstance(mine, float) else mine)
