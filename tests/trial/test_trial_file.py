from __future__ import annotations

import tomllib
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from littoral.trial.written.amounts import keeping_days
from littoral.trial.written.reader import read_trial

HERE = Path(__file__).parent
WHOLE = (HERE / "whole-trial.toml").read_text(encoding="utf-8")
MISTAKES = tomllib.loads((HERE / "mistakes.toml").read_text(encoding="utf-8"))["mistake"]


def changed(changes: list[list[str]]) -> str:
    text = WHOLE
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return text


def faults_of(text: str) -> list[str]:
    trial, faults = read_trial(text, where="trial.toml")
    assert (trial is None) == bool(faults)
    return [str(fault).removeprefix("trial.toml, ") for fault in faults]


def test_a_whole_trial_is_read_in_canonical_units():
    trial, faults = read_trial(WHOLE, where="trial.toml")
    assert faults == ()
    assert trial is not None
    assert (trial.start, trial.zone, trial.baseline_days, trial.length_days) == (
        date(2026, 3, 2),
        "Europe/Berlin",
        14,
        56,
    )
    assert [(arm.key, arm.tanks, arm.regime) for arm in trial.arms] == [
        ("sparing", ("right",), "sparing"),
        ("full", ("left",), "full"),
    ]
    left, right = trial.tanks["left"], trial.tanks["right"]
    assert left.vessel == right.vessel
    assert left.vessel is not None
    assert (left.vessel.fill_cm, left.vessel.stone_kg, left.vessel.wood_l) == (27, 1.8, 0.6)
    assert left.evaporation_l_per_day == pytest.approx(0.2, rel=1e-12)
    assert left.uptake_per_day["nitrate"] == pytest.approx(0.09, rel=1e-12)
    assert right.name == "right tank"
    sparing, full = trial.regimes["sparing"], trial.regimes["full"]
    assert [(dose.of, dose.ml, dose.weekdays, dose.written) for dose in sparing.doses] == [
        ("macro", 1.1, (2, 6), "1 stroke"),
        ("micro", 0.4, (0, 3), "8 drops"),
    ]
    assert [(change.share, change.weekdays) for change in full.changes] == [(0.4, (5,))]
    assert trial.bottles["micro"].packs["bottle"].price == 9.8
    assert trial.views["left"].panes[0].regions[0].polygon_px[0] == (300, 200)
    assert trial.questions[0].expect == ("full", "higher")
    assert trial.rendered


@pytest.mark.parametrize("mistake", MISTAKES, ids=lambda mistake: mistake["name"])
def test_each_mistake_is_named_at_its_line_and_nothing_else_is(mistake):
    assert faults_of(changed(mistake["change"])) == mistake["faults"]


def test_many_mistakes_are_all_reported_at_once():
    apart = (
        "a quotation mark missing", "an unknown zone", "a bare number", "a pack without a price", "an unknown weekday",
        "an unknown regime", "two points", "an unknown measure", "true in quotation marks", "a currency by its sign",
    )  # fmt: skip
    chosen = [mistake for mistake in MISTAKES if mistake["name"] in apart]
    assert len(chosen) == len(apart)
    text = changed([change for mistake in chosen for change in mistake["change"]])
    expected = [fault for mistake in chosen for fault in mistake["faults"]]
    assert sorted(faults_of(text)) == sorted(expected)


def test_faults_come_in_the_order_of_the_file():
    text = changed([["primary = true", 'primary = "true"'], ['"Europe/Berlin"', '"Europe/Berlyn"']])
    _, faults = read_trial(text, where="trial.toml")
    assert [fault.line for fault in faults] == sorted(fault.line for fault in faults if fault.line)


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("", "trial.toml: The file has no `format`. Add `format = 1`: version of this format; always the first key."),
        ("a = '''", "trial.toml: The file ends too early: expected \"'''\". Look here for a quotation"),
        ("a = " + "[" * 5000, "trial.toml: Lists or tables are nested too deeply. A trial needs about five levels."),
        ("[[[", "line 1: This line cannot be read: invalid initial character for a key part. A line is"),
        ("#" * 300_001, "trial.toml: The file has 300,001 characters; at most 300,000 are read."),
    ],
)
def test_text_that_is_no_trial_is_refused_with_one_reason_first(text, fault):
    assert any(said.startswith(fault) for said in faults_of(text))


def test_a_file_with_a_byte_order_mark_and_windows_line_ends_is_read():
    _, faults = read_trial("\ufeff" + WHOLE.replace("\n", "\r\n"), where="trial.toml")
    assert faults == ()


def test_since_when_and_how_long_bottles_keep():
    stock, bought = 'made_up_to = "500 mL"', 'drop = "0.05 mL"'
    changes = [
        [stock, f'{stock}\nmade_on = 2026-02-20\nkeeps = "1 year"\ncoldest = "41 °F"'],
        [bought, f'{bought}\nbought = 2026-03-01\nkeeps = "6 months"'],
    ]
    trial, faults = read_trial(changed(changes), where="trial.toml")
    assert faults == ()
    assert trial is not None
    macro, pack = trial.bottles["macro"], trial.bottles["micro"].packs["bottle"]
    assert (macro.made_on, macro.keeps_days) == (date(2026, 2, 20), 365)
    assert macro.coldest_celsius == pytest.approx(5.0)
    assert (pack.price, pack.bought, pack.keeps_days) == (9.8, date(2026, 3, 1), 182)  # 6 x 30.4375 = 182.6
    assert pack.spoils_on == date(2026, 8, 30)


