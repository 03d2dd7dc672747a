"""The page of levels: it says what was estimated, a what-if is answered and writes nothing, empty trials say why."""

from __future__ import annotations

import html
import re
import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from tests.web.conftest import PORT, Asking

from littoral.acts.import_trial import import_trial
from littoral.acts.leaf_signs import leaf_signs
from littoral.acts.levels_page import page_of, view_levels
from littoral.acts.levels_words import change_words, day_words
from littoral.acts.other_levels import other_levels
from littoral.findings.estimates.other_regime import changed_regime, other_bands, regime_now
from littoral.publish.level_words import ends, mg
from littoral.web.app import create_app
from littoral.web.book_bench import BookBench
from littoral.web.templating import page_html
from littoral.web.waiting import Waiting, one_thread

NOW = datetime(2026, 3, 17, 12, tzinfo=UTC)
LEVELS = "/trial/two-tanks/levels"
FILES = Path(__file__).parent.parent / "levels_trial"


def served(folder: Path, now: datetime = NOW) -> Asking:
    return Asking(create_app(folder, port=PORT, bench=BookBench(folder, now=lambda: now)))


@pytest.fixture(scope="module")
def asked(levels_logbook) -> Iterator[Asking]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("littoral.web.levels.pages.QUICK_ANSWER_S", 200)
        asking = served(levels_logbook)
        assert asking.get(LEVELS).status_code == 200
        yield asking
        asking.app.state.levels.close()


@pytest.fixture(scope="module")
def page(asked):
    return asked.app.state.levels.pages.known("two-tanks")


def said(text: str) -> str:
    """The words of a page, tags left out, blanks made one."""
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]*>", " ", text)))


def what_if(asked: Asking, **fields: str):
    answer = asked.post(f"{LEVELS}/what-if.json", {"tank": "left", **fields})
    return answer.status_code, answer.json()


def test_the_words_tell_what_was_estimated(asked, page):
    words = said(asked.get(LEVELS).text)
    for one in page.estimates.levels:
        day, level = one.before_change
        assert f"just before last Saturday's change: {mg(level.median)} mg/L (90 %: " in words
        assert day < page.now_day
        ahead, coming = one.before_next
        assert ahead > page.now_day
        assert f"Before Saturday's change it will be about {mg(coming.median)} mg/L" in words
    assert "No reading yet: from doses and what is usual alone." in words  # potassium
    assert "It leaves its band of 5 to 25 mg/L within two weeks with a chance of" in words
    assert "4 readings, and all that went in and out" in words
    assert "Tuesday 17 March 2026, day 15" in words


def test_a_headline_is_of_the_change_before_and_not_of_the_next(page):
    left = page.nutrients[0].words[0]
    one = page.estimates.of("left", "nitrate")
    before, ahead = one.before_change[1].median, one.before_next[1].median
    assert mg(before) != mg(ahead)
    assert left.headline[1] == f"{mg(before)} mg/L"


def test_net_removal_is_said_and_neither_fastest_uptake_nor_half_level(asked, page):
    text = asked.get(LEVELS).text
    assert "mg/L per day" in said(text)
    now = text[: text.index('id="sure"')]
    assert "half" not in said(now)


def test_a_flagged_reading_is_asked_about_and_leads_to_its_entry(asked, page):
    text = asked.get(LEVELS).text
    (row,) = page.surprises
    assert "100 mg/L" in row.what
    assert f'href="/trial/two-tanks?day=12#entry-{row.entry_id}"' in text
    assert "Was it this tank, this kit, this day?" in said(text)


def test_the_table_says_how_bands_narrowed_and_a_test_is_advised(asked, page):
    words = said(asked.get(LEVELS).text)
    assert "known after 2 weeks" in words
    first = page.estimates.next_tests[0]
    assert page.tests[0].sentence.startswith(f"Test {first.candidate.nutrient} in the {first.candidate.tank} tank")
    assert [row.narrowed for row in page.tests] == sorted((row.narrowed for row in page.tests), reverse=True)


