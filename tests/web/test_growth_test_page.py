"""The page of a growth test: a pasted table or a file in, an answer out; nothing is kept."""

from __future__ import annotations

from typing import Any

import pytest

from littoral.acts.growth_test.give import EXAMPLE
from littoral.web.limits import MAX_UPLOAD_BYTES


def send(asking: Any, table: str = "", file: bytes = b"", **fields: str) -> Any:
    headers = {"origin": asking.base, "sec-fetch-site": "same-origin"}
    data = {"token": asking.app.state.token, "table": table, **fields}
    files = [("file", ("counts.csv" if file else "", file, "text/csv"))]
    return asking("POST", "/growth-test", data=data, files=files, headers=headers)


def test_the_empty_form_says_what_to_bring_and_has_an_example(asking: Any) -> None:
    page = asking.get("/growth-test")
    assert page.status_code == 200
    assert "<code>vessel</code>" in page.text
    assert "<svg" not in page.text
    assert "c1,0,12,34,71,148" in asking.get("/growth-test?example").text
    assert 'href="/growth-test"' in asking.get("/").text


@pytest.mark.parametrize("way", ["pasted", "file"])
def test_a_table_is_answered_with_criteria_pictures_and_words(asking: Any, way: str) -> None:
    page = send(asking, EXAMPLE if way == "pasted" else "", EXAMPLE.encode() if way == "file" else b"", williams="yes")
    assert page.status_code == 200
    for part in (
        "Valid by the control criteria of OECD 221",
        "effect of the dose at 8 and 32 mg/L",
        "Passed",
        "asked under 2.5 days",
        "Williams t",
        "a difference under 0.018 per day (5.2 % of the control) could have been missed",
        "Shapiro and Wilk",
        "day 3 to 5",
    ):
        assert part in page.text
    assert page.text.count("<svg") == 6
    assert " style=" not in page.text
    assert ("counts.csv" in page.text) == (way == "file")


def test_mistakes_are_shown_at_their_place_and_the_table_stays(asking: Any) -> None:
    page = send(asking, "vessel,dose,day,fronds\na,0,0,x<y\n")
    assert page.status_code == 422
    assert "column D (fronds), line 2" in page.text
    assert "x&lt;y" in page.text
    assert "x<y" not in page.text
    assert "Choose a file, or paste the cells" in send(asking).text
    assert send(asking, "only words").status_code == 422
    many = "vessel,dose,day,fronds\n" + "".join(f"a,0,{day},?\n" for day in range(80))
    assert "And 30 more" in send(asking, many).text


def test_only_the_page_itself_may_send_and_no_more_than_is_taken(asking: Any) -> None:
    assert asking("POST", "/growth-test", files=[("file", ("a.csv", b"1", "text/csv"))]).status_code == 403
    assert send(asking, file=b" " * MAX_UPLOAD_BYTES).status_code == 413
