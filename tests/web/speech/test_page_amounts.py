"""One pass over a page: what is read is turned, what is sent back or was typed is not."""

from __future__ import annotations

import re

import pytest
from tests.web.conftest import Asking

from littoral.speech.manner import Manner, speaking
from littoral.web.speech.page_amounts import in_visitors_units
from littoral.web.speech.spoken import COOKIE, cookie_text

AMERICAN = Manner(volume="gal", dose="fl oz", mass="oz", length="in", temperature="°F", hardness="ppm CaCO3")
GERMAN = Manner(language="de")


@pytest.mark.parametrize(
    ("html", "american", "german"),
    [
        ("<p>30.5 mL</p>", "<p>1.03 fl oz</p>", "<p>30,5 mL</p>"),
        ('<input value="30.5 mL">', None, None),
        ('<b data-of="1 mL">1.5 mL</b>', '<b data-of="1 mL">0.0507 fl oz</b>', '<b data-of="1 mL">1,5 mL</b>'),
        ("<script>let x = '1.5 mL'</script>", None, None),
        ("<option>1.5 mL</option>", "<option>0.0507 fl oz</option>", "<option>1,5 mL</option>"),
        ("<select><option>1.5 mL</option></select>", None, None),
        ('<span class="formula">1.5 mL / 60 L</span>', None, '<span class="formula">1,5 mL / 60 L</span>'),
        ("<cite>doi 10.1016/j.x, 1.5 mL</cite>", None, None),
        ('<i aria-label="1.5 mL"></i>', '<i aria-label="0.0507 fl oz"></i>', '<i aria-label="1,5 mL"></i>'),
        ("<td>the 1.5 mL arm</td>", None, None),
        ("<p>5.5&nbsp;mL</p>", "<p>0.186&nbsp;fl oz</p>", "<p>5,5&nbsp;mL</p>"),
    ],
)  # fmt: skip
def test_what_is_turned(html: str, american: str | None, german: str | None) -> None:
    own = ["the 1.5 mL arm"]
    assert in_visitors_units(html, own=own) == html
    with speaking(AMERICAN):
        assert in_visitors_units(html, own=own) == (american or html)
    with speaking(GERMAN):
        assert in_visitors_units(html, own=own) == (german or html)


def _shown(page: str) -> str:
    page = re.sub(r"<(script|style|select|datalist|cite|code|title|q)\b.*?</\1>", " ", page, flags=re.DOTALL)
    page = re.sub(r'<span class="(formula|result)">[^<]*</span>', " ", page)
    return re.sub(r"<[^<>]*>", "|", page)


def test_no_decimal_point_is_left_on_a_german_sheet_and_fields_stay(asking: Asking) -> None:
    plain = asking.get("/costs").text
    german = asking.get("/costs", headers={"cookie": f"{COOKIE}={cookie_text(GERMAN)}"}).text
    assert re.search(r"\d\.\d", _shown(plain))
    assert re.findall(r"(?<![\w.])\d+\.\d+(?![\w.])", _shown(german)) == []
    assert re.findall(r'<input [^>]*value="([^"]*)"', german) == re.findall(r'<input [^>]*value="([^"]*)"', plain)


def test_no_metric_dose_is_left_on_an_american_sheet(asking: Asking) -> None:
    page = asking.get("/mix", headers={"cookie": f"{COOKIE}={cookie_text(AMERICAN)}"}).text
    assert " oz" in _shown(page)
    assert re.findall(r"\d (?:mL|L|g)(?![\w/])", _shown(page)) == []