def test_the_standard_has_its_caution_and_what_it_showed(asked):
    words = said(asked.get(LEVELS).text)
    assert "3.26 g of potassium nitrate" in words
    assert "Gloves and eye protection" in words
    assert "checked against a standard of 20 mg/L 3 times) shows" in words


def test_priors_are_shown_with_their_sources(asked, page):
    words = said(asked.get(LEVELS).text)
    for row in page.priors:
        assert row.source in words
    assert "R-hat" in words


def test_a_what_if_answers_with_the_bands_of_the_other_regime(asked, page):
    status, found = what_if(asked, **{"dose-0": "9", "change-0": "40"})
    assert status == 200
    regime = regime_now(page.trial, "left", now_day=page.now_day)
    wanted = other_bands(page.trial, page.estimates, tank="left", regime=changed_regime(regime, doses={0: 9.0}))
    for bands in wanted:
        rows = found["bands"][bands.nutrient]
        assert [row["value"] for row in rows] == pytest.approx(list(bands.median), rel=1e-5)
        assert [row["high"] for row in rows] == pytest.approx(list(bands.high_90), rel=1e-5)
    assert found["alarms"] is None
    assert re.search(r"Nitrate: before Saturday's change \d+ \(\d+ to \d+\) instead of \d+ mg/L", str(found["words"]))


def test_more_fertiliser_gives_more_and_a_larger_change_less(asked):
    def last(**fields: str) -> float:
        return what_if(asked, **fields)[1]["bands"]["nitrate"][-1]["value"]

    assert last(**{"dose-0": "9"}) > last(**{"dose-0": "5"}) > last(**{"dose-0": "0"})
    assert last(**{"change-0": "80"}) < last(**{"change-0": "10"})


def test_as_planned_is_told_as_such_and_a_percent_is_no_share(asked):
    status, found = what_if(asked, **{"dose-0": "4.4", "change-0": "40"})
    assert (status, found["same"], found["words"], found["bands"]) == (200, True, [], {})


def test_a_dose_that_would_pass_a_published_limit_is_told(asked, page):
    before = {row.what for row in page.tanks[0].alarms if row.verdict in ("warns", "fails")}
    found = what_if(asked, **{"dose-0": "40", "limits": "yes"})[1]
    new = [alarm for alarm in found["alarms"] if alarm["new"]]
    assert new
    assert not {alarm["what"] for alarm in new} & before
    assert all(alarm["source"] and "Left tank" in alarm["sentence"] for alarm in new)
    assert "test before you act" in found["watch"]


def test_limits_of_the_plan_are_those_of_the_page(page):
    """Another way to the same: the plan, moved by next to nothing, warns where the page warns."""
    found = other_levels(
        page.trial, page.estimates, tank="left", planned=page.tanks[0].planned, doses={0: 4.405}, shares={}, limits=True
    )  # fmt: skip
    warned = {row.what for row in page.tanks[0].alarms if row.verdict in ("warns", "fails")}
    assert {alarm["what"] for alarm in found["alarms"]} == warned
    assert not any(alarm["new"] for alarm in found["alarms"])


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"dose-0": "much"}, "is no number"),
        ({"dose-0": "-1"}, "Give 0 to"),
        ({"dose-0": "nan"}, "Give 0 to"),
        ({"dose-0": "1e99"}, "Give 0 to"),
        ({"dose-7": "1"}, "There is no dose 8"),
        ({"change-0": "140"}, "Give a share from 0 to 1"),
    ],
)
def test_an_amount_that_cannot_be_is_told(asked, fields, told):
    status, found = what_if(asked, **fields)
    assert status == 422
    assert told in found["error"]


def test_a_tank_that_is_not_there_is_told(asked):
    assert what_if(asked, tank="attic")[0] == 404


def test_a_what_if_needs_the_token_and_changes_nothing(asked, levels_logbook):
    bare = asked("POST", f"{LEVELS}/what-if.json", data={"tank": "left"}, headers={"origin": asked.base})
    assert bare.status_code == 403
    bench = asked.app.state.bench
    before, text = bench.fingerprint("two-tanks"), bench.text("two-tanks")
    what_if(asked, **{"dose-0": "9", "limits": "yes"})
    assert (bench.fingerprint("two-tanks"), bench.text("two-tanks")) == (before, text)


