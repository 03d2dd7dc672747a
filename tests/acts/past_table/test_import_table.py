"""A table of past records: proposed, shown with its problems, written only when asked, and only once."""

from __future__ import annotations

import io
from datetime import UTC, datetime, timedelta
from pathlib import Path

import openpyxl
import pytest

from littoral.acts.change_entry import undo_entry
from littoral.acts.export_logbook import export_logbook
from littoral.acts.import_table import MOST_ENTRIES, Choices, import_table, look_at_table
from littoral.acts.past_table.grid import UnreadableTableError
from littoral.errors import FaultsError
from littoral.logbook.book import Logbook
from littoral.logbook.refused import DATABASE
from littoral.trial.entries import Care, Dose, GaugeReading, Note, Reading, TopUp, WaterChange

WIDE = """My log

Date;Tank;Temp (°C);NO3 mg/l;pH;Notes
03.03.2026 18:30;left;24,5;10;6,8;all fine
04.03.2026;Left Tank;24,9;5;;
05.03.2026;right;;<5;;
06.03.2026;left;;;;only a note
07.03.2026;left;;;;
"""


def entries(folder: Path) -> tuple[object, ...]:
    with Logbook.open(folder) as book:
        return book.entries("sparing-or-full")


def fingerprint(folder: Path) -> bytes:
    return (folder / DATABASE).read_bytes()


def meanings(looked: object) -> dict[str, tuple[str, str]]:
    return {one.header: (one.meaning, one.unit) for one in looked.columns}


def test_columns_are_proposed_from_their_names(folder, now):
    looked = look_at_table(folder, WIDE.encode(), now=now)
    assert meanings(looked) == {
        "Date": ("date", ""), "Tank": ("tank", ""), "Temp (°C)": ("reading temperature", "°C"),
        "NO3 mg/l": ("reading nitrate", "mg/l"), "pH": ("reading ph", ""), "Notes": ("note", ""),
    }  # fmt: skip
    assert looked.grid.lines[looked.header] == 3
    assert looked.faults == ()
    assert looked.new == 7


@pytest.mark.parametrize(("header", "meaning", "unit"), [
    ("Temperature [F]", "reading temperature", "°F"), ("water temp", "reading temperature", "°C"),
    ("KH", "reading kh", "dKH"), ("EC (µS/cm)", "reading conductivity", "µS/cm"),
    ("PO4 (mg/L)", "reading phosphate", "mg/L"), ("PO₄", "reading phosphate", "mg/L"),
    ("Macro stock", "dose macro", "mL"), ("macro (mL)", "dose macro", "mL"),
    ("Water change in %", "water change", "%"), ("photoperiod", "reading light", "h"),
    ("NO3-N (mg/L)", "", ""), ("PO4 as P", "", ""), ("mood", "", ""), ("", "", ""), ("iron ppm", "reading iron", "ppm"),
])  # fmt: skip
def test_names_that_keepers_and_sensors_write(folder, now, header, meaning, unit):
    looked = look_at_table(folder, f"date;{header};x\n2026-03-03;1;2\n".encode(), now=now)
    assert (looked.columns[1].meaning, looked.columns[1].unit) == (meaning, unit)


def test_a_nutrient_counted_as_its_element_is_pointed_out_and_left_out(folder, now):
    looked = look_at_table(folder, b"date;tank;NO3-N\n2026-03-03;left;2\n", now=now)
    assert "counted as nitrogen alone" in looked.columns[2].unsure


def test_a_unit_that_no_header_names_is_pointed_out(folder, now):
    looked = look_at_table(folder, b"date;tank;temp;pH\n2026-03-03;left;24;7\n", now=now)
    assert "names no unit" in looked.columns[2].unsure
    assert looked.columns[3].unsure == ""


def test_looking_writes_nothing(folder, now):
    before = fingerprint(folder)
    look_at_table(folder, WIDE.encode(), now=now)
    assert fingerprint(folder) == before


def test_what_was_shown_is_written_once(folder, now):
    looked = look_at_table(folder, WIDE.encode(), now=now)
    done = import_table(folder, WIDE.encode(), now=now)
    assert (done.entries, done.new) == (7, 7)
    there = entries(folder)
    assert {one.id for one in there} == {one.id for one in looked.entries}
    before = fingerprint(folder)
    again = import_table(folder, WIDE.encode(), now=now + timedelta(days=1))
    assert (again.entries, again.new) == (7, 0)
    assert fingerprint(folder) == before
    payloads = [(one.tank, one.payload) for one in there]
    assert ("left", GaugeReading("temperature", 24.5, 24.5, "", "24,5 °C")) in payloads
    assert ("left", Reading("nitrate", 10, 10, "", "10 mg/l")) in payloads
    assert ("right", Reading("nitrate", 0, 5, "", "<5 mg/l")) in payloads
    assert ("left", Note("only a note")) in payloads
    assert [one.note for one in there if one.at == datetime(2026, 3, 3, 17, 30, tzinfo=UTC)].count("all fine") == 1


