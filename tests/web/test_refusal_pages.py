"""Every refusal that a person can meet says what happened, that nothing is lost, and where to go."""

from __future__ import annotations

import re

import pytest

from littoral.web.refusal_page import ADVICE, PAGES, near_pages, near_trials


def _helps(answer, *said: str) -> None:
    text = answer.text
    assert answer.headers["content-type"].startswith("text/html")
    assert "Where to go" in text
    assert re.search("was changed|kept", text)
    assert 'name="token"' not in text
    for one in said:
        assert one in text


def test_a_page_that_is_not_there_or_has_another_address_says_where_to_go(asking):
    _helps(asking.get("/histroy"), "There is no page at /histroy", 'href="/history"')
    _helps(asking.get("/bench"), 'href="/history"')
    _helps(asking.get("/<b>"), 'href="/today"')
    assert asking.get("/histroy").status_code == 404


def test_a_wrong_trial_names_those_that_are_there(asking):
    answer = asking.get("/trial/smal")
    assert answer.status_code == 404
    _helps(answer, "holds no trial", 'href="/trial/small"')
    _helps(asking.get("/trial/small/nothing"), 'href="/trial/small"')


@pytest.mark.parametrize(
    ("headers", "status"), [({"origin": "http://elsewhere.example"}, 403), ({"content-type": "text/plain"}, 415)]
)
def test_what_the_guard_refuses_is_a_page_for_a_person_and_words_for_a_script(asking, headers, status):
    answer = asking.post("/new", {}, headers=headers)
    assert answer.status_code == status
    _helps(answer, "your browser still has it", 'href="/today"')
    plain = asking.post("/new", {}, headers={**headers, "accept": "*/*"})
    assert plain.text.startswith(f"Refused ({status}).")
    assert asking.post("/api/entries", {}, headers=headers).text.startswith("Refused (")


def test_a_token_of_another_start_and_a_body_too_large_are_pages_too(asking):
    _helps(asking.post("/new", {"token": "old"}), "before Littoral was last started", "Go back")
    large = asking.post("/new", {"title": "a" * 70_000})
    assert large.status_code == 413
    _helps(large, "too large")


def test_a_wrong_host_learns_nothing_of_ours(asking):
    answer = asking.get("/", headers={"host": "elsewhere.example"})
    assert answer.status_code == 421
    assert answer.headers["content-type"].startswith("text/plain")


def test_a_defect_says_that_what_was_recorded_is_kept(asking, bench):
    def broken() -> None:
        raise RuntimeError("inside")

    bench.trials = broken
    answer = asking.get("/")
    assert answer.status_code == 500
    _helps(answer, "went wrong")
    assert "inside" not in answer.text
    assert asking.get("/", headers={"accept": "*/*"}).text.startswith("Something in littoral went wrong")


def test_every_page_that_is_proposed_is_there_and_every_status_has_its_words(asking):
    from littoral.web.app import ROUTES

    addresses = {route.path for route in ROUTES}
    assert set(PAGES) <= addresses
    assert {400, 401, 403, 404, 408, 409, 413, 414, 415, 422, 429, 500, 503} <= set(ADVICE)
    assert near_pages("/xyzzy") == ()
    assert near_pages("/Settings/") == (("/settings", "Language and units"),)
    assert near_trials("b", [("a", "A"), ("bb", "B")])[0] == ("bb", "B")
    assert len(near_trials("q", [(str(one), "") for one in range(9)])) == 5