def test_charts_come_with_the_days_of_the_cursor(asked, page):
    sent = asked.get(f"{LEVELS}/charts.json").json()
    assert [chart["key"] for chart in sent["charts"]] == ["bands-nitrate", "bands-potassium"]
    assert [moment["day"] for moment in sent["moments"]] == list(range(len(page.days)))
    assert sent["moments"][12]["words"] == "Saturday 14 March 2026"


def test_a_long_trial_can_be_seen_near_now(levels_logbook):
    """At the record's end of a trial that is over there are two weeks before, and more, so both are drawn."""
    later = view_levels(levels_logbook, "two-tanks", now=datetime(2026, 12, 1, tzinfo=UTC))
    assert later.now_day < 28
    assert all(part.near is None for part in later.nutrients)
    longer = page_of(replace(later.trial, length_days=200.0), replace(later.estimates, now_day=40.0, to_day=54.0))
    for part in longer.nutrients:
        assert set(part.near) == set(part.charts)
        x = part.near[720].spec["concat"][0]["layer"][0]["encoding"]["x"]
        assert x["scale"]["domain"] == [26.0, 54.0]


def test_the_day_in_the_address_is_shown_and_leads_to_the_twin_view(asked):
    for given, shown in (("7", 7), ("-3", 0), ("1e9", 29), ("nan", 15), ("x", 15)):
        text = asked.get(f"{LEVELS}?day={given}").text
        assert f'href="/trial/two-tanks?day={shown}#twin"' in text


def test_leaf_signs_are_judged_beside_the_levels(asked):
    words = said(asked.get(f"{LEVELS}?tank=right&sign=old-yellow&sign=stunted").text)
    assert "A lack of nitrogen is typically seen so" in words
    assert "Several causes can look alike" in words
    assert asked.get(f"{LEVELS}?sign=purple-hair").status_code == 409


def test_other_priors_are_fitted_only_when_asked_for(asked, monkeypatch):
    assert "Try other priors" in said(asked.get(LEVELS).text)
    assert asked.get(f"{LEVELS}/priors.json").status_code == 404
    answer = asked.post(f"{LEVELS}/priors", {})
    assert answer.status_code == 303
    assert answer.headers["location"] == f"{LEVELS}?sure=open#sure"
    asked.app.state.levels.priors.begun("two-tanks").future.result(timeout=250)
    words = said(asked.get(LEVELS).text)
    assert "priors half as wide" in words
    assert words.count("of half the band") == 4
    assert asked.get(f"{LEVELS}/priors.json").json()["ready"] is True


def test_while_the_first_fit_runs_a_page_says_how_far_it_is(levels_logbook, monkeypatch):
    monkeypatch.setattr("littoral.web.levels.pages.QUICK_ANSWER_S", 0)
    asking = served(levels_logbook)
    answer = asking.get(LEVELS)
    assert answer.status_code == 202
    assert "fitted once" in said(answer.text)
    assert f'data-from="{LEVELS}/progress.json"' in answer.text
    assert set(asking.get(f"{LEVELS}/progress.json").json()) == {"ready", "done", "total", "what"}
    asking.app.state.levels.close()


def _trial(folder: Path, *, without: str = "", entries: bool = True) -> Asking:
    text = (FILES / "trial.toml").read_text()
    (folder / "trial.toml").write_text(re.sub(without, "", text) if without else text)
    if entries:
        shutil.copy(FILES / "entries.csv", folder)
    import_trial(folder / "logbook", folder / "trial.toml")
    return served(folder / "logbook")