@pytest.mark.parametrize(
    ("written", "days"), [("1 month", 30), ("12 months", 365), ("4 years", 1461), ("12 weeks", 84), ("60 days", 60)]
)
def test_how_long_a_thing_keeps_is_in_whole_days(written, days):
    assert keeping_days(written) == days


def test_a_trial_without_water_needs_neither_glass_nor_regimes():
    text = """
format = 1
[trial]
key = "wells"
title = "Two columns of wells"
factor = "column"
start = 2024-01-01
zone = "UTC"
length = "114 hours"
[tanks.a]
[tanks.b]
[arms.a]
tanks = ["a"]
[arms.b]
tanks = ["b"]
[stands.plant]
[views.both]
photos = "frames"
match = "*T*.png"
frame = "251 x 1024 px"
[views.both.tanks.a]
regions = [{ stand = "plant", polygon = [[0, 0], [120, 0], [120, 1024], [0, 1024]] }]
[views.both.tanks.b]
regions = [{ stand = "plant", polygon = [[130, 0], [251, 0], [251, 1024], [130, 1024]], look = "green" }]
[[questions]]
key = "growth"
ask = "Did one column grow faster?"
measure = "cover growth"
"""
    trial, faults = read_trial(text, where="trial.toml")
    assert faults == ()
    assert trial is not None
    assert trial.length_days == pytest.approx(4.75, rel=1e-12)
    assert trial.baseline_days == 0
    assert {tank.vessel for tank in trial.tanks.values()} == {None}
    assert [pane.corners_px for pane in trial.views["both"].panes] == [None, None]


@pytest.mark.parametrize("formula", ['MgSO4.7H2O = "5 g"', '"MgSO4·7H2O" = "5 g"', '"Epsom salt" = "5 g"'])
def test_a_hydrate_may_be_written_with_a_point_even_without_quotation_marks(formula):
    trial, faults = read_trial(changed([['KNO3 = "33 g"', f'KNO3 = "33 g", {formula}']]), where="trial.toml")
    assert faults == ()
    assert trial is not None
    assert trial.bottles["macro"].salts_g["MgSO4·7H2O"] == 5


def test_a_dry_salt_is_dosed_by_the_gram():
    text = changed(
        [
            [
                "[bottles.macro]",
                '[bottles.nitre]\ndry = "KNO3"\npacks = { KNO3 = "500 g for 7.90" }\n\n[bottles.macro]',
            ],
            ['{ of = "macro", amount = "4 strokes"', '{ of = "nitre", amount = "250 mg"'],
        ]
    )
    trial, faults = read_trial(text, where="trial.toml")
    assert faults == ()
    assert trial is not None
    assert trial.regimes["full"].doses[0].g == pytest.approx(0.25, rel=1e-12)
    assert set(trial.bottles["nitre"].content_mg_per_g) == {"potassium", "nitrate"}


SPOILT = st.tuples(
    st.integers(0, len(WHOLE)),
    st.integers(0, 40),
    st.one_of(
        st.text(max_size=12),
        st.sampled_from(
            ["[", "]", "{", "}", '"', "'", "=", "\n", "[[a]]", "nan", "-1", "1e999", "a.b.c = 1", "\x00", "[trial]"]
        ),
    ),
)


@settings(max_examples=150, deadline=None)
@given(st.lists(SPOILT, min_size=1, max_size=4))
def test_no_spoiling_of_a_trial_raises_anything(spoils):
    text = WHOLE
    for place, length, put in spoils:
        text = text[:place] + put + text[place + length :]
    trial, faults = read_trial(text, where="trial.toml")
    assert (trial is None) == bool(faults)
    for fault in faults:
        assert fault.what
        assert fault.line is None or 1 <= fault.line <= text.count("\n") + 1


VALUES = st.recursive(
    st.one_of(
        st.sampled_from(
            ["0", "-1", "1e400", "nan", "inf", "true", "2026-03-02", "10:00:00", "9" * 400, "'left'", "''"]
        ),
        st.text("0123456789 ,.%gmLcx/<>-", max_size=12).map(lambda text: f"'{text}'"),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=4).map(lambda values: f"[{', '.join(values)}]"),
        inner.map(lambda value: f"{{ of = {value} }}"),
    ),
    max_leaves=6,
)
ASSIGNMENTS = [
    number for number, line in enumerate(WHOLE.split("\n")) if " = " in line and not line.startswith((" ", "#"))
]


@settings(max_examples=200, deadline=None)
@given(st.sampled_from(ASSIGNMENTS), VALUES)
def test_no_value_of_any_key_raises_anything(number, value):
    lines = WHOLE.split("\n")
    lines[number] = f"{lines[number].partition(' = ')[0]} = {value}"
    trial, faults = read_trial("\n".join(lines), where="trial.toml")
    assert (trial is None) == bool(faults)
