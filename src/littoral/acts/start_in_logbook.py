"""Start a trial right in a logbook: write its files beside the logbook and take them in."""

from __future__ import annotations

from pathlib import Path

from littoral.acts.import_trial import import_trial
from littoral.acts.start_trial import TRIAL_FILE, start_trial
from littoral.errors import Fault, FaultsError
from littoral.logbook.book import Logbook
from littoral.trial.written.reader import read_trial
from littoral.trial.written.starting import starting_text


def start_in_logbook(folder: Path, *, title: str, glass: str, start: str, length: str, baseline: str) -> str:
    """Start a trial in the logbook at `folder` and return its key; its files lie in a folder of that name beside it.

    All are what a person writes: `glass` "60 x 30 x 30 cm", `start` the first day as "2026-03-02", `length` "8 weeks",
    `baseline` "2 weeks". FaultsError names each that is wrong, or a title that is taken; then nothing is changed.
    """
    fields = {"title": title, "glass": glass, "start": start, "length": length, "baseline": baseline}
    empty = tuple(Fault("is empty.", "Write something there.", name) for name, value in fields.items() if not value)
    if empty:
        raise FaultsError(empty)
    trial, faults = read_trial(
        starting_text(title=title, glass=glass, start=start, length=length, baseline=baseline), where=TRIAL_FILE
    )
    if trial is None or faults:
        raise FaultsError(faults)
    with Logbook.open(folder) as book:
        taken = trial.key in book.trials()
    if taken or (folder.parent / trial.key).exists():
        raise FaultsError([Fault(f"{title!r} is taken already.", "Give this trial another title.", "title")])
    started = start_trial(
        folder.parent / trial.key, title=title, glass=glass, start=start, length=length, baseline=baseline
    )
    import_trial(folder, started.trial_file)
    return trial.key
