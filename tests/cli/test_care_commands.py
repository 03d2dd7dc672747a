"""The commands at the bench, run as a person runs them; today's list loads nothing heavy."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from typer.testing import CliRunner

from littoral.acts import record_entry, record_planned
from littoral.cli.main import app
from littoral.cli.recording import ACTS
from littoral.logbook.book import Logbook
from littoral.trial.written.payloads import KINDS
from littoral.trial.written.reader import read_trial

HEAVY = {"cv2", "scipy", "statsmodels", "av", "PIL", "vl_convert", "typst", "icalendar", "starlette", "pandas"}
SCRIPT = """
import sys
sys.argv = ["littoral", *sys.argv[1:]]
from littoral.cli.main import main
try:
    main()
except SystemExit as stop:
    assert not stop.code, stop.code
print("\\nMODULES", *sorted(sys.modules))
"""
RUNNER = CliRunner()
TODAY = datetime.now(UTC).date()
TEXT = (Path(__file__).parents[1] / "trial" / "whole-trial.toml").read_text(encoding="utf-8").replace(
    "start = 2026-03-02", f"start = {TODAY - timedelta(days=10)}"
).replace('zone = "Europe/Berlin"', 'zone = "UTC"').replace(
    'on = ["Sun", "Wed"]', 'on = "every day"'
) + '[schedule]\ntests = [{ of = ["nitrate"], on = "every day" }]\nphotos = [{ on = "every day", at = "19:00" }]\n'
TRIAL = read_trial(TEXT, where="trial.toml")[0]
assert TRIAL is not None
DOSE = f"{TODAY}/left/dose macro"


@pytest.fixture
def folder(tmp_path: Path) -> str:
    with Logbook.create(tmp_path / "book") as book:
        book.take_in(TRIAL, TEXT)
    return str(tmp_path / "book")


def run(*words: str, code: int = 0) -> str:
    done = RUNNER.invoke(app, words)
    assert done.exit_code == code, done.output
    return done.output


def ids(output: str) -> list[str]:
    return re.findall(r"\[([0-9a-f-]{36})\]", output)


def test_the_days_work_at_the_command_line(folder):
    if datetime.now(UTC).date() != TODAY:
        pytest.skip("midnight passed since the tests began")
    listed = run("today", folder)
    assert f"{TODAY:%A} {TODAY}, day 10 of 56" in listed
    assert f'[ ]        1 stroke macro stock   "{DOSE}"\n' in listed
    assert "open from earlier days" in listed
    (first,) = ids(run("record", "planned", folder, DOSE, "--who", "A"))
    assert f"[x]        1 stroke macro stock   [{first}]" in run("today", folder)
    assert "is recorded as done already" in run("record", "planned", folder, DOSE, code=1)
    run("undo", folder, first)
    assert f'[ ]        1 stroke macro stock   "{DOSE}"\n' in run("today", folder)
    run("record", "doubled", folder, DOSE)
    assert "dosed 2.2 mL (2 strokes) macro stock" in run("today", folder)
    run("record", "done", folder, f"{TODAY}/left/test nitrate", "10 mg/L, card")
    run("record", "skip", folder)
    assert "open from earlier days" not in run("today", folder)
    assert run("record", "skip", folder) == "nothing is open\n"
    (care,) = ids(run("record", "care", folder, "left", "120 min"))
    corrected = run("correct", folder, care, "--amount", "12 min")
    assert corrected.startswith("left tank: 12 min of care")
    plain = json.loads(run("today", folder, "--json"))
    assert plain["trials"][0]["tanks"][0]["care_minutes"] == 12
    assert json.loads(run("record", "note", folder, "left", "leaves float", "--json"))["words"] == [
        "left tank: leaves float"
    ]


def test_mistakes_are_told_together_and_nothing_is_written(folder):
    told = run("record", "dose", folder, "lft", "makro", "5 furlongs", code=1)
    assert 'tank: is "lft".' in told
    assert 'what: is "makro".' in told
    assert "amount: is" in told
    assert "3 mistakes; nothing was changed." in told
    assert "day is" not in run("today", folder)


def test_every_kind_that_a_row_can_be_can_be_recorded_here_too(folder):
    words = {
        "dose": ["left", "macro", "2 strokes"],
        "change": ["left", "40 %"],
        "top-up": ["left", "1.4 L"],
        "trim": ["left", "red-stem", "to 9 cm"],
        "reading": ["left", "ph", "6.8"],
        "score": ["left", "plants red-stem", "3"],
        "animals": ["left", "shrimp", "5 added"],
        "plants": ["left", "fern", "1 died"],
        "equipment": ["left", "lamp", "8 h a day"],
        "note": ["left", "leaves float"],
        "care": ["left", "12 min"],
    }
    for name, given in words.items():
        assert len(ids(run("record", name, folder, *given, "--who", "A", "--note", "by hand"))) == 1
    with Logbook.open(Path(folder)) as book:
        assert len(book.entries(TRIAL.key)) == len(words)
    not_here = {"missed dose", "skipped", "water change"}  # said of what was planned; and under a shorter name
    assert set(words) | not_here == set(KINDS) | {"change"}


def test_every_act_has_its_command():
    acts = {name for module in (record_entry, record_planned) for name in vars(module) if name.startswith("record_")}
    told = {act.act.partition(".")[2] for act in ACTS}
    assert acts - {"record_entry", "record_planned"} <= told
    assert {"record_planned", "skip_overdue"} <= told


def test_the_page_on_care_lists_every_command_with_its_words():
    page = (Path(__file__).parents[2] / "docs" / "reference" / "care.md").read_text(encoding="utf-8")
    listed = re.findall(r"^\| `littoral record (.+?)` \|", page, re.MULTILINE)
    told = []
    for act in ACTS:
        words = [f"[{word.name.upper()}]" if word.optional else word.name.upper() for word in act.words]
        told.append(" ".join([act.name, "LOGBOOK", *words]))
    assert listed == told


def test_the_calendar_and_the_audit(folder, tmp_path):
    out = tmp_path / "plan.ics"
    assert run("calendar", folder, "--tank", "left", "--out", str(out)) == f"wrote {out}\n"
    assert out.read_bytes().startswith(b"BEGIN:VCALENDAR\r\n")
    printed = subprocess.run(
        [sys.executable, "-m", "littoral", "calendar", folder], capture_output=True, check=True
    ).stdout
    assert printed.startswith(b"BEGIN:VCALENDAR\r\n")
    assert printed.endswith(b"END:VCALENDAR\r\n")
    assert 'tank: is "kitchen".' in run("calendar", folder, "--tank", "kitchen", code=1)
    audited = run("audit", folder)
    assert "net volume" in audited
    assert "not known" in audited
    plain = json.loads(run("audit", folder, "--json"))
    assert plain["items"][0]["row"]["verdict"] == "holds"


@pytest.mark.parametrize("words", [["today"], ["record", "care", "left", "1 min"], ["undo"]])
def test_nothing_heavy_is_loaded_at_the_bench(folder, words):
    command = [*words[:-2], folder, *words[-2:]] if len(words) > 2 else [words[0], folder]
    if words == ["undo"]:
        command.append(ids(run("record", "care", folder, "left", "1 min"))[0])
    done = subprocess.run([sys.executable, "-c", SCRIPT, *command], capture_output=True, text=True, check=True)
    modules = set(done.stdout.rsplit("MODULES", 1)[1].split())
    assert "littoral.acts.told" in modules or words == ["today"]
    assert modules & HEAVY == set()


def test_another_day_is_named_by_its_date(folder):
    assert "begins in 3 days" in run("today", folder, "--day", str(TODAY - timedelta(days=13)))
    assert "ended" in run("today", folder, "--day", str(date(2199, 1, 1)))
    assert "not a date" in run("today", folder, "--day", "soon", code=1)


def test_a_bench_card_is_written_and_a_wrong_date_is_named(folder, tmp_path):
    out = tmp_path / "card.pdf"
    said = run("bench-card", folder, "--out", str(out), "--tank", "left", "--paper", "letter")
    assert "no codes to scan" in said
    assert out.read_bytes().startswith(b"%PDF")
    assert "--first" in run("bench-card", folder, "--out", str(out), "--first", "soon", code=1)
