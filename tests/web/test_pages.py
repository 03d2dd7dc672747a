"""What each address shows, and what it says when there is nothing to show."""

from __future__ import annotations

import json
import threading
from dataclasses import replace
from pathlib import Path

import pytest

from littoral.acts.start_trial import start_in_logbook
from littoral.errors import Fault, FaultsError, LittoralError
from littoral.publish.findings_json import findings_schema
from littoral.web.start_form import FIELDS, beside_fields
from littoral.web.waiting import ClosedError, Waiting


def test_home_lists_the_trials_and_escapes_their_titles(asking):
    text = asking.get("/").text
    assert "Sparing &lt;or&gt; full feeding" in text
    assert "<or>" not in text
    assert 'href="/trial/small"' in text
    assert "rendered demo" in text
    assert "18 photos, 4 other entries" in text


def test_an_empty_logbook_says_what_to_do_next(asking, bench):
    bench.pages.clear()
    text = asking.get("/").text
    assert "There is no trial in this logbook yet." in text
    assert 'href="/new"' in text
    assert "littoral import" in text
    assert "littoral demo" in text


def test_a_trial_opens_on_the_last_day_with_both_photos(asking, bench, tmp_path):
    assert 'data-show="label">Day 9<' in asking.get("/trial/small").text


def test_it_does_not_open_on_a_day_with_a_held_photo(asking, bench):
    page = bench.pages["small"]
    left, right = page.tanks
    held = tuple(replace(right.shown[7], held=True) if day >= 8 else shown for day, shown in enumerate(right.shown))
    bench.pages["small"] = replace(page, tanks=(left, replace(right, shown=held)))
    assert 'data-show="label">Day 7<' in asking.get("/trial/small").text


@pytest.mark.parametrize(
    ("asked", "label"),
    [
        ("3", "Day 3"),
        ("3.9", "Day 3"),
        ("-4", "Day 0"),
        ("999", "Day 9"),
        ("nan", "Day 9"),
        ("x", "Day 9"),
        ("", "Day 9"),
    ],
)
def test_the_day_in_the_address(asking, asked, label):
    assert f'data-show="label">{label}<' in asking.get(f"/trial/small?day={asked}").text


def test_a_missing_photo_is_said(asking):
    text = asking.get("/trial/small?day=5").text
    assert "no photo this day, day 3 shown" in text
    assert 'alt="right tank (sparing), Day 3"' in text
    assert "photo-right-3/right/even.jpg" in text


def test_the_text_of_entries_is_escaped(asking):
    text = asking.get("/trial/small").text
    assert "&lt;b&gt;bold&lt;/b&gt; &amp; more" in text
    assert "<b>bold" not in text


def test_a_finding_shows_all_it_carries(asking, bench):
    text = asking.get("/trial/small").text
    finding = bench.pages["small"].findings[0]
    for said in (finding.ask, finding.wording, finding.rule_text, finding.next_step, finding.method, finding.design):
        assert said in text
    assert "+1.20 percentage points per day (95 % interval +0.40 to +2.00)" in text
    assert "A dose was missed on day 6." in text
    assert "What would change this answer" in text
    assert "How this was found out" in text
    assert "dosed 4.4 mL macro stock" in text
    assert 'href="?day=8#twin" data-day="8"' in text
    assert text.count("/thumb.jpg") == 6  # three days of each tank


def test_findings_as_json_are_the_same_object(asking, bench):
    answer = asking.get("/trial/small/findings.json")
    assert answer.headers["content-type"] == "application/json"
    assert answer.json() == bench.pages["small"].findings_json


def test_a_trial_without_anything_says_what_is_missing(asking, bench):
    page = bench.pages["small"]
    bench.pages["small"] = replace(
        page, tanks=(), events=(), findings=(), charts=(), tables=(), published=(), moments=page.moments[:1]
    )
    text = asking.get("/trial/small").text
    for said in (
        "No view is described yet",
        "No question is written",
        "Nothing has been noted yet",
        "None yet.",
        "Nothing published",
    ):
        assert said in text
    assert asking.get("/trial/small/days.json").json()[0]["tanks"] == {}


def test_charts_come_in_their_widths_with_colours_for_dark_paper(asking):
    sent = asking.get("/trial/small/charts.json").json()
    assert list(sent["charts"][0]["widths"]) == ["340", "720"]
    assert sent["on_dark"] == {"#1a72aa": "#62b2e4"}


def test_pictures_are_looked_up_and_kept_by_browsers(asking, bench):
    moment = asking.get("/trial/small/days.json").json()[2]
    for tank in ("left", "right"):
        answer = asking.get(moment["tanks"][tank]["even"])
        assert answer.status_code == 200
        assert answer.headers["content-type"] == "image/jpeg"
        assert "immutable" in answer.headers["cache-control"]
        assert answer.content == bench.pages["small"].photo(f"photo-{tank}-2", tank)[1].original.read_bytes()