def test_the_same_table_as_a_workbook_changes_nothing_more(folder, now):
    import_table(folder, b"date;tank;temp (C)\n2026-03-03 18:30;left;24.5\n", now=now)
    book = openpyxl.Workbook()
    book.active.append(["date", "tank", "temp (C)"])
    book.active.append([datetime(2026, 3, 3, 18, 30), "left", 24.5])
    out = io.BytesIO()
    book.save(out)
    assert import_table(folder, out.getvalue(), now=now).new == 0


def test_what_was_undone_does_not_come_back(folder, now):
    import_table(folder, WIDE.encode(), now=now)
    gone = entries(folder)[0]
    undo_entry(folder, gone.id, reason="wrong", now=now)
    assert import_table(folder, WIDE.encode(), now=now).new == 0
    assert gone.id not in {one.id for one in entries(folder)}


def test_a_long_table_with_kinds_takes_all_of_them(folder, now):
    table = (
        "date,time,tank,kind,what,amount,note,who\n2026-03-03,18:00,left,Dose,macro,2 strokes,,Mira\n"
        "2026-03-04,18:00,left,water change,,40 %,,\n2026-03-04,19:00,left,top-up,,1.4 L,,\n"
        "2026-03-05,,left,care,,12 min,,\n"
    )
    assert import_table(folder, table.encode(), now=now).new == 4
    kinds = [type(one.payload) for one in entries(folder)]
    assert kinds == [Dose, WaterChange, TopUp, Care]
    assert entries(folder)[0].who == "Mira"


def test_doses_and_changes_in_columns_of_their_own(folder, now):
    table = b"date;tank;macro (mL);water change\n2026-03-03;left;2,2;\n2026-03-04;left;;40\n"
    import_table(folder, table, now=now)
    assert [one.payload for one in entries(folder)] == [Dose("macro", ml=2.2), WaterChange(0.4)]


def test_every_problem_has_the_address_of_its_cell_and_nothing_is_written(folder, now):
    table = (
        b"date;tank;temp (C);NO3 (mg/L)\n2026-03-03;left;abc;5\n2026-02-30;left;24;5\n2026-03-05;middle;24;1.500\n"
        b"2026-03-06;left;24;1.500\n2026-01-01;left;24;5\n"
    )
    before = fingerprint(folder)
    with pytest.raises(FaultsError) as caught:
        import_table(folder, table, now=now)
    assert [fault.where for fault in caught.value.faults] == ["C2", "A3", "B4", "D5", "A6"]
    assert all(fault.right for fault in caught.value.faults)
    assert fingerprint(folder) == before
    done = import_table(folder, table, now=now, leave_out=True)
    assert (done.new, done.left_out) == (2, 5)


def test_the_address_counts_the_lines_of_the_file_also_behind_notes_of_several_lines(folder, now):
    table = b'date;tank;temp (C);note\n2026-03-03;left;24;"two\nlines"\n\n2026-03-04;left;bad;\n'
    assert [fault.where for fault in look_at_table(folder, table, now=now).faults] == ["C5"]


def test_a_date_that_may_mean_two_days_is_asked_for(folder, now):
    table = b"date;tank;temp (C)\n04/03/2026;left;24\n"
    assert [fault.where for fault in look_at_table(folder, table, now=now).faults] == ["A2"]
    for order, day in (("day first", 4), ("month first", 3)):
        looked = look_at_table(folder, table, now=now, choices=Choices(order=order))
        assert looked.entries[0].at == datetime(2026, 3 if day == 4 else 4, day, 11 if day == 4 else 10, tzinfo=UTC)


def test_a_date_elsewhere_in_the_column_tells_the_order(folder, now):
    table = b"date;tank;temp (C)\n04/03/2026;left;24\n13/03/26;left;24\n"
    looked = look_at_table(folder, table, now=now)
    assert looked.choices.order == "day first"
    assert [one.at.day for one in looked.entries] == [4, 13]


def test_seconds_since_1970_are_moments(folder, now):
    at = int(datetime(2026, 3, 3, 12, tzinfo=UTC).timestamp())
    table = f"timestamp,tank,temp (C)\n{at},left,24\n{at * 1000 + 3600_000},left,24\n".encode()
    assert [one.at.hour for one in look_at_table(folder, table, now=now).entries] == [12, 13]


