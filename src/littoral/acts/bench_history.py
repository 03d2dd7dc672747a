"""The history of a bench: every trial of a logbook answered, and the text of the next one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from littoral.acts.check_trial import ENTRIES_FILE
from littoral.acts.choosing import WhichTrialError
from littoral.errors import Fault, FaultsError, LittoralError, extras_needed
from littoral.findings.answers import answer
from littoral.findings.history import History, history_of, last_day
from littoral.findings.measuring import measure_photos
from littoral.findings.spread_seen import spreads_seen
from littoral.findings.tank_effects import Result
from littoral.logbook.book import Logbook
from littoral.logbook.whole_files import write_whole
from littoral.progress import Progress
from littoral.trial.model import Trial
from littoral.trial.written.moments import read_date
from littoral.trial.written.reader import read_trial
from littoral.trial.written.report import WrongValueError
from littoral.trial.written.starting import starting_entries
from littoral.trial.written.swapped import swapped_text


class FileThereError(LittoralError):
    """A file that was to be written is there already."""

    def __init__(self, file: Path) -> None:
        self.file = file
        super().__init__(f"{file} is there already; nothing was changed. Name another file with --out.")


@dataclass(frozen=True, slots=True)
class NextTrial:
    """The text of the next trial, and what it was made from."""

    of: str
    key: str
    title: str
    start: date
    text: str


@extras_needed()
def bench_history(folder: Path, *, progress: Progress | None = None) -> History:
    """Answer every trial of the logbook at `folder` and set them side by side; photos not measured are measured."""
    with Logbook.open(folder) as book:
        return history_of(answered_trials(book, progress=progress))


def answered_trials(book: Logbook, *, progress: Progress | None = None) -> list[Result]:
    """Return every trial of a logbook with its findings, the oldest first; photos not measured are measured."""
    results: list[Result] = []
    for trial in sorted((book.trial(key) for key in book.trials()), key=lambda one: (one.start, one.key)):
        measured = measure_photos(book, trial, progress=progress)
        seen = spreads_seen([one for one in results if last_day(one[0]) < trial.start])
        results.append((trial, answer(book, trial, measured=measured, seen=seen)))
    return results


def history_json(history: History) -> dict[str, Any]:
    """Return the history as plain data."""
    return {
        "trials": [
            {
                "key": one.key,
                "title": one.title,
                "start": one.start.isoformat(),
                "end": one.end.isoformat(),
                "arms": one.arms,
                "factor": one.factor,
                "rendered": one.rendered,
                "findings": {
                    measure: {"difference": cell[0], "wording": cell[1]}
                    for measure, cell in zip(history.measures, one.cells, strict=True)
                    if cell is not None
                },
            }
            for one in history.trials
        ],
        "tanks": [
            {
                "measure": one.measure,
                "tanks": list(one.tanks),
                "scale": one.scale,
                "effect": None
                if one.effect is None
                else {"value": one.effect.value, "low": one.effect.low, "high": one.effect.high},
                "one_way_round": list(one.straight),
                "the_other": list(one.swapped),
                "wording": one.wording,
            }
            for one in history.tanks
        ],
        "baselines": [
            {
                "measure": one.measure,
                "tanks": list(one.tanks),
                "effect": {"value": one.effect.value, "low": one.effect.low, "high": one.effect.high},
                "trials": list(one.trials),
                "wording": one.wording,
            }
            for one in history.baselines
        ],
        "spreads": list(history.spreads),
        "next": {"swap": history.next_key or None, "proposal": history.proposal},
    }


def next_trial(folder: Path, key: str | None = None, *, start: str = "", today: date) -> NextTrial:
    """Return the sequel of a trial (the one that started last, unless named) with its arms swapped; nothing is written.

    It starts the day after the trial ends, or `today` where that has passed, unless `start` is given as a person writes
    a date. Raises NotSwappedError, NoTrialError, WhichTrialError where there is none, FaultsError for a wrong date.
    """
    with Logbook.open(folder) as book:
        known = book.trials()
        if not known:
            raise WhichTrialError(known)
        trial = book.trial(key) if key is not None else _latest([book.trial(one) for one in known])
        return sequel(book.trial_text(trial.key), taken=known, start=_date(start), today=today)


def sequel(text: str, *, taken: Sequence[str], start: date | None = None, today: date) -> NextTrial:
    """Return the sequel of a trial's text, as `next_trial`; `taken` are the keys of the logbook. NotSwappedError."""
    trial = _read(text)
    after = max(last_day(trial) + timedelta(days=1), today)
    written = swapped_text(text, trial, start=start or after, taken=taken)
    made = _read(written)
    return NextTrial(trial.key, made.key, made.title, made.start, written)


def write_next(made: NextTrial, out: Path) -> tuple[Path, ...]:
    """Write the text of a next trial to a new file and return what was made; FileThereError, UnwrittenFileError.

    In a folder that holds nothing else yet, an entries file and the views' folders for photos are made, too; beside the
    files of another trial they would be mixed up with its own.
    """
    if out.exists():
        raise FileThereError(out)
    alone = not out.parent.exists() or not any(out.parent.iterdir())
    write_whole(out, made.text.encode())
    if not alone:
        return (out,)
    entries = out.parent / ENTRIES_FILE
    write_whole(entries, starting_entries().encode())
    folders = [out.parent / view.photos for view in _read(made.text).views.values()]
    for folder in folders:
        folder.mkdir(parents=True, exist_ok=True)
    return (out, entries, *folders)


def _latest(trials: list[Trial]) -> Trial:
    return max(trials, key=lambda one: (one.start, one.key))


def _date(text: str) -> date | None:
    if not text.strip():
        return None
    try:
        return read_date(text.strip())
    except WrongValueError as error:
        raise FaultsError([Fault(error.what, error.right, "start")]) from None


def _read(text: str) -> Trial:
    trial, faults = read_trial(text, where="the trial")
    if trial is None:
        raise FaultsError(faults)
    return trial
