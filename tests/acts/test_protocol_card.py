"""A protocol given away and a trial started from it: the same design, in other tanks, with other bottles."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from littoral.acts.check_trial import check_trial
from littoral.acts.protocol_card import give_protocol, start_from_protocol
from littoral.acts.trial_files import UnreadableFileError
from littoral.errors import FaultsError, LittoralError
from littoral.feeding.adds import week_adds_mg_per_l
from littoral.tank.volume import net_volume_l
from littoral.trial.card_code import LARGEST_BYTES, CodeError, decoded, encoded
from littoral.trial.model import Trial
from littoral.trial.protocol import ProtocolError, read_protocol, weekly_mg_per_l
from littoral.trial.written.reader import read_trial
from littoral.trial.written.starting import starting_text

CROSSOVER = """
[design]
kind = "crossover"
period = "3 weeks"
washout = "1 week"
order = "drawn by lot"
seed = 5
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    (tmp_path / "trial.toml").write_text(starting_text(title="Two ways of feeding", start="2026-03-02", seed=7))
    return tmp_path / "trial.toml"


def trial_of(file: Path) -> Trial:
    trial, faults = read_trial(file.read_text(), where=file.name)
    assert trial is not None, faults
    return trial


def week(trial: Trial, regime: str) -> dict[str, float]:
    vessel = trial.tanks["left"].vessel
    assert vessel is not None
    return week_adds_mg_per_l(trial.regimes[regime], trial.bottles, net_volume_l=net_volume_l(vessel))


def test_it_says_mg_per_l_and_no_products_places_or_tanks(file: Path, tmp_path: Path) -> None:
    given = give_protocol(file, tmp_path / "p.json")
    text = given.path.read_text()
    plain = json.loads(text)
    for regime in ("sparing", "full"):
        assert weekly_mg_per_l(plain["regimes"][regime]) == pytest.approx(week(trial_of(file), regime), rel=1e-3)
    for word in ("macro", "micro", "KNO3", "stroke", "tap water", "glass =", "2026-03-02", "EUR", "for 7.90"):
        assert word not in text
    assert decoded(given.code) == plain


def test_with_own_bottles_another_tank_gets_the_same_mg_per_l(file: Path, tmp_path: Path) -> None:
    given = give_protocol(file, tmp_path / "p.json")
    made = start_from_protocol(
        tmp_path / "mine",
        str(given.path),
        start="2026-05-04",
        zone="UTC",
        glass="120 x 50 x 50 cm",
        bottles_of=file,
        seed=3,
    )
    mine, theirs = trial_of(made.trial_file), trial_of(file)
    assert made.todo == 0
    assert check_trial(made.trial_file).faults == ()
    for regime in ("sparing", "full"):
        asked = week(theirs, regime)
        assert week(mine, regime) == pytest.approx(asked, rel=0.05)  # whole strokes and drops
    same = ("factor", "questions", "held_equal", "baseline_days", "length_days", "baseline_regime", "schedule", "bands")
    assert all(getattr(mine, name) == getattr(theirs, name) for name in same)
    assert [(arm.key, arm.name, arm.regime) for arm in mine.arms] == [(a.key, a.name, a.regime) for a in theirs.arms]
    assert mine.start.isoformat() == "2026-05-04"
    assert mine.source is not None
    assert mine.source.level_mg_per_l == {}


def test_without_bottles_check_names_every_place_to_fill_in(file: Path, tmp_path: Path) -> None:
    given = give_protocol(file, tmp_path / "p.json")
    made = start_from_protocol(tmp_path / "mine", given.code, start="2026-05-04", zone="UTC")
    faults = check_trial(made.trial_file).faults
    said = [str(fault) for fault in faults]
    assert sum("does not say what it holds" in one for one in said) == 2
    assert sum('is "TODO mL"' in one for one in said) == 4
    assert len(said) == 6
    assert made.todo == 8
    text = made.trial_file.read_text()
    filled = (
        text.replace("TODO mL", "2 mL").replace('name = "TODO"', 'name = "mine"\ndry = "KNO3"').replace("2 mL", "0.1 g")
    )
    made.trial_file.write_text(filled)
    assert check_trial(made.trial_file).faults == ()


def test_the_protocol_of_what_was_started_is_the_same_protocol(file: Path, tmp_path: Path) -> None:
    given = give_protocol(file, tmp_path / "p.json")
    made = start_from_protocol(tmp_path / "mine", str(given.path), zone="UTC", start="2026-05-04", bottles_of=file)
    again = give_protocol(made.trial_file, tmp_path / "again.json")
    first, second = (json.loads(one.path.read_text()) for one in (given, again))
    assert {key: second[key] for key in second if key != "regimes"} == {
        key: first[key] for key in first if key != "regimes"
    }


