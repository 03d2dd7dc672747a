"""Findings of many keepers pooled from their files: published numbers through the same door, and what is refused."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.acts.pool_findings import (
    MAX_FILES,
    Margin,
    Source,
    forest,
    margin_of,
    moderators_of,
    pool_findings,
    read_moderator,
    scale_of,
    sources_of,
)
from littoral.acts.trial_files import UnreadableFileError
from littoral.errors import FaultsError
from littoral.findings.keeper_files import KeeperFile
from littoral.findings.model import CarryingDay, Evidence, Influence, Interval, LeftOut, Part, Way
from littoral.findings.pooled import KeepersError
from littoral.findings.response_ratio import log_ratio_of
from littoral.publish.findings_json import findings_json
from littoral.publish.read_findings import read_findings
from littoral.stats.effect_sizes import Group, log_response_ratio
from littoral.stats.pooling import pool
from littoral.stats.series import Series


@pytest.fixture(autouse=True, scope="module")
def _made(keepers_made: ModuleType) -> None:
    global made
    made = keepers_made


made: ModuleType


def sources(files: dict[str, bytes]) -> list[Source]:
    return [Source(keeper, f"{keeper}.json", data) for keeper, data in files.items()]


def refusal(files: dict[str, bytes], **more: object) -> str:
    with pytest.raises(FaultsError) as raised:
        pool_findings(sources(files), **more)
    return str(raised.value)


def test_the_bcg_trials_come_out_as_published_through_files_and_latitude_explains_them() -> None:
    """R metafor on metadat's dat.bcg: REML, test="knha" and mods = ~ ablat; the sources stand in the rows."""
    files, latitude = made.bcg()
    done = pool_findings(sources(files), moderators={"latitude": latitude})
    found = done.found
    assert found.scale == "ratio"
    assert found.claim is not None
    assert found.pooled is not None
    assert found.claim.value == pytest.approx(-0.714532, abs=5e-7)
    assert found.pooled.tau2 == pytest.approx(0.313243, abs=5e-7)
    assert found.pooled.q == pytest.approx(152.233008, abs=5e-5)
    assert float(found.pooled.p_value[0]) == pytest.approx(0.001920, abs=5e-7)
    assert math.exp(found.claim.value) == pytest.approx(0.489421, abs=5e-7)
    assert "−51 %" in found.wording
    (slope,) = done.moderated
    assert slope.slope is not None
    assert slope.slope.value == pytest.approx(-0.0291, abs=5e-5)
    assert slope.left == pytest.approx(0.076355, abs=1e-5)
    assert "The difference goes with it" in slope.wording
    assert "no proof of a cause" in slope.wording


@given(st.floats(0.5, 20), st.floats(0.5, 20), st.floats(0.01, 0.3), st.floats(0.01, 0.3))
def test_a_ratio_of_independent_arms_is_the_log_response_ratio(m1: float, m2: float, cv1: float, cv2: float) -> None:
    finding = made.keeper_finding((m1, m1 * cv1), (m2, m2 * cv2))
    ratio = log_ratio_of(finding)
    n = 9
    published = log_response_ratio(Group(m2, m2 * cv2 * math.sqrt(n), n), Group(m1, m1 * cv1 * math.sqrt(n), n))
    assert ratio is not None
    assert ratio.value == pytest.approx(published.value)
    assert ((ratio.high - ratio.low) / (2 * 1.959964)) ** 2 == pytest.approx(published.variance)


def test_what_arms_have_in_common_leaves_the_variance_of_the_ratio() -> None:
    """Against drawn pairs: two tanks that go up and down together tell their ratio better than each its value."""
    rng = np.random.default_rng(7)
    shared, own = rng.normal(0, 0.10, 400_000), rng.normal(0, 0.04, (2, 400_000))
    first, second = 1.0 + shared + own[0], 1.3 + shared + own[1]
    finding = made.keeper_finding(
        (1.0, float(first.std())), (1.3, float(second.std())), error=float((second - first).std())
    )
    ratio = log_ratio_of(finding)
    assert ratio is not None
    drawn = float(np.log(second / first).std())
    assert (ratio.high - ratio.low) / (2 * 1.959964) == pytest.approx(drawn, rel=0.05)