@pytest.mark.parametrize(
    "path", ["photo-left-2/right/even", "photo-left-99/left/even", "photo-left-2/left/huge", "photo-left-2/no/even"]
)
def test_a_picture_that_is_not_there(asking, path):
    assert asking.get(f"/trial/small/photo/{path}.jpg").status_code == 404


def test_the_sheet_runs_no_script_and_is_shut_in(asking):
    answer = asking.get("/trial/small/published/sheet.html")
    assert answer.status_code == 200
    policy = answer.headers["content-security-policy"]
    assert "sandbox" in policy
    assert "script-src" not in policy
    assert policy.startswith("default-src 'none'")
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert asking.get("/trial/small/published/other.html").status_code == 404


def test_unknown_addresses_help_in_html_and_in_json(asking):
    page = asking.get("/trial/none")
    assert page.status_code == 404
    assert "holds no trial “none”" in page.text
    assert 'href="/"' in page.text
    data = asking.get("/trial/none/findings.json", headers={"accept": "application/json"})
    assert data.status_code == 404
    assert "none" in data.json()["error"]


def test_an_error_of_ours_is_said_in_its_own_words(asking, bench):
    def fail() -> None:
        raise LittoralError("the cache is full: free some space.")

    bench.before_page = fail
    answer = asking.get("/trial/small")
    assert answer.status_code == 409
    assert "the cache is full: free some space." in answer.text
    bench.before_page = lambda: None
    assert asking.get("/trial/small").status_code == 200  # it is tried again, once the cause is gone


def test_while_measuring_the_page_says_how_far_it_is(asking, bench, monkeypatch):
    monkeypatch.setattr("littoral.web.pages.QUICK_ANSWER_S", 0.01)
    go = threading.Event()
    bench.before_page = lambda: go.wait(30)
    try:
        answer = asking.get("/trial/small")
        assert answer.status_code == 202
        assert "measuring photos" in answer.text
        assert "3 of 18" in answer.text
        assert asking.get("/trial/small/progress.json").json() == {
            "ready": False, "done": 3, "total": 18, "what": "measuring photos",
        }  # fmt: skip
        waiting = asking.get("/trial/small/days.json")
        assert waiting.status_code == 503
        assert waiting.headers["retry-after"] == "2"
    finally:
        go.set()
    monkeypatch.setattr("littoral.web.pages.QUICK_ANSWER_S", 30)
    assert asking.get("/trial/small").status_code == 200
    assert asking.get("/trial/small/progress.json").json()["ready"] is True


def test_the_page_is_made_once_and_again_when_the_logbook_changes(asking, bench, monkeypatch):
    made = []
    bench.before_page = lambda: made.append(1)
    asking.get("/trial/small")
    asking.get("/trial/small/days.json")
    assert len(made) == 1
    monkeypatch.setattr(bench, "fingerprint", lambda key: "changed")
    asking.get("/trial/small")
    assert len(made) == 2


@pytest.mark.parametrize("field", FIELDS, ids=lambda field: field.name)
@pytest.mark.parametrize(("over", "status"), [(0, 303), (1, 422)])
def test_a_field_one_over_its_longest_is_refused(asking, bench, field, over, status):
    answer = asking.post("/new", {"title": "Mine", field.name: "a" * (field.longest + over)})
    assert answer.status_code == status
    assert (f"{field.longest + 1} characters" in answer.text) == bool(over)
    assert len(bench.started) == 1 - over


def test_the_form_proposes_and_keeps_what_was_written(asking, bench):
    text = asking.get("/new").text
    assert 'value="2026-02-28"' in text  # tomorrow
    assert f'value="{asking.app.state.token}"' in text
    again = asking.post("/new", {"title": "", "glass": '60" x 30'})
    assert again.status_code == 422
    assert 'id="title-wrong">This is empty. Write a title.</span>' in again.text
    assert "60&#34; x 30" in again.text
    started = asking.post("/new", {"title": "Mine"})
    assert started.status_code == 303
    assert started.headers["location"].endswith("/trial/new-one/file")
    assert "token" not in bench.started[0]


def test_what_is_wrong_is_told_beside_its_field_and_not_by_a_line_of_a_file():
    with pytest.raises(FaultsError) as refused:
        start_in_logbook(
            Path("nowhere"), title="Mine", start="2026-13-01", zone="UTC", glass="60 by 30", length="8 moons",
            baseline="1 week", first="sparing", second="full",
        )  # fmt: skip
    beside = beside_fields(refused.value.faults)
    assert set(beside) <= {"start", "glass", "length"}
    assert beside["glass"][0].startswith(
        'This is "60 by 30", not three lengths with a unit. Write for example "60 x 30'
    )
    assert not any("`" in one or "line" in one for said in beside.values() for one in said)
    assert beside_fields([Fault("`arms.first.name` is empty.", "", "x"), Fault("is odd.", "Mend it.", "y")]) == {
        "first": ("This is empty.",), "": ("This is odd. Mend it.",),
    }  # fmt: skip


