"""Tables of growth tests: what is read of them, every mistake at its place, and words that keep to the vessels."""

from __future__ import annotations

import io
import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from littoral.acts.growth_test.give import EXAMPLE, give_growth_test, growth_test_json
from littoral.acts.growth_test.rows import versus_table
from littoral.errors import FaultsError
from littoral.findings.growth_test.model import GrowthTest


def give(text: str, **asked: object) -> GrowthTest:
    return give_growth_test(text.encode(), where="t.csv", **asked)


def faults(text: str, **asked: object) -> list[str]:
    with pytest.raises(FaultsError) as caught:
        give(text, **asked)
    return [str(one) for one in caught.value.faults]


LONG = (
    "vessel,dose,day,fronds\nc1,0,0,12\nc1,0,7,96\nc2,0,0,12\nc2,0,7,101\na1,3,0,12\na1,3,7,40\na2,3,0,12\na2,3,7,44\n"
)


def test_a_long_table_a_wide_one_a_workbook_and_pasted_cells_are_one_test() -> None:
    openpyxl = pytest.importorskip("openpyxl")
    wide = "vessel;dose;day 0;day 7\nc1;0;12;96\nc2;0;12;101\na1;3;12;40\na2;3;12;44\n"
    book = openpyxl.Workbook()
    for line in LONG.splitlines():
        book.active.append([int(cell) if cell.isdecimal() else cell for cell in line.split(",")])
    data = io.BytesIO()
    book.save(data)
    answers = [
        growth_test_json(give(LONG)),
        growth_test_json(give(wide)),
        growth_test_json(give(LONG.replace(",", "\t"))),
        growth_test_json(give_growth_test(data.getvalue(), where="t.xlsx")),
    ]
    assert all(one == answers[0] for one in answers)
    assert answers[0]["measured"][0]["vessels"][0]["rate_per_day"] == pytest.approx(math.log(8) / 7)


def test_every_mistake_is_named_at_its_line_and_column() -> None:
    text = (
        "vessel,dose (mg/L),day,fronds\nc1,0,0,12\nc1,0,7,many\nc2,,0,12\nc2,0,7,-3\nc1,0,0,13\na1,3,,9\nc1,3,7,9\n"
        'a1,3,7,"1,500"\n'
    )
    found = faults(text)
    assert found[0] == 't.csv, column D (fronds), line 3: is "many", no number. Give a number, or leave the cell empty.'
    assert found[1].startswith("t.csv, column B (dose (mg/L)), line 4: is empty.")
    assert "column D (fronds), line 5: is -3, below zero" in found[2]
    assert "line 6: is a second row of vessel “c1” on day 0; the first is in line 2" in found[3]
    assert "column C (day), line 7: is empty" in found[4]
    assert 'line 8: puts vessel "c1" under 3; in line 2 it is under 0' in found[5]
    assert "1.5" in found[6]
    assert "1500" in found[6]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("vessel,day,fronds\na,0,1\n", "no column “dose”"),
        ("dose,day,fronds\n0,0,1\n", "no column “vessel”"),
        ("vessel,dose,fronds\na,0,1\n", "no column “day”"),
        ("vessel,dose,day,colour\na,0,1,2\n", "no column of what was measured"),
        ("vessel,dose,day 7,day 0\na,0,1,2\n", "days that do not ascend"),
        ("vessel,dose,day,fronds\na,0,0,1\na,0,7,2\nb,1,0,1\nb,1,5,2\nc,1,0,1\nc,1,7,2\n", "most go from 0 to 7"),
        ("vessel,dose,day,fronds\na,0,0,0\na,0,7,2\nb,1,0,1\nb,1,7,2\n", "is 0 for vessel “a” at the start"),
        ("vessel,dose,day,fronds\na,0,0,1\nb,1,0,1\nb,1,7,2\n", "one day of vessel “a”"),
        ("vessel,dose,day,fronds\na,1,0,1\na,1,7,2\nb,2,0,1\nb,2,7,2\n", "has no control"),
        ("vessel,dose,day,fronds\na,control,0,1\na,control,7,2\nb,water control,0,1\nb,water control,7,2\n", "several"),
        ("vessel,dose,day,fronds\n", "holds no sizes"),
        (f"vessel,dose,day,fronds\na,0,0,1\na,0,7,{'9' * 400}\n", "larger than anything"),
        ("vessel,dose,day,fronds\na,0,0,1\na,0,0.0001,2\n", "within two minutes"),
        ("replicate,dose,day 0,day 7\n" + "".join(f"1,{i},2,4\n" for i in range(50)), "has 50 doses"),
    ],
)
def test_a_table_that_cannot_be_used_says_what_is_missing(text: str, said: str) -> None:
    assert said in " ".join(faults(text))