def test_a_growth_that_is_not_above_zero_has_no_ratio_and_differences_are_pooled() -> None:
    files = made.growths([0.1, 0.2, 0.15, 0.12, 0.3])
    files["home 6"] = made.keeper_file(made.keeper_finding((-0.001, 0.002), (0.01, 0.002)))
    done = pool_findings(sources(files))
    assert done.found.scale == "difference"
    assert done.found.unit == "per day"
    assert "has no ratio here" in refusal(files, scale="ratio")


def test_arms_written_the_other_way_round_are_turned() -> None:
    files = made.growths([0.1, 0.2, 0.15, 0.12, 0.3, 0.22])
    straight = pool_findings(sources(files)).found
    document = json.loads(files["home 3"])
    document["trial"]["arms"].reverse()
    finding = document["findings"][0]
    finding["arms"].reverse()
    finding["effect"] *= -1
    ends = finding["interval"]
    ends["low"], ends["high"] = -ends["high"], -ends["low"]
    turned = pool_findings(sources(files | {"home 3": json.dumps(document).encode()})).found
    assert turned.claim is not None
    assert straight.claim is not None
    assert turned.claim.value == pytest.approx(straight.claim.value, rel=1e-12)


def test_below_five_keepers_nothing_is_claimed_and_no_average_is_there() -> None:
    done = pool_findings(sources(made.growths([0.3, 0.29, 0.32, 0.31])))
    assert done.found.rule == "too few keepers to pool"
    assert done.as_json()["average"] is None
    assert all(one["weight"] is None for one in done.as_json()["keepers"])


def test_each_keeper_is_left_out_in_turn() -> None:
    ratios = [0.1, 0.2, 0.15, 0.12, 0.3, 0.22]
    done = pool_findings(sources(made.growths(ratios)))
    for place, without in enumerate(done.found.without):
        rest = np.delete(np.array(ratios), place)
        assert without.value == pytest.approx(pool(rest, np.full(5, 0.05**2)).value, rel=1e-6)


def test_a_margin_is_in_percent_for_ratios_and_in_the_unit_for_differences() -> None:
    files = made.growths([0.01, -0.01, 0.0, 0.02, -0.02], error=0.01)
    assert pool_findings(sources(files), smallest=Margin(10, percent=True)).found.rule == "no larger than"
    assert 'write the margin in percent, such as "10 %"' in refusal(files, smallest=Margin(0.01, percent=False))
    assert "margin in per day, without %" in refusal(files, smallest=Margin(1, percent=True), scale="difference")
    assert margin_of("10 %", where="--smallest") == Margin(10.0, percent=True)
    assert margin_of(" ", where="--smallest") is None
    for text in ("ten", "-3 %", "nan", "0"):
        with pytest.raises(FaultsError, match="above 0"):
            margin_of(text, where="--smallest")
    with pytest.raises(FaultsError, match='Write "ratio"'):
        scale_of("log", where="--as")


def test_the_same_trial_twice_is_refused_by_name() -> None:
    files = made.growths([0.1, 0.2, 0.15])
    said = refusal(files | {"copy": files["home 2"]})
    assert said == (
        "copy.json: holds the same trial with the same numbers as home 2.json. "
        "One home counts once: leave one of them out."
    )
    named = [*sources(files), *sources(files)[:1]]
    with pytest.raises(FaultsError, match=r"home 1\.json: is named twice\. One home counts once"):
        pool_findings(named)
    with pytest.raises(KeepersError, match="more than one result"):
        pool_findings([*sources(files), Source("home 1", "again.json", made.growths([0.4])["home 1"])])


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"factor": "light"}, "varied 'light', where home 1.json varied 'feeding regime'"),
        ({"rendered": True}, "is a rendered demo"),
    ],
)
def test_what_does_not_fit_is_refused_with_the_reason_or_left_out(changed: dict[str, object], said: str) -> None:
    files = made.growths([0.1, 0.2, 0.15, 0.12, 0.3])
    files["odd"] = made.keeper_file(made.keeper_finding((0.03, 0.001), (0.04, 0.001)), **changed)
    assert said in refusal(files)
    done = pool_findings(sources(files), leave_out=True)
    assert len(done.found.results) == 5
    assert said in str(done.left_out[0])
    assert done.as_json()["left_out"]


