from __future__ import annotations

import re
from datetime import UTC, datetime
from pathlib import Path

import pytest

from littoral.trial.entries import GaugeReading
from littoral.trial.gauges import GAUGES
from littoral.trial.measures import MEASURES
from littoral.trial.scales import scales
from littoral.trial.written.entries_csv import COLUMNS, read_entries
from littoral.trial.written.payloads import KINDS
from littoral.trial.written.reader import SECTIONS, read_trial

REFERENCE = Path(__file__).parents[2] / "docs" / "reference"
TRIAL_PAGE = (REFERENCE / "trial-file.md").read_text(encoding="utf-8")
ENTRIES_PAGE = (REFERENCE / "entries-file.md").read_text(encoding="utf-8")
WHOLE = (Path(__file__).parent / "whole-trial.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize("section", SECTIONS)
def test_the_page_on_the_trial_file_holds_the_table_of_every_section(section):
    rows = [
        f"| `{name}`{' (needed)' if key.required else ''} | `{key.example}` | {key.meaning} |"
        for name, key in SECTIONS[section].items()
    ]
    assert "\n".join(("| key | example | meaning |", "|---|---|---|", *rows, "")) in TRIAL_PAGE


def test_the_page_on_the_trial_file_holds_no_other_keys_and_every_measure():
    listed = re.findall(r"^\| `([a-z0-9_]+)`(?: \(needed\))? \| `", TRIAL_PAGE, re.MULTILINE)
    assert sorted(listed) == sorted(name for keys in SECTIONS.values() for name in keys)
    for measure in MEASURES.values():
        assert f"| `{measure.key}` | {measure.unit} | {measure.taken_from} | {measure.meaning} |" in TRIAL_PAGE


def test_the_page_on_entries_lists_the_columns_and_kinds_that_are_read():
    columns, kinds = re.split(r"^## Kinds$", ENTRIES_PAGE, maxsplit=1, flags=re.MULTILINE)
    assert tuple(re.findall(r"^\| `([a-z-]+)` \|", columns, re.MULTILINE)) == COLUMNS
    assert tuple(re.findall(r"^\| `([a-z -]+)` \|", kinds.split("\n## ")[0], re.MULTILINE)) == tuple(KINDS)


def test_every_amount_on_the_page_on_entries_is_read():
    trial, _ = read_trial(WHOLE, where="trial.toml")
    assert trial is not None
    now = datetime(2026, 11, 1, tzinfo=UTC)
    kinds = dict(re.findall(r"^\| `([a-z -]+)` \|[^|]*\| (.*) \|$", ENTRIES_PAGE, re.MULTILINE))
    what = {"dose": "macro", "missed dose": "macro", "trim": "red-stem", "reading": "nitrate"}
    pairs = [(kind, amount) for kind in ("water change", "top-up", "trim", "care") for amount in amounts(kinds[kind])]
    pairs += [("dose", "5 mL"), ("dose", "2 strokes")]
    watched = {"animals": "shrimp", "plants": "fern", "equipment": "lamp"}
    what |= watched
    pairs += [(kind, amount) for kind in watched for amount in amounts(kinds[kind])]
    readings = ENTRIES_PAGE.split("| written | means |")[1].split("\n\n")[0]
    pairs += [("reading", amount) for line in readings.split("\n") for amount in amounts(line.split(" | ")[0])]
    assert len(pairs) == 21
    for kind, amount in pairs:
        row = "\t".join(("2026-03-08", "left", kind, what.get(kind, ""), amount))
        data = f"date\ttank\tkind\twhat\tamount\n{row}\n".encode()
        entries, faults = read_entries(data, where="entries.csv", trial=trial, now=now)
        assert faults == (), amount
        assert len(entries) == 1


def test_the_page_on_entries_lists_every_gauge_and_the_words_of_every_step():
    trial, _ = read_trial(WHOLE, where="trial.toml")
    assert trial is not None
    now = datetime(2026, 11, 1, tzinfo=UTC)
    for gauge in GAUGES.values():
        assert f"| `{gauge.key}` | `{gauge.example}` | {gauge.unit or 'no unit'} |" in ENTRIES_PAGE
        data = f"date\ttank\tkind\twhat\tamount\n2026-03-08\tleft\treading\t{gauge.key}\t{gauge.example}\n".encode()
        (entry,), faults = read_entries(data, where="entries.csv", trial=trial, now=now)
        assert faults == ()
        assert isinstance(entry.payload, GaugeReading)
    for scale in scales().values():
        rows = "\n".join(f"| {step} | {words} |" for step, words in enumerate(scale.steps))
        assert (
            f"`{scale.key}`, {scale.of}; {scale.better} is better:\n\n| step | what is seen |\n|---|---|\n{rows}\n"
            in (ENTRIES_PAGE)
        )


def amounts(text: str) -> list[str]:
    """Return the amounts in a cell of the page: what stands between backticks and is no column."""
    return [found for found in re.findall(r"`([^`]+)`", text) if found not in COLUMNS]