def test_what_is_asked_for_wrongly_is_refused() -> None:
    assert "guideline" in faults(LONG, guideline="999")[0]
    assert "side" in faults(LONG, side="left")[0]
    assert "no dose here" in faults(LONG, control="7")[0]


def test_replicates_are_counted_anew_for_each_dose_and_treatments_may_have_names() -> None:
    text = "replicate,treatment,day,fronds\n" + "".join(
        f"{vessel},{name},{day},{size}\n"
        for name, end in (("tap", 90), ("control", 100), ("rain", 80))
        for vessel in (1, 2, 3)
        for day, size in ((0, 12), (7, end + 3 * vessel))
    )
    found = give(text, ask_williams=True)
    assert [group.name for group in found.table.groups] == ["control", "tap", "rain"]
    assert len(found.table.vessels) == 9
    assert any("Williams' test was asked for and left out" in rule for rule in found.rules)
    assert "treatment" in found.results[0].rate.wording


def test_the_words_never_say_effect_below_three_vessels_nor_of_an_invalid_test() -> None:
    two = give(LONG)
    assert [one.rule for one in two.results[0].rate.doses] == ["these vessels differ"]
    assert "effect" not in two.lead.lower()
    slow = give(EXAMPLE.replace("day 7", "day 30").replace("day 5", "day 20"))
    assert slow.lead.startswith("Not valid by OECD 221")
    assert {one.rule for one in slow.results[0].rate.doses} == {"test not valid"}
    assert "effect" not in slow.lead.lower()
    assert "Effect" not in " ".join(one.wording for one in slow.results[0].rate.doses)
    whole = give(EXAMPLE)
    assert [one.rule for one in whole.results[0].rate.doses] == [
        "cannot tell",
        "effect of the dose",
        "effect of the dose",
    ]
    assert "effect of the dose at 8 and 32 mg/L" in whole.lead


def test_a_one_sided_test_says_so_and_what_it_did_not_ask() -> None:
    asked = give(EXAMPLE, side="higher").results[0].rate.doses
    assert "Not asked about: the test was for higher values only" in asked[2].wording
    lower, both = (give(EXAMPLE, side=side).results[0].rate.doses[2] for side in ("lower", ""))
    assert "one-sided (lower)" in lower.wording
    assert (lower.low, asked[2].high) == (None, None)
    assert lower.high is not None
    assert both.high is not None
    assert lower.high < both.high < 0
    assert "(at most −" in lower.wording
    assert "(at least " in asked[1].wording
    assert "(95 % interval −" in both.wording


@pytest.mark.parametrize("side", ["lower", "higher", ""])
def test_a_dose_is_called_where_its_interval_leaves_out_zero(side: str) -> None:
    for result in give(EXAMPLE, side=side).results:
        for one in (*result.rate.doses, *result.grown.doses):
            assert one.p_value is not None
            within = (one.low is None or one.low <= 0) and (one.high is None or one.high >= 0)
            assert (one.p_value < 0.05) == (not within)
            assert (one.rule == "cannot tell") == within


def test_where_nothing_is_tested_no_test_is_cited_and_no_digits_are_made_up() -> None:
    single = give("vessel,dose (mg/L),day 0,day 7\nc1,0,12,148\na1,32,12,34\n")
    assert [source.partition(":")[0] for source in single.sources] == ["Rates, yield, doubling time and inhibition"]
    grown = versus_table(single, single.results[0], single.results[0].grown)
    assert [row[2] for row in grown.rows] == ["136", "22.0"]


def test_a_vessel_in_which_nothing_is_left_has_a_yield_but_no_rate() -> None:
    text = EXAMPLE.replace("d1,32,12,19,26,34", "d1,32,12,5,1,0")
    found = give(text).results[0]
    assert found.vessels[-3].rate is None
    dose = found.rate.doses[-1]
    assert (dose.rule, dose.mean) == ("no test", None)
    assert "nothing was left of it" in dose.wording
    assert found.grown.doses[-1].p_value is not None


