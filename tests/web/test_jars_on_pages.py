"""What stands on a jar, on the pages: other hydrates, purity, labels in both countings, blends, and limits derived."""

from __future__ import annotations

import csv
import html
import re
from urllib.parse import urlencode

import pytest

OVER = {"dose": "400 mL"}
MAGNESIUM = {"how": "target", "target.1.is": "1 mg/L", "target.1.of": "magnesium", "salts.1.of": "MgSO4·7H2O",
             "without": "salts.2,salts.3"}  # fmt: skip
BAG = {"salts.1.of": "bag", "own.1.name": "bag", "own.1.grade": "5-10-20", "own.1.label.1.of": "NO3-N",
       "own.1.label.1.is": "5 %"}  # fmt: skip


@pytest.fixture
def said(asking):
    """Open a sheet with these fields and give all its words, derivations too."""

    def words(path: str, **fields: str) -> str:
        text = asking.get(f"{path}?{urlencode(fields)}").text
        plain = html.unescape(re.sub(r"<[^>]*>", "", text[text.index('<form id="sheet"') :]))
        return " ".join(plain.replace("\u2060", "").split())

    return words


def test_another_hydrate_and_an_impure_jar(said):
    pure = said("/mix", **MAGNESIUM)
    # 47.27 g: 9.545 g of magnesium, 120.368 / 24.305 g of MgSO4 for each
    assert "If your jar holds MgSO4 anhydrous instead of MgSO4·7H2O: 47.27 g" in pure
    jar = said("/mix", **MAGNESIUM, **{"purity.1.is": "98", "purity.1.of": "MgSO4·7H2O"})
    assert "that is 98.77 g" in jar
    assert "of a jar that is 98 % pure 96.799 g / 0.98 = 98.775 g" in jar
    assert "47.27 g" in jar


@pytest.mark.parametrize(
    ("purity", "told"),
    [
        ("0", "It must be above zero"),
        ("101 %", "above 100 %"),
        ("nan", "does not begin with a number"),
        ("", "is empty"),
    ],
)
def test_a_purity_that_cannot_be_is_told_at_its_field(asking, purity, told):
    fields = {"purity.1.of": "KNO3", "purity.1.is": purity}
    text = asking.get(f"/mix?{urlencode(fields)}").text
    said_there = re.search(r'id="purity.1.(?:is|of)-told" role="alert">([^<]+)<', text)
    assert said_there is not None
    assert told in html.unescape(said_there[1])
    assert 'data-figure="adds.nitrate"' not in text


def test_a_label_in_both_countings_with_its_trap(said):
    text = said("/mix", **BAG, **{"own.1.counting": "not clear"})
    assert "bag: 5-10-20 in both countings" in text
    assert "4.36 % P" in text
    assert "16.6 % K" in text
    assert "Oxide or element?" in text
    assert "Reckoned as oxides" in text
    assert "Reckoned as oxides" not in said("/mix", **BAG)


def test_each_limit_answers_why(asking):
    text = asking.get(f"/mix?{urlencode(OVER)}").text
    stopped = text[text.index('data-live="stop"') : text.index('data-live="holds"')]
    assert 'data-why="passed.nitrate, BC, short"' in stopped
    assert 'data-why="limits.' in text
    assert 'data-why="source-limits.' in asking.get("/water").text


def test_the_table_of_an_overridden_bottle_says_why(asking):
    overridden = re.search(r'name="passing" value="([^"]*)"', asking.get(f"/mix?{urlencode(OVER)}").text)
    assert overridden is not None
    fields = {**OVER, "anyway": "a bucket of plants", "overridden": overridden[1]}
    rows = list(csv.DictReader(asking.get(f"/mix/weigh-out.csv?{urlencode(fields)}").text.splitlines()))
    assert rows
    assert {row["given all the same because"] for row in rows} == {"a bucket of plants"}
    assert all("nitrate, BC, short" in row["one dose passes"] for row in rows)


def test_this_water_with_pure_water_and_no_salt(said):
    text = said("/water")
    assert "Without any salt, 11.7 L" in text
    assert "share of this water for hardness (6 - 0) / (10.241 - 0) = 58.6 %" in text
    none = said("/water", target_gh="15 dGH")
    assert "Without any salt no mixture with pure water has 15 dGH of hardness" in none
    assert "If your jar holds MgSO4 anhydrous instead of MgSO4·7H2O" in text
