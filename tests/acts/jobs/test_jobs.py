"""Jobs: what was asked for and what came of it is on disk, and can be told whatever ended the work."""

from __future__ import annotations

import dataclasses
import os
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from littoral.acts.jobs import kinds, store, worker
from littoral.acts.jobs.held import held, is_held
from littoral.acts.jobs.kinds import KINDS, NoKindError, NoOptionError
from littoral.acts.jobs.runner import JobRunner
from littoral.acts.jobs.store import Job, JobStore, NoJobError, State, StillWorkingError
from littoral.errors import LittoralError
from littoral.logbook.book import Logbook
from littoral.progress import Progress
from littoral.publish.film.options import FilmOptionError

NOW = datetime(2026, 3, 30, 12, 0, 0, tzinfo=UTC)

SLOW = """
import sys, time
from dataclasses import replace
from pathlib import Path
from littoral.acts.jobs import kinds, worker

def run(book, trial, out, options, progress):
    for step in range(6000):
        progress(step, 6000, "waiting for a word")
        if (book / "go").exists():
            (out / "film.mp4").write_bytes(b"a film")
            return [out / "film.mp4"]
        time.sleep(0.01)
    raise SystemExit(9)

kinds.KINDS["film"] = replace(kinds.KINDS["film"], run=run)
sys.exit(worker.main())
"""
"""A worker whose film takes until a file `go` lies in the logbook."""


def _until(job: Callable[[], Job], state: State) -> Job:
    """Look at a job until it is in a state; fails after half a minute."""
    end = time.monotonic() + 30
    while (now := job()).state != state:
        assert time.monotonic() < end, f"it is {now.state}, not {state}: {now.error}"
        threading.Event().wait(0.02)
    return now


@pytest.fixture
def kept(tmp_path: Path) -> JobStore:
    return JobStore(tmp_path)


def _instead(monkeypatch: pytest.MonkeyPatch, run: Callable[..., Any]) -> None:
    monkeypatch.setitem(kinds.KINDS, "film", dataclasses.replace(KINDS["film"], run=run))  # type: ignore[arg-type]


def test_what_was_asked_for_is_kept_whole(kept: JobStore) -> None:
    name = kept.ask("film", "mine", {"format": "square"}, now=NOW)
    job = kept.job(name, waiting=[name])
    assert (job.kind, job.trial, job.state, job.asked_at) == ("film", "mine", "waiting", NOW)
    assert job.options["format"] == "square"
    assert job.options["gaps"] == "held"
    assert kept.jobs("mine") == (dataclasses.replace(job, state="interrupted"),)
    assert kept.jobs("another") == ()
    assert job.as_json()["asked_at"] == "2026-03-30T12:00:00+00:00"


def test_wrong_requests_are_refused_and_leave_nothing(kept: JobStore, tmp_path: Path) -> None:
    with pytest.raises(NoKindError, match=r"no job 'opera'; there are film, still, sheet"):
        kept.ask("opera", "mine", {}, now=NOW)
    with pytest.raises(FilmOptionError):
        kept.ask("film", "mine", {"format": "round"}, now=NOW)
    with pytest.raises(NoOptionError, match="leave colour out"):
        kept.ask("sheet", "mine", {"colour": "red"}, now=NOW)
    assert list(tmp_path.iterdir()) == []


def test_a_job_done_has_its_files(kept: JobStore, monkeypatch: pytest.MonkeyPatch) -> None:
    told: list[tuple[int, str]] = []

    def run(book: Path, trial: str, out: Path, options: Mapping[str, Any], progress: Progress) -> list[Path]:
        assert (book, trial, options["codec"]) == (kept.book, "mine", "h264")
        progress(1, 2, "film")
        now = kept.job(name)
        told.append((now.done, now.state))
        (out / "film.mp4").write_bytes(b"12345")
        (out / "other").write_bytes(b"not told of")
        return [out / "film.mp4"]

    _instead(monkeypatch, run)
    name = kept.ask("film", "mine", {}, now=NOW)
    assert worker.work(kept.book, name) == 0
    job = kept.job(name)
    assert told == [(1, "working")]
    assert job.state == "done"
    assert [(file.name, file.size_bytes) for file in job.files] == [("film.mp4", 5)]
    assert kept.file(name, "film.mp4") == kept.folder(name) / "out" / "film.mp4"
    assert kept.file(name, "other") is None
    assert kept.file(name, "../job.json") is None
    assert worker.work(kept.book, name) == 0  # again, over what is there


