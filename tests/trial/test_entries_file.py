from __future__ import annotations

import csv
import random
import tomllib
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from littoral.trial.entries import (
    Care,
    Dose,
    Equipment,
    GaugeReading,
    Living,
    Note,
    Reading,
    Score,
    Skipped,
    TopUp,
    Trim,
    WaterChange,
)
from littoral.trial.written.entries_csv import COLUMNS, read_entries
from littoral.trial.written.reader import read_trial

HERE = Path(__file__).parent
WHOLE = (HERE / "whole-trial.toml").read_text(encoding="utf-8")
TRIAL = read_trial(WHOLE, where="trial.toml")[0]
assert TRIAL is not None
LONG = replace(TRIAL, length_days=365.0)
NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)
HEADER = ",".join(COLUMNS)
ROWS = (
    "2026-03-08,13:35,left,dose,macro,2 strokes,,A",
    "2026-03-08,13:35,left,dose,macro,2 strokes,,A",
    "2026-03-08,13:35,right,missed dose,micro,8 drops,forgot,B",
    "2026-03-07,10:30,left,water change,,40 %,,A",
    '2026-03-07,11:00,left,trim,red-stem,"to 9 cm, 14 g",,B',
    '2026-03-06,13:20,right,reading,nitrate,"10 mg/L (7.5-15), colour card",,',
    "2026-03-06,13:50,right,care,,12 min,,B",
    "2026-03-02,,left,note,,,all planted,A",
)


def read(*rows: str, header: str = HEADER, trial=TRIAL):
    return read_entries("\n".join((header, *rows)).encode(), where="entries.csv", trial=trial, now=NOW)


def payload(row: str):
    entries, faults = read(row)
    assert faults == ()
    return entries[0].payload


@pytest.mark.parametrize(
    ("cells", "expected"),
    [
        ("dose,macro,2 strokes", Dose("macro", ml=2.2)),
        ("Dose,micro,8 drops", Dose("micro", ml=0.4)),
        ("dose,macro,5.5 mL", Dose("macro", ml=5.5)),
        ('dose,macro,"5,5 ml"', Dose("macro", ml=5.5)),
        ("missed dose,macro,1 stroke", Dose("macro", ml=1.1, given=False)),
        ("missed dose,macro,", Dose("macro", ml=1.1, given=False)),  # as the regime of the baseline plans it
        ("water change,,40 %", WaterChange(0.4)),
        ("top-up,,1.4 L", TopUp(1.4)),
        ('trim,red-stem,"to 9 cm, 14 g"', Trim("red-stem", left_cm=9, wet_g=14)),
        ('trim,red-stem,"to 9,5 cm; 14 g"', Trim("red-stem", left_cm=9.5, wet_g=14)),
        ("trim,,14 g", Trim(None, wet_g=14)),
        ("trim,red-stem,", Trim("red-stem")),
        (
            'reading,nitrate,"10 mg/L (7.5-15), colour card"',
            Reading("nitrate", 7.5, 15, "colour card", "10 mg/L"),
        ),
        ("reading,nitrate,10-20 mg/L", Reading("nitrate", 10, 20, "", "10-20 mg/L")),
        ("reading,iron,0.5 mg/L ± 0.25 mg/L", Reading("iron", 0.25, 0.75, "", "0.5 mg/L")),
        ("reading,nitrate,<5 mg/L", Reading("nitrate", 0, 5, "", "<5 mg/L")),
        ("reading,nitrate,>80 mg/L", Reading("nitrate", 80, float("inf"), "", ">80 mg/L")),
        ('reading,nitrate,"7,5 mg/L, photometer"', Reading("nitrate", 7.5, 7.5, "photometer", "7,5 mg/L")),
        ('trim,red-stem,"to 9 cm, 14 g, 6 min"', Trim("red-stem", left_cm=9, wet_g=14, minutes=6)),
        ("trim,,0.5 h", Trim(None, minutes=30)),
        ("reading,pH,6.8", GaugeReading("ph", 6.8, 6.8, "", "6.8")),
        ('reading,ph,"6,8 ± 0.1, pen"', GaugeReading("ph", 6.7, pytest.approx(6.9), "pen", "6,8")),
        ('reading,ph,"6.5-7, drops"', GaugeReading("ph", 6.5, 7, "drops", "6.5-7")),
        ("reading,temperature,24.5 °C ± 0.5", GaugeReading("temperature", 24, 25, "", "24.5 °C")),
        (
            "reading,temperature,77 °F ± 1.8 °F",
            GaugeReading("temperature", pytest.approx(24), pytest.approx(26), "", "77 °F"),
        ),
        ("reading,conductivity,0.32 mS/cm", GaugeReading("conductivity", 320, 320, "", "0.32 mS/cm")),
        ("reading,par,60 umol/m2/s (55-65)", GaugeReading("par", 55, 65, "", "60 umol/m2/s")),
        ("reading,CO2 bubbles,2 per s", GaugeReading("co2 bubbles", 120, 120, "", "2 per s")),
        ("reading,light,480 min", GaugeReading("light", pytest.approx(8), pytest.approx(8), "", "480 min")),
        ("reading,kh,4 dKH", GaugeReading("kh", pytest.approx(4), pytest.approx(4), "", "4 dKH")),
        ("reading,gh,1 mmol/L", GaugeReading("gh", pytest.approx(5.60774), pytest.approx(5.60774), "", "1 mmol/L")),
        ("reading,ph,>8", GaugeReading("ph", 8, float("inf"), "", ">8")),
        ("score,algae,2", Score("algae", 2)),
        ("score,plants red-stem,3 of 4", Score("plants", 3, "red-stem")),
        ("animals,shrimp,5 added", Living("animals", "shrimp", 5, "added")),
        ("animals,shrimp,1 died", Living("animals", "shrimp", 1, "died")),
        ("plants,fern,-2", Living("plants", "fern", 2, "removed")),
        ("equipment,lamp,8 h a day", Equipment("lamp", "8 h a day")),
        ("skipped,test nitrate,", Skipped("test nitrate")),
        ("care,,12 min", Care(12)),
        ("care,,0.5 h", Care(30)),
        ("note,,,leaves float", Note("leaves float")),
    ],
)
def test_every_kind_and_form_of_amount(cells, expected):
    assert payload(f"2026-03-08,13:35,left,{cells}") == expected