def test_a_crossover_keeps_its_design_and_draws_its_own_order(tmp_path: Path) -> None:
    text = starting_text(title="Swap", start="2026-03-02", seed=7, length="14 weeks", baseline="2 weeks") + CROSSOVER
    (tmp_path / "trial.toml").write_text(text)
    given = give_protocol(tmp_path / "trial.toml", tmp_path / "p.json")
    made = start_from_protocol(
        tmp_path / "mine", str(given.path), zone="UTC", start="2026-05-04", bottles_of=tmp_path / "trial.toml", seed=11
    )
    mine, theirs = trial_of(made.trial_file).plan, trial_of(tmp_path / "trial.toml").plan
    assert replace(mine, order_seed=None, swapped=()) == replace(theirs, order_seed=None, swapped=())
    assert mine.order_seed == 11


def test_it_can_be_scanned(file: Path, tmp_path: Path) -> None:
    cv2 = pytest.importorskip("cv2")
    given = give_protocol(file, tmp_path / "p.json", qr=tmp_path / "qr.png")
    assert given.whole
    read, *_ = cv2.QRCodeDetector().detectAndDecode(cv2.imread(str(tmp_path / "qr.png")))
    assert read == given.code
    assert decoded(read) == json.loads(given.path.read_text())


def test_too_long_for_a_code_it_says_so_and_gives_the_link(file: Path, tmp_path: Path) -> None:
    long = file.read_text()
    for number in range(60):
        long += f'\n[[questions]]\nkey = "q{number}"\nask = "Question {hash((number, 3))}?"\nmeasure = "care minutes"\n'
    file.write_text(long)
    link = "https://club.example.org/p.json"
    given = give_protocol(file, tmp_path / "p.json", qr=tmp_path / "qr.svg", link=link)
    assert not given.whole
    assert given.qr_text == f"{link}#sha256={given.sha256}"
    assert (tmp_path / "qr.svg").read_text().startswith("<?xml")


def test_what_is_no_protocol_is_refused(file: Path, tmp_path: Path) -> None:
    code = give_protocol(file, tmp_path / "p.json").code
    plain = json.loads((tmp_path / "p.json").read_text())
    for card in (code[:-30], "LITTORAL1:%%%", "LITTORAL1:", code[:40] + "~" + code[41:]):
        with pytest.raises(CodeError):
            start_from_protocol(tmp_path / "mine", card)
    with pytest.raises(CodeError, match="more than"):
        decoded(encoded("x" * (2 * LARGEST_BYTES)))
    with pytest.raises(UnreadableFileError):
        start_from_protocol(tmp_path / "mine", str(tmp_path / "none.json"))
    for change in (
        {"format": "other"}, {"arms": []}, {"arms": None}, {"tanks_per_arm": 10**9}, {"regimes": {}},
        {"title": None, "regimes": 3},
        {"length_days": 5}, {"length_days": "long"},
    ):  # fmt: skip
        with pytest.raises(ProtocolError):
            read_protocol(plain | change)
    (tmp_path / "bad.json").write_text(json.dumps(plain | {"questions": [{"key": "x"}]}))
    with pytest.raises(ProtocolError, match="mistake"):
        start_from_protocol(tmp_path / "mine", str(tmp_path / "bad.json"), bottles_of=file, zone="UTC")
    with pytest.raises(FaultsError, match="glass"):
        start_from_protocol(tmp_path / "mine", str(tmp_path / "p.json"), glass="wide", zone="UTC")
    assert not (tmp_path / "mine").exists()


def test_a_bottle_of_which_nothing_is_known_makes_no_protocol(file: Path, tmp_path: Path) -> None:
    file.write_text(file.read_text().replace('glass = "60 x 30 x 30 cm"', "").replace('fill = "27 cm"', ""))
    with pytest.raises(LittoralError):
        give_protocol(file, tmp_path / "p.json")


@pytest.mark.parametrize(
    ("data", "text"), [(b"AB", "BB8"), (b"Hello!!", "%69 VD92EX0"), (b"base-45", "UJCLQE7W581"), (b"ietf!", "QED8WEX0")]
)
def test_base_45_as_in_its_standard(data: bytes, text: str) -> None:
    """RFC 9285 (Base45), sections 4.3 and 4.4."""
    from littoral.trial.card_code import base45, from_base45

    assert base45(data) == text
    assert from_base45(text) == data


@pytest.mark.parametrize("text", ["GGW", ":::", "A", "ab", "BB8B"])
def test_what_base_45_does_not_hold_is_refused(text: str) -> None:
    from littoral.trial.card_code import from_base45

    with pytest.raises(ValueError, match="no text in base 45"):
        from_base45(text)