@pytest.mark.parametrize(
    ("without", "entries", "told"),
    [("", False, "nothing was noted yet"), (r"(?m)^(glass|fill|regime) = .*$", False, "no tank's water is known")],
)
def test_a_trial_without_anything_to_estimate_says_why(tmp_path, monkeypatch, without, entries, told):
    monkeypatch.setattr("littoral.web.levels.pages.QUICK_ANSWER_S", 200)
    asking = _trial(tmp_path, without=without, entries=entries)
    answer = asking.get(LEVELS)
    assert answer.status_code == 200
    words = said(answer.text)
    assert told in words
    assert "The trial file" in words
    assert asking.get(f"{LEVELS}/charts.json").json()["charts"] == []
    assert asking.post(f"{LEVELS}/what-if.json", {"tank": "left"}).status_code == 409


def test_an_unknown_trial_is_not_there(asked):
    for path in ("", "/charts.json", "/progress.json", "/priors.json"):
        assert asked.get(f"/trial/none/levels{path}").status_code == 404


def test_the_page_of_the_trial_leads_there(asking):
    assert 'href="/trial/small/levels"' in asking.get("/trial/small").text


def test_what_was_made_before_is_there_while_it_is_made_anew():
    marks = iter(["a", "b"])
    pool = one_thread()
    first = Waiting(lambda _key: next(marks), lambda _key, _note: object(), pool)
    made = first.ask("x", patience_s=20).future.result()
    pool.submit(lambda: __import__("threading").Event().wait(0.2))
    first.ask("x", patience_s=0)
    assert first.known("x") is made
    first.close()


@pytest.mark.parametrize(
    ("low", "high", "written"),
    [(7.13, 13.2, "7.1 to 13"), (0.018, 15.0, "0 to 15"), (-0.23, 1.54, "−0.23 to 1.5"), (110.0, 223.4, "110 to 223")],
)
def test_ends_of_a_band_are_written_for_people(low, high, written):
    assert ends(low, high) == written


def test_days_are_named_as_people_do(page):
    assert day_words(12.4, page.trial, now_day=15.5) == "Saturday"
    assert day_words(5.4, page.trial, now_day=15.5) == "Saturday 7 March"
    assert change_words(12.4, page.trial, now_day=15.5) == "last Saturday's change"
    assert change_words(19.4, page.trial, now_day=15.5) == "Saturday's change"
    assert change_words(26.4, page.trial, now_day=15.5) == "the change of Saturday 28 March"


def test_a_day_of_today_is_named_today(page):
    assert change_words(15.2, page.trial, now_day=15.5) == "today's change"
    assert change_words(15.8, page.trial, now_day=15.5) == "today's change"
    assert change_words(15.5, page.trial, now_day=15.0) == "Tuesday's change"  # the record's end is nobody's today


def test_asking_how_far_a_failed_work_is_does_not_begin_it_again():
    pool, begun = one_thread(), []

    def make(key, _progress):
        begun.append(key)
        raise ValueError("cannot be")

    waiting: Waiting[str] = Waiting(lambda _key: "same", make, pool)
    waiting.ask("a", patience_s=10)
    assert waiting.ask("a", patience_s=0, again=False).future.done()
    assert begun == ["a"]
    waiting.ask("a", patience_s=10)  # whoever opens the page tries it once more
    assert begun == ["a", "a"]
    waiting.close()


def test_a_larger_change_is_told_by_what_comes_after_it(asked):
    _, found = what_if(asked, **{"change-0": "90"})
    (nitrate,) = [one["words"] for one in found["words"] if one["nutrient"] == "nitrate"]
    will, was = re.search(r"([\d.]+) \([^)]*\) instead of ([\d.]+) mg/L", nitrate).groups()
    assert will != was
    assert "on Tuesday 31 March" in nitrate


def test_where_no_limit_is_passed_it_is_said_that_this_is_no_promise(page):
    quiet = tuple(
        replace(tank, alarms=tuple(row for row in tank.alarms if row.verdict == "holds")) for tank in page.tanks
    )
    text = page_html(
        "levels/page.html", token="", page=replace(page, tanks=quiet), at=0, charts_drawn=False, priors=None,
        leaf=leaf_signs(page.estimates, tank="left", ticked=[]), leaf_tank="left",
    )  # fmt: skip
    assert "Nothing expected passes one. That is no promise that all is well: watch the animals." in said(text)