def test_a_control_that_died_out_makes_the_test_not_valid() -> None:
    found = give(LONG.replace("c1,0,7,96", "c1,0,7,0").replace("c2,0,7,101", "c2,0,7,0"))
    (row,) = found.validity
    assert (row.value, row.verdict) == (None, "fails")
    assert found.results[0].grown.doses[0].rule == "test not valid"


def test_one_control_vessel_leaves_validity_open_and_the_rates_told() -> None:
    found = give("vessel,dose,day,length (cm)\nc1,0,0,10\nc1,0,14,25\na1,3,0,10\na1,3,14,15\n")
    assert found.validity == ()
    assert "cannot be told" in found.lead
    assert found.results[0].rate.control.mean == pytest.approx(math.log(2.5) / 14)


def test_vessels_that_came_out_alike_give_no_test() -> None:
    text = "vessel,dose,day,fronds\n" + "".join(
        f"{name}{i},{dose},{day},{size}\n"
        for name, dose in (("c", 0), ("a", 1))
        for i in range(3)
        for day, size in ((0, 10), (7, 80))
    )
    assert "exactly alike" in give(text).results[0].rate.why_not


def test_length_and_mass_are_held_to_the_other_guideline() -> None:
    rows = [
        f"{dose}-{i},{dose},{day},{(2.5 if day == 0 else end + 0.1 * i)},{(0.2 if day == 0 else end / 10 + 0.02 * i)}"
        for dose, end, n in ((0, 9.0, 6), (1, 7.0, 4))
        for i in range(n)
        for day in (0, 14)
    ]
    found = give("vessel,dose,day,shoot length (cm),fresh mass (g)\n" + "\n".join(rows))
    assert found.guideline == "239"
    assert [row.verdict for row in found.validity] == ["holds"] * 6
    assert [one.measured.unit for one in found.results] == ["cm", "g"]
    assert give("vessel,dose,day,area\n" + "\n".join(row.rpartition(",")[0] for row in rows)).validity == ()


@settings(max_examples=10)
@given(
    sizes=st.lists(st.tuples(st.integers(1, 500), st.integers(1, 500)), min_size=4, max_size=8),
    times=st.integers(1, 40),
)
def test_rates_do_not_depend_on_the_unit_of_size_and_yields_go_with_it(
    sizes: list[tuple[int, int]], times: int
) -> None:
    def table(factor: int) -> str:
        rows = [
            f"v{i},{i % 2},{day},{factor * size}"
            for i, pair in enumerate(sizes)
            for day, size in zip((0, 6), pair, strict=True)
        ]
        return "vessel,dose,day,area\n" + "\n".join(rows)

    one, other = (give(table(factor)).results[0] for factor in (1, times))
    for first, second in zip(one.vessels, other.vessels, strict=True):
        assert second.rate == pytest.approx(first.rate, abs=1e-12)
        assert second.grown == pytest.approx(times * first.grown)
    for a, b in zip(one.rate.doses, other.rate.doses, strict=True):
        assert (a.p_value is None) == (b.p_value is None)
        if a.p_value is not None:
            assert b.p_value == pytest.approx(a.p_value, abs=1e-9)


CELLS = st.sampled_from(
    ["", "0", "1e999", "-1", "1,5", "9" * 330, "control", "x", "0.5", "1.500", "NaN", "é", "0.0", "1e-9"]
)


@settings(max_examples=25)
@given(changes=st.lists(st.tuples(st.integers(0, 13), st.integers(0, 5), CELLS), min_size=1, max_size=4))
def test_whatever_stands_in_a_cell_is_answered_or_refused_in_words(changes: list[tuple[int, int, str]]) -> None:
    rows = [line.split(",") for line in EXAMPLE.splitlines()]
    for row, column, cell in changes:
        rows[row][column] = f'"{cell}"'
    try:
        found = give("\n".join(map(",".join, rows)))
    except FaultsError as error:
        said = [fault.what for fault in error.faults]
    else:
        said = [json.dumps(growth_test_json(found), allow_nan=False)]
    assert all(said)