def test_a_refusal_says_why_and_a_crash_keeps_its_trace(
    kept: JobStore, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def refuse(*_: object) -> list[Path]:
        raise LittoralError("No photo; take one.")

    def crash(*_: object) -> list[Path]:
        raise ZeroDivisionError("by nought")

    name = kept.ask("film", "mine", {}, now=NOW)
    _instead(monkeypatch, refuse)
    assert worker.work(kept.book, name) == 1
    assert (kept.job(name).state, kept.job(name).error) == ("failed", "No photo; take one.")
    kept.renew(name)
    _instead(monkeypatch, crash)
    assert worker.work(kept.book, name) == 1
    assert kept.job(name).state == "failed"
    assert "what was recorded is safe" in kept.job(name).error
    assert "by nought" not in kept.job(name).error
    assert "ZeroDivisionError: by nought" in capsys.readouterr().err


def test_a_job_called_off_stops_at_its_next_step(kept: JobStore, monkeypatch: pytest.MonkeyPatch) -> None:
    def run(_book: Path, _trial: str, _out: Path, _options: Mapping[str, Any], progress: Progress) -> list[Path]:
        progress(1, 3, "film")
        kept.call_off(name)
        progress(2, 3, "film")
        raise AssertionError("it went on")

    _instead(monkeypatch, run)
    name = kept.ask("film", "mine", {}, now=NOW)
    assert worker.work(kept.book, name) == 1
    assert kept.job(name).state == "cancelled"
    kept.renew(name)
    assert kept.job(name).state == "interrupted"


def test_two_workers_never_work_on_one_job(kept: JobStore) -> None:
    name = kept.ask("film", "mine", {}, now=NOW)
    with held(kept.folder(name) / "lock") as free:
        assert free
        assert kept.job(name).state == "working"
        assert worker.work(kept.book, name) == worker.BUSY
        with pytest.raises(StillWorkingError):
            kept.renew(name)
        with pytest.raises(StillWorkingError):
            kept.remove(name)
    assert not is_held(kept.folder(name) / "lock")
    kept.remove(name)
    with pytest.raises(NoJobError):
        kept.job(name)


@pytest.mark.parametrize("name", ["", "..", "../../x", "20260330T120000-0123456g", "20260330T120000-01234567"])
def test_names_that_are_none_are_refused(kept: JobStore, name: str) -> None:
    with pytest.raises(NoJobError):
        kept.job(name)


@pytest.mark.parametrize("text", ["", "{", "[]", '{"kind": "film"}', '{"asked_at": 3}'])
def test_a_damaged_job_is_none(kept: JobStore, text: str) -> None:
    name = kept.ask("film", "mine", {}, now=NOW)
    (kept.folder(name) / "job.json").write_text(text)
    assert kept.jobs() == ()
    with pytest.raises(NoJobError):
        kept.job(name)


def test_old_jobs_make_room(kept: JobStore, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(store, "MOST_KEPT", 3)
    names = [kept.ask("sheet", "mine", {}, now=NOW + timedelta(seconds=second)) for second in range(5)]
    assert [job.name for job in kept.jobs("mine")] == names[:1:-1]


@pytest.fixture
def slow(tmp_path: Path) -> tuple[str, ...]:
    script = tmp_path / "slow.py"
    script.write_text(SLOW)
    return sys.executable, str(script)


def test_a_killed_worker_leaves_an_interrupted_job_that_can_be_done(
    kept: JobStore, slow: tuple[str, ...], tmp_path: Path
) -> None:
    name = kept.ask("film", "mine", {}, now=NOW)
    with subprocess.Popen([*slow, str(tmp_path), name]) as process:
        _until(lambda: kept.job(name), "working")
        os.kill(process.pid, signal.SIGKILL)
        process.wait()
    assert kept.job(name).state == "interrupted"
    (tmp_path / "go").touch()
    runner = JobRunner(tmp_path, worker=slow)
    runner.again(name)
    assert [file.name for file in _until(lambda: runner.job(name), "done").files] == ["film.mp4"]
    runner.close()


def test_jobs_wait_for_their_turn_and_survive_a_restart(slow: tuple[str, ...], tmp_path: Path) -> None:
    runner = JobRunner(tmp_path, worker=slow)
    names = [runner.ask("film", "mine", {}, now=NOW + timedelta(seconds=second)) for second in range(3)]
    _until(lambda: runner.job(names[0]), "working")
    assert [job.state for job in runner.jobs("mine")] == ["waiting", "waiting", "working"]
    with pytest.raises(StillWorkingError):
        runner.again(names[0])
    runner.cancel(names[2])
    runner.cancel(names[0])
    _until(lambda: runner.job(names[0]), "cancelled")
    _until(lambda: runner.job(names[1]), "working")
    assert runner.job(names[2]).state == "cancelled"
    runner.close()
    after = JobRunner(tmp_path, worker=slow)
    assert [job.state for job in after.jobs("mine")] == ["cancelled", "interrupted", "cancelled"]
    (tmp_path / "go").touch()
    after.again(names[1])
    _until(lambda: after.job(names[1]), "done")
    after.remove(names[1])
    assert [job.name for job in after.jobs("mine")] == [names[2], names[0]]
    after.close()


def test_the_real_worker_says_why_there_is_no_film(levels_logbook: Path, tmp_path: Path) -> None:
    """A trial without photos, worked on by the process that the page starts."""
    book = tmp_path / "logbook"
    shutil.copytree(levels_logbook, book)
    with Logbook.open(book) as opened:
        (key,) = opened.trials()
    runner = JobRunner(book)
    name = runner.ask("film", key, {}, now=NOW)
    assert _until(lambda: runner.job(name), "failed").error.startswith("No tank of this trial has a photo yet")
    runner.close()