@pytest.mark.parametrize(("table", "said"), [
    (b"temp;tank\n24;left\n", "no column with dates"), (b"date;temp\n2026-03-03;24\n", "which tank"),
    (b"date;tank;mood\n2026-03-03;left;good\n", "what it means"),
])  # fmt: skip
def test_what_has_to_be_said_first_is_asked_for(folder, now, table, said):
    looked = look_at_table(folder, table, now=now)
    assert any(said in fault.what for fault in looked.faults)
    assert looked.entries == ()


def test_choices_are_taken(folder, now):
    table = b"when;x;y\n2026-03-03;24;5\n"
    choices = Choices(
        {0: "date", 1: "reading temperature", 2: "reading nitrate"}, {1: "\u00b0C", 2: "mg/L"}, tank="left"
    )
    looked = look_at_table(folder, table, now=now, choices=choices)
    assert [type(one.payload) for one in looked.entries] == [GaugeReading, Reading]


@pytest.mark.parametrize("choices", [
    Choices({0: "nonsense"}), Choices({1: "date"}), Choices(tank="middle"), Choices(header=9), Choices({70: "note"}),
    Choices(units={1: "x" * 21}), Choices({2: "dose nothing"}),
])  # fmt: skip
def test_choices_that_cannot_be_are_refused(folder, now, choices):
    with pytest.raises(FaultsError):
        look_at_table(folder, b"date;tank;temp\n2026-03-03;left;24\n", now=now, choices=choices)


@pytest.mark.parametrize("choices", [Choices(encoding="rot13"), Choices(encoding="utf-16")])
def test_an_encoding_that_it_is_not_is_refused(folder, now, choices):
    with pytest.raises(UnreadableTableError):
        look_at_table(folder, b"date;tank;temp\n2026-03-03;left;24", now=now, choices=choices)


def sensor(days: int, *, start: datetime = datetime(2026, 3, 3), minutes: int = 15) -> bytes:
    rows = ["time,temperature (C),pH,light (h)"]
    for n in range(days * 1440 // minutes):
        at = start + timedelta(minutes=n * minutes)
        rows.append(
            f"{at:%Y-%m-%dT%H:%M:%S},{24 + n % 4 / 10:.1f},{6.5 + n % 96 / 96:.3f},{0.25 if 10 <= at.hour < 18 else 0}"
        )
    return "\n".join(rows).encode()


def test_a_sensors_file_gives_one_reading_a_day(folder, now):
    looked = look_at_table(folder, sensor(3), now=now, choices=Choices(tank="left"))
    assert looked.choices.every == "day"
    by = {(one.at, one.payload.gauge): one.payload for one in looked.entries}
    assert len(by) == 9
    first = datetime(2026, 3, 3, 11, tzinfo=UTC)  # noon in Berlin
    assert by[first, "temperature"] == GaugeReading(
        "temperature", 24.0, 24.3, "sensor, mean of 96 in the day", "24.15 °C"
    )
    assert by[first, "light"] == GaugeReading("light", 8.0, 8.0, "sensor, sum of 96 in the day", "8 h")


def test_a_longer_file_of_the_same_sensor_adds_its_new_days_only(folder, now):
    cut = sensor(3)[: len(sensor(3)) * 5 // 6]
    assert import_table(folder, cut, now=now, choices=Choices(tank="left")).new == 6  # the third day is not whole
    assert import_table(folder, sensor(5), now=now, choices=Choices(tank="left")).new == 9
    assert len(entries(folder)) == 15


def test_hours_may_be_asked_for(folder, now):
    looked = look_at_table(folder, sensor(1), now=now, choices=Choices(tank="left", every="hour"))
    assert len(looked.entries) == 72


def test_a_day_that_is_not_over_is_left_out(folder):
    now = datetime(2026, 3, 5, 22, 55, tzinfo=UTC)
    looked = look_at_table(folder, sensor(3)[:-200], now=now, choices=Choices(tank="left"))
    assert len(looked.entries) == 6


def test_more_entries_than_are_taken_at_once_are_refused(folder, now):
    rows = MOST_ENTRIES // 2 + 1
    table = ["date,tank,temp (C),pH"]
    table += [f"{datetime(2026, 3, 3) + timedelta(minutes=n):%Y-%m-%d %H:%M},left,24,7" for n in range(rows)]
    with pytest.raises(FaultsError, match="at most 20,000"):
        look_at_table(folder, "\n".join(table).encode(), now=now, choices=Choices(every="row"))


def test_what_an_export_wrote_is_taken_in_again_elsewhere(folder, now, tmp_path):
    """A table for a spreadsheet that the logbook itself wrote means the same when it comes back."""
    import_table(folder, WIDE.encode(), now=now)
    export_logbook(folder, tmp_path / "out", now=now)
    tables = sorted((tmp_path / "out").rglob("*.csv"))
    assert tables
    looked = look_at_table(folder, tables[0].read_bytes(), now=now)
    assert looked.grid.rows