def test_litres_of_a_change_are_a_share_of_the_net_volume():
    # 60 x 30 x 27 cm is 48.6 L; substrate 60 x 30 x 5 cm with 40 % pores displaces 5.4 L, stone 1.8/2.65 L, wood 0.6 L
    assert payload("2026-03-08,,left,water change,,20 L").share == pytest.approx(20 / (48.6 - 5.4 - 1.8 / 2.65 - 0.6))


def test_an_entry_knows_its_moment_and_who_wrote_it():
    (entry,), _ = read("2026-03-30,8:05,left,care,glass,12 min,inside,A")
    assert (entry.at, entry.zone, entry.tank, entry.who, entry.note) == (
        datetime(2026, 3, 30, 6, 5, tzinfo=UTC),
        "Europe/Berlin",
        "left",
        "A",
        "glass; inside",
    )


@pytest.mark.parametrize(
    ("date", "time", "expected"),
    [
        ("2026-03-08", "", (2026, 3, 8, 11, 0)),  # noon
        ("2026-03-08 13:35", "", (2026, 3, 8, 12, 35)),
        ("2026-03-08T13:35", "", (2026, 3, 8, 12, 35)),
        ("2026/3/8", "1:35 pm", (2026, 3, 8, 12, 35)),
        ("08.03.2026", "13.35", (2026, 3, 8, 12, 35)),
        ("13/03/2026", "13:35:20", (2026, 3, 13, 12, 35, 20)),
        ("3/13/2026", "12:05 am", (2026, 3, 12, 23, 5)),
        ("2026-10-25", "02:30+01:00", (2026, 10, 25, 1, 30)),
        ("2026-10-25", "02:30+02:00", (2026, 10, 25, 0, 30)),
        ("2026-03-08", "13:35Z", (2026, 3, 8, 13, 35)),
    ],
)
def test_dates_and_times_in_their_clear_forms(date, time, expected):
    entries, faults = read(f"{date},{time},left,care,,12 min", trial=LONG)
    assert faults == ()
    assert entries[0].at == datetime(*expected, tzinfo=UTC)


WRONG = tomllib.loads((HERE / "wrong-rows.toml").read_text(encoding="utf-8"))["row"]