def test_other_arms_other_doses_and_other_questions_are_told_apart() -> None:
    finding = made.keeper_finding((0.03, 0.001), (0.04, 0.001))
    files = made.growths([0.1, 0.2])
    trial = made.keeper_trial()
    renamed = replace(trial, arms=(trial.arms[0], replace(trial.arms[1], name="lush")))
    assert "compares 'sparing' and 'lush'" in refusal(files | {"odd": made.keeper_file(finding, renamed)})
    richer = made.keeper_trial(ml=10.0)
    said = refusal(files | {"odd": made.keeper_file(finding, richer)})
    assert "gives more nitrate a week" in said
    assert "not the same regime" in said
    pool_findings(sources(files | {"even": made.keeper_file(finding, made.keeper_trial(ml=5.0))}))
    redness = made.keeper_finding((1.0, 0.1), (2.0, 0.1), measure="redness", unit="a*")
    assert "did not ask about height growth, but about redness" in refusal(files | {"odd": made.keeper_file(redness)})
    unlike = replace(finding, absolute=False)
    assert "without a card" in refusal(files | {"odd": made.keeper_file(unlike)})
    hasty = replace(finding, rule="too short to follow the regime")
    assert "swapped too soon" in refusal(files | {"odd": made.keeper_file(hasty)})
    assert "no measure" in refusal(files, measure="luck")


def test_arms_carry_what_their_regime_plans_for_a_week() -> None:
    """40 mg nitrate in each mL: 1 mL once and 4 mL three times a week, in 60 x 30 x 27 cm = 48.6 L."""
    arms = json.loads(made.growths([0.1])["home 1"])["trial"]["arms"]
    planned = [arm["fed_mg_per_l_per_week"]["nitrate"] for arm in arms]
    assert planned == pytest.approx([40 / 48.6, 480 / 48.6])
    trial = made.keeper_trial()
    dry = replace(trial, tanks={key: replace(tank, vessel=None) for key, tank in trial.tanks.items()})
    finding = made.keeper_finding((0.03, 0.001), (0.04, 0.001))
    assert all(
        "fed_mg_per_l_per_week" not in arm for arm in json.loads(made.keeper_file(finding, dry))["trial"]["arms"]
    )


def test_a_finding_is_read_as_it_was_written() -> None:
    """Written, read and written again it is the same to the last digit; an open side of an interval stays open."""
    trial = made.keeper_trial()
    day = np.array([0.5, 1.5, 2.5])
    series = Series("canopy height", "cm", "level", day, np.array([6.0, np.nan, 6.5]), np.full(3, 0.1))
    without = LeftOut("day", "2", "day 2", 0.004, -0.01, math.inf, "cannot tell")
    finding = replace(
        made.keeper_finding((0.03, 0.001), (0.04, 0.001)),
        evidence=Evidence(
            (0.5, 2.5),
            ("p1",),
            ("e1",),
            {"left/tall": series},
            {"e1": "dose missed"},
            ("remark",),
            (Influence("day", 2, without, (without,), "Without day 2 it would be nothing."),),
            (CarryingDay(2, "the last"),),
        ),
        plain_method=("Measured.", "Compared."),
        cannot_show="It cannot show why.",
        claim=Interval(0.01, -0.01, math.inf),
        before=Interval(0.001, -0.004, 0.006),
        change=Interval(0.009, 0.001, 0.017),
        ways=(Way("pairs", 12, 20.0),),
    )
    finding = replace(finding, parts=(Part("tall", "tall stem", finding.arms, "tall stem: 0.03 and 0.04"),))
    data = made.keeper_file(finding, trial)
    read = read_findings(data, keeper="home", where="home.json")
    assert isinstance(read, KeeperFile)
    assert findings_json(trial, read.findings) == json.loads(data)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "no JSON that can be read"),
        (b"[" * 50_000, "nested too deep"),
        (b"\xff\xfe", "no JSON that can be read"),
        (b'{"schema": "other 3"}', "says it is 'other 3'"),
        (b'{"a": 1, "a": 2}', "stands there twice"),
        (b'{"a": 1e999}', "too large for a number"),
        (b'{"a": ' + b"9" * 5000 + b"}", "too large for a number"),
        (b'{"a": NaN}', "NaN is no number"),
        (b'{"a": "\\ud800"}', "no JSON that can be read"),
        (b" " * 2_000_001, "more than the 2,000,000 that are read"),
    ],
)
def test_a_file_that_is_no_findings_json_is_refused_in_one_line(data: bytes, said: str) -> None:
    found = refusal({"bad": data})
    assert said in found
    assert found.startswith("bad.json: ")
    assert len(found) < 400


