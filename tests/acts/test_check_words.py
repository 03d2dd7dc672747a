"""What `check` says of a file in another encoding, and of a trial of one thing each."""

from __future__ import annotations

from pathlib import Path

import pytest

from littoral.acts.check_trial import check_trial
from littoral.acts.start_trial import start_trial


@pytest.fixture
def trial_file(tmp_path: Path) -> Path:
    return start_trial(tmp_path / "trial", title="Größe und Farbe", start="2026-03-02").trial_file


@pytest.mark.parametrize(
    ("encoding", "said"),
    [
        ("utf-16", "trial.toml: is not UTF-8 text; it may be UTF-16. Save the trial file with encoding UTF-8."),
        ("utf-16-le", "trial.toml: is not UTF-8 text; it may be UTF-16. Save the trial file with encoding UTF-8."),
        ("cp1252", "trial.toml, line 7: is not UTF-8 text. Save the trial file with encoding UTF-8."),
    ],
)
def test_a_whole_trial_file_in_another_encoding_is_one_fault(trial_file: Path, encoding: str, said: str) -> None:
    trial_file.write_bytes(trial_file.read_text(encoding="utf-8").encode(encoding, errors="replace"))
    assert [str(fault) for fault in check_trial(trial_file).faults] == [said]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
def test_utf_8_is_read_with_and_without_its_mark(trial_file: Path, encoding: str) -> None:
    trial_file.write_bytes(trial_file.read_text(encoding="utf-8").encode(encoding))
    assert check_trial(trial_file).faults == ()


def test_the_summary_counts_one_thing_as_one(trial_file: Path) -> None:
    text = trial_file.read_text(encoding="utf-8")
    second = text.index("[[questions]]", text.index("[[questions]]") + 1)
    trial_file.write_text(text[:second], encoding="utf-8")
    entries = trial_file.with_name("entries.csv")
    entries.write_text(entries.read_text() + "2026-03-05,,left,care,,12 min,,\n")
    said = "trial.toml: no mistakes. 2 tanks, 1 question, 1 entry, 0 photos in 2 views."
    assert check_trial(trial_file).summary() == said