@pytest.mark.parametrize("wrong", WRONG, ids=lambda wrong: wrong["row"])
def test_each_mistake_in_a_row_is_named_at_its_line(wrong):
    entries, faults = read(ROWS[3], "", wrong["row"], ROWS[4])
    assert len(entries) == 2
    assert len(faults) == 1
    assert str(faults[0]).startswith(f"entries.csv, line 4: {wrong['fault']}")


def test_all_mistakes_of_a_row_are_named():
    _, faults = read("2026-02-28,25:00,lft,dosis,,", "2026-03-08,99:00,left,dose,makro,1 mL")
    assert [(fault.line, fault.what.split("`")[1]) for fault in faults] == [
        (2, "kind"), (2, "tank"), (2, "time"), (3, "time"), (3, "what"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("row", "columns"),
    [
        ("2026-03-08,,lft,dose,makro,5 furlong,,", ["tank", "what", "amount"]),
        ("2026-03-08,,lft,reading,nitrat,10 furlong,,", ["tank", "what", "amount"]),
        ("2026-03-08,,left,reading,nitrat,some,,", ["what", "amount"]),
        ('2026-03-08,,left,trim,grass,"to 9 g",,', ["what", "amount"]),
        ('2026-03-08,,left,dose,makro,"1,500 mL",,', ["amount", "what"]),
        ("2026-03-08,,lft,water change,rain,40 %,,", ["tank", "what"]),
        ("2026-03-08,,lft,dose,macro,5 mL,,", ["tank"]),
        ("2026-03-08,,lft,missed dose,macro,,,", ["tank"]),  # whether the plan says how much hangs on the tank
    ],
)
def test_a_mistake_in_one_cell_does_not_hide_those_in_others(row, columns):
    _, faults = read(row)
    assert [fault.what.split("`")[1] for fault in faults] == columns


def amounts_in(separator: str, *amounts: str):
    """What a file says whose rows are doses of these amounts, its cells parted by `separator`."""
    rows = [f'2026-03-08|{hour:02}:00|left|dose|macro|"{amount}"||' for hour, amount in enumerate(amounts)]
    text = "\n".join((HEADER.replace(",", "|"), *rows)).replace("|", separator)
    entries, faults = read_entries(text.encode(), where="entries.csv", trial=TRIAL, now=NOW)
    return [entry.payload.ml for entry in entries], [str(fault) for fault in faults]


@pytest.mark.parametrize(
    ("separator", "amounts"),
    [(";", ["1.500 mL"]), ("\t", ["1.500 mL"]), (";", ["1.500 mL", "5,5 mL"]), (",", ["1.500 mL", "5,5 mL"]),
     (",", ["1.500 mL", "1.500,5 mL"])],
)  # fmt: skip
def test_a_point_that_may_part_thousands_is_refused(separator, amounts):
    """No standard tells: ISO 80000-1 allows both decimal marks and asks for spaces between thousands."""
    _, faults = amounts_in(separator, *amounts)
    assert faults == [
        'entries.csv, line 2: `amount` is "1.500 mL": "1.500" may be 1.5 or 1500. Write 1.5 mL or 1500 mL.'
    ]


@pytest.mark.parametrize(
    ("separator", "amounts", "ml"),
    [
        (",", ["1.500 mL", "5.5 mL"], [1.5, 5.5]),
        (",", ["1,000.5 mL", "1.500 mL"], [1000.5, 1.5]),
        (";", ["1.5 mL", "1500 mL", "0.500 mL", "1.5000 mL"], [1.5, 1500, 0.5, 1.5]),
        (";", ["1.500,5 mL", "1,5 mL"], [1500.5, 1.5]),
    ],
)
def test_numbers_that_mean_one_thing_are_read_whatever_parts_the_cells(separator, amounts, ml):
    assert amounts_in(separator, *amounts) == (ml, [])


def test_a_lot_number_in_the_method_of_a_reading_is_no_amount():
    header, row = HEADER.replace(",", ";"), "2026-03-08;;left;reading;nitrate;7,5 mg/L, strip of lot 1.234;;"
    assert read(row, header=header)[0][0].payload == Reading("nitrate", 7.5, 7.5, "strip of lot 1.234", "7,5 mg/L")


def test_a_header_with_spaces_capitals_and_another_order_is_read():
    header = '  Kind , "tank",What, AMOUNT ,date  , Who,'
    rows = ('dose, left, macro, "5,5 mL", 2026-03-08, A,', 'trim,left,"red-stem", "to 9 cm, 14 g",2026-03-08,B')
    entries, faults = read(*rows, header=header)
    assert faults == ()
    assert [entry.payload for entry in entries] == [Dose("macro", ml=5.5), Trim("red-stem", left_cm=9, wet_g=14)]
    assert [entry.who for entry in entries] == ["A", "B"]


def test_lines_are_counted_through_cells_of_several_lines():
    _, faults = read('2026-03-08,,left,note,,,"one\ntwo\nthree",A', "2026-03-08,,lft,care,,12 min")
    assert [fault.line for fault in faults] == [5]


def test_water_of_a_tank_without_glass_is_not_dosed():
    dry = WHOLE.replace('like = "left" ', "# ").replace('tanks = ["right"]\nregime = "sparing"', 'tanks = ["right"]')
    trial, faults = read_trial(dry, where="trial.toml")
    assert faults == ()
    _, faults = read("2026-03-08,,right,dose,macro,1 mL", trial=trial)
    assert str(faults[0]) == (
        'entries.csv, line 2: `tank` is "right", whose water is not described. Add `glass` and `fill` to [tanks.right].'
    )


SHEET = "\n".join((HEADER, *ROWS))
GERMAN = SHEET.replace("all planted", "Größe der Blätter: 5 µm").replace("forgot", "vergessen – später")


def spreadsheet(separator: str) -> str:
    """The same rows as a spreadsheet of another country writes them: its separator, decimal commas."""
    rows = GERMAN.replace('"to 9 cm, 14 g"', "to 9.5 cm; 14 g")
    rows = rows.replace('"10 mg/L (7.5-15), colour card"', "7.5-15 mg/L")
    cells = [row.split(",") for row in rows.split("\n")]
    written = [[f'"{cell}"' if separator in cell else cell.replace(".", ",") for cell in row] for row in cells]
    return "\r\n".join(separator.join(row) for row in written) + "\r\n"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_every_encoding_of_a_spreadsheet_gives_the_same_entries(encoding):
    entries, faults = read_entries(GERMAN.encode(encoding), where="entries.csv", trial=TRIAL, now=NOW)
    assert faults == ()
    assert entries == read_entries(GERMAN.encode(), where="entries.csv", trial=TRIAL, now=NOW)[0]
    assert entries[-1].payload == Note("Größe der Blätter: 5 µm")


@pytest.mark.parametrize("separator", [";", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_decimal_commas_are_read_where_commas_part_no_cells(separator, encoding):
    data = spreadsheet(separator).encode(encoding)
    entries, faults = read_entries(data, where="entries.csv", trial=TRIAL, now=NOW)
    assert faults == ()
    by_kind = {type(entry.payload): entry.payload for entry in entries}
    assert by_kind[Trim].left_cm == 9.5
    assert (by_kind[Reading].low_mg_per_l, by_kind[Reading].high_mg_per_l) == (7.5, 15)


@pytest.fixture
def usual_cells():
    """Python's own limit of a cell; libraries of other tests set another for the whole process."""
    before = csv.field_size_limit(131_072)
    yield
    csv.field_size_limit(before)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", f"entries.csv: The file is empty. Its first line is the header: {HEADER}."),
        (b"hello\n", "entries.csv, line 1: The first line is not a header with columns. Begin the file with:"),
        (b"date,tank,knd\n", 'entries.csv, line 1: The header names a column "knd". Did you mean "kind"? The'),
        (b"date,tank,tank,kind\n", 'entries.csv, line 1: The header names "tank" twice. Name every column once.'),
        (b"\ndate,time\n", "entries.csv, line 2: The header does not name tank and kind. Begin the file with:"),
        (
            HEADER.encode() + b'\n2026-03-08,,left,note,,,"open\n',
            'entries.csv, line 2: The row that begins here has a quotation mark (") without its partner. Close it',
        ),
        (
            HEADER.encode() + b'\n2026-03-08,,left,note,,,the "red" one,\n2026-03-08,,left,note,,,"red" one,\n',
            'entries.csv, line 3: The row that begins here goes on behind a closing quotation mark ("). Put the whole',
        ),
        (
            HEADER.encode() + b"\n2026-03-08,,left,note,,," + b"x" * 140_000 + b",\n",
            "entries.csv, line 2: The row that begins here has a cell of more than 131,072 characters. Look for",
        ),
        (
            SHEET.encode("utf-16-le"),
            "entries.csv: The file is not text, or is UTF-16 without its byte-order mark. Save it again as",
        ),
        (
            (HEADER + "\n2026-03-08,,left,note,,,Листья растут,").encode("cp1251"),
            "entries.csv, line 2: The file is not UTF-8, and its encoding cannot be told from the letters in it. Save",
        ),
        (b"\xef\xbb\xbf\xff\xfe", "entries.csv: The file says that it is UTF-8, but is not. Save it again as"),
        (b"date,tank\x00,kind\n", "entries.csv: The file is not text, or is UTF-16 without its byte-order mark."),
        (b"a" * 5_000_001, "entries.csv: The file has 5,000,001 bytes; at most 5,000,000 are read. Split it into"),
    ],
)
def test_a_file_that_cannot_be_read_gets_one_clear_message(data, said, usual_cells):
    entries, faults = read_entries(data, where="entries.csv", trial=TRIAL, now=NOW)
    assert entries == ()
    assert len(faults) == 1
    assert str(faults[0]).startswith(said)


@given(st.randoms(use_true_random=False))
def test_the_order_of_rows_does_not_change_the_ids(shuffler: random.Random):
    rows = list(ROWS)
    shuffler.shuffle(rows)
    assert {entry.id for entry in read(*rows)[0]} == {entry.id for entry in read(*ROWS)[0]}


def test_equal_rows_are_two_entries_and_reading_again_makes_no_more():
    first, again = read(*ROWS)[0], read(*ROWS)[0]
    assert len({entry.id for entry in first}) == len(ROWS)
    assert first == again
    longer = read("2026-03-09,,left,care,,5 min", *ROWS)[0]
    assert {entry.id for entry in first} < {entry.id for entry in longer}


def test_a_remark_or_a_new_calibration_makes_no_second_dose():
    (dose,), _ = read("2026-03-08,13:35,left,dose,macro,2 strokes")
    (remarked,), _ = read("2026-03-08,13:35,left,dose,macro,2 strokes,twice pressed,A")
    calibrated = read_trial(WHOLE.replace('stroke = "1.1 mL"', 'stroke = "1.2 mL"'), where="trial.toml")[0]
    (weighed,), _ = read("2026-03-08,13:35,left,dose,macro,2 strokes", trial=calibrated)
    assert weighed.payload == Dose("macro", ml=2.4)
    assert dose.id == remarked.id == weighed.id
    (more,), _ = read("2026-03-08,13:35,left,dose,macro,3 strokes")
    (missed,), _ = read("2026-03-08,13:35,left,missed dose,macro,2 strokes")
    assert len({dose.id, more.id, missed.id}) == 3


SPOILT = st.tuples(st.integers(0, len(SHEET)), st.integers(0, 20), st.binary(max_size=6))


@settings(max_examples=200, deadline=None)
@given(st.lists(SPOILT, min_size=1, max_size=4))
def test_no_spoiling_of_the_bytes_raises_anything(spoils):
    data = SHEET.encode()
    for place, length, put in spoils:
        data = data[:place] + put + data[place + length :]
    entries, faults = read_entries(data, where="entries.csv", trial=TRIAL, now=NOW)
    assert len({entry.id for entry in entries}) == len(entries)
    assert all(fault.what and fault.right for fault in faults)


CELLS = st.one_of(
    st.text("0123456789 ,.%gmLcx/<>-±()+:TZ", max_size=14),
    st.sampled_from(["left", "macro", "nitrate", "red-stem", "2026-03-08", "9999-12-31", "0001-01-01", "23:59"]),
)
KINDS = st.sampled_from(["dose", "missed dose", "water change", "top-up", "trim", "reading", "care", "note"])


@settings(max_examples=300, deadline=None)
@given(CELLS, CELLS, KINDS, CELLS, CELLS)
def test_no_cell_raises_anything(date, time, kind, what, amount):
    for day in (date, "2026-03-08"):
        row = "\t".join((day, time, "left", kind, what, amount))
        entries, faults = read_entries(
            f"date\ttime\ttank\tkind\twhat\tamount\n{row}\n".encode(), where="entries.csv", trial=TRIAL, now=NOW
        )
        assert len(entries) == (0 if faults else 1)