def test_mistakes_in_a_file_are_told_with_their_place() -> None:
    document = json.loads(made.growths([0.1])["home 1"])
    document["findings"][0]["rule"] = "always better"
    document["findings"][0]["extra"] = 1
    del document["trial"]["factor"]
    document["trial"]["start"] = "soon"
    said = refusal({"bad": json.dumps(document).encode()})
    for part in ("$.findings[0].rule: 'always better'", "'extra'", "'factor' is a required", "'soon' is not a 'date'"):
        assert part in said


@pytest.mark.parametrize(
    ("path", "value", "said"),
    [
        (("measure",), "luck", "'luck' is no measure"),
        (("interval",), {"low": 5.0, "high": 6.0}, "does not hold the effect"),
        (("arms", 0, "arm"), "third", "'third' is none of the trial's arms"),
    ],
)
def test_what_a_schema_cannot_say_is_checked_too(path: tuple[str | int, ...], value: object, said: str) -> None:
    document = json.loads(made.growths([0.1])["home 1"])
    place = document["findings"][0]
    for step in path[:-1]:
        place = place[step]
    place[path[-1]] = value
    assert said in refusal({"bad": json.dumps(document).encode()})


def test_files_are_called_by_their_name_their_folder_or_as_asked(tmp_path: Path) -> None:
    data = made.growths([0.1])["home 1"]
    for file in ("oak school.json", "birch/results/findings.json", "elm/findings.json"):
        (tmp_path / file).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / file).write_bytes(data)
    named = [str(tmp_path / "oak school.json"), str(tmp_path / "birch/results/findings.json")]
    named += [str(tmp_path / "elm/findings.json"), f"ash = x={tmp_path / 'none.json'}"]
    assert [one.keeper for one in sources_of(named[:3])] == ["oak school", "birch", "elm"]
    assert sources_of([f"my home={named[0]}"])[0].keeper == "my home"
    with pytest.raises(UnreadableFileError, match="cannot be read"):
        sources_of(named)
    with pytest.raises(FaultsError, match=f"at most {MAX_FILES}"):
        sources_of([named[0]] * (MAX_FILES + 1))


def test_moderators_are_read_from_csv_and_must_name_every_keeper(tmp_path: Path) -> None:
    values = read_moderator(b"keeper;value\nhome 1;2,5\nhome 2;40\n", where="light.csv")
    assert values == {"home 1": 2.5, "home 2": 40.0}
    with pytest.raises(FaultsError) as raised:
        read_moderator(b"keeper,value\nhome 1,much\nhome 2,3\nhome 2,4\n", where="light.csv")
    assert [fault.line for fault in raised.value.faults] == [2, 4]
    files = made.growths([0.1, 0.2, 0.15, 0.12, 0.3, 0.22])
    with pytest.raises(KeepersError, match="light has no value for home 3, home 4, home 5, home 6"):
        pool_findings(sources(files), moderators={"light": values})
    even = dict.fromkeys(files, 1.0)
    with pytest.raises(KeepersError, match="same for all keepers"):
        pool_findings(sources(files), moderators={"light": even})
    rising = {keeper: float(place) for place, keeper in enumerate(files)}
    (one,) = pool_findings(sources(files), moderators={"light": rising}).moderated
    assert "description only" in one.wording
    few = pool_findings(sources(made.growths([0.1, 0.2, 0.3])), moderators={"light": rising}).moderated[0]
    assert few.slope is None
    assert "too few" in few.wording
    (tmp_path / "light.csv").write_text("keeper,value\nhome 1,2\n")
    assert moderators_of([f"light={tmp_path / 'light.csv'}"]) == {"light": {"home 1": 2.0}}
    with pytest.raises(FaultsError, match="Write it like"):
        moderators_of(["light"])


def test_the_picture_shows_ratios_in_percent() -> None:
    chart = forest(pool_findings(sources(made.growths([0.1, 0.2, 0.15, 0.12, 0.3, 0.22]))))
    assert chart is not None
    assert chart.title == "Full against sparing, 6 keepers"
    assert "home 2 +22 % (95 % interval +11 to +35)." in chart.alt