def test_the_command_that_takes_a_trial_in_can_be_typed_as_it_stands(asking, bench):
    assert (
        f"littoral import trial.toml --logbook {bench.folder.resolve()}</code>" in asking.get("/trial/small/file").text
    )


def test_the_schema_lies_where_the_findings_say(asking):
    answer = asking.get("/trial/small/findings.schema.json")
    assert answer.json() == findings_schema()


def test_the_trial_file_is_shown_and_downloaded(asking):
    shown = asking.get("/trial/small/file").text
    assert "format = 1  # &lt;a trial&gt;" in shown
    got = asking.get("/trial/small/trial.toml")
    assert got.text == "format = 1  # <a trial>\n"
    assert got.headers["content-disposition"] == 'attachment; filename="trial.toml"'


def test_static_files_are_a_fixed_list_and_asked_for_again_only_when_changed(asking):
    first = asking.get("/static/page.css")
    assert first.status_code == 200
    assert first.headers["content-type"].startswith("text/css")
    assert asking.get("/static/page.css", headers={"if-none-match": first.headers["etag"]}).status_code == 304
    assert asking.get("/static/__init__.py").status_code == 404
    script = asking.get("/static/vega.js")
    assert script.status_code == 200
    assert "vegaEmbed" in script.text


def test_without_the_chart_renderer_the_page_says_how_to_get_it(asking, monkeypatch):
    monkeypatch.setattr("littoral.web.pages.chart_script", lambda: None)
    text = asking.get("/trial/small").text
    assert "littoral[charts]" in text
    assert "/static/vega.js" not in text
    assert asking.get("/static/vega.js").status_code == 404


def test_twin_data_is_what_the_page_shows(asking):
    moments = asking.get("/trial/small/days.json").json()
    assert [moment["label"] for moment in moments] == [f"Day {day}" for day in range(10)]
    assert moments[0]["words"] == "Monday 2 March 2026"
    assert [moment["phase"] for moment in moments[2:4]] == ["baseline, all tanks alike", "regimes differ"]
    assert moments[5]["tanks"]["right"]["held"] is True
    assert moments[5]["tanks"]["left"]["events"] == [
        {"kind": "water change", "text": "changed 40 % of the water", "clock": "08:00"}
    ]
    assert moments[7]["tanks"]["left"]["flags"] == ["blurred"]
    assert json.dumps(moments).count("photo-right-3") == 6  # days 3, 4 and 5, in two looks


def test_the_mark_is_where_browsers_look_for_it(asking):
    assert asking.get("/favicon.ico").headers["content-type"] == "image/svg+xml"


def test_an_arm_named_as_its_tank_is_named_once(asking, bench):
    page = bench.pages["small"]
    left, right = page.tanks
    bench.pages["small"] = replace(page, tanks=(replace(left, name="full"), right))
    text = asking.get("/trial/small?day=0").text
    assert 'alt="full, Day 0"' in text
    assert 'alt="right tank (sparing), Day 0"' in text


def test_a_picture_does_not_ask_the_logbook_again(asking, bench, monkeypatch):
    address = asking.get("/trial/small/days.json").json()[2]["tanks"]["left"]["even"]

    def never(*_: object) -> None:
        raise AssertionError("the logbook was asked")

    monkeypatch.setattr(bench, "trials", never)
    monkeypatch.setattr(bench, "fingerprint", never)
    assert asking.get(address).status_code == 200


def test_a_picture_can_be_the_first_thing_asked_for(asking):
    assert asking.get("/trial/small/photo/photo-left-2/left/even.jpg").status_code == 200


def test_work_that_goes_on_after_closing_is_stopped(bench, monkeypatch):
    started, go = threading.Event(), threading.Event()

    def many_steps(key, progress):
        progress(1, 2, "measuring photos")
        started.set()
        go.wait(30)
        progress(2, 2, "measuring photos")

    monkeypatch.setattr(bench, "page", many_steps)
    waiting = Waiting(bench.fingerprint, bench.page)
    work = waiting.ask("small", patience_s=0)
    started.wait(30)
    waiting.close()
    go.set()
    with pytest.raises(ClosedError, match="closed before it was done"):
        work.future.result(30)


def test_a_trial_without_photos_leads_to_its_file(asking, bench):
    page = bench.pages["small"]
    nothing = tuple(
        replace(tank, shown=tuple(replace(one, photo=None, held=True) for one in tank.shown)) for tank in page.tanks
    )
    bench.pages["small"] = replace(page, tanks=nothing)
    text = asking.get("/trial/small").text
    assert "There is no photo in this trial yet: " in text
    assert 'href="/trial/small/photos/add"' in text
    assert 'href="/trial/small/file"' in text
    assert "no photo yet" in text
