"""An override on a sheet that was opened from a trial is noted in its logbook; nothing else is."""

from __future__ import annotations

import html
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from littoral.acts.import_trial import import_trial
from littoral.acts.start_trial import start_trial
from littoral.logbook.book import Logbook
from littoral.trial.entries import Overridden
from littoral.trial.written.starting import starting_text
from littoral.web.book_bench import BookBench
from littoral.web.mixing.pages import NOT_NOTED, NOTED


@pytest.fixture
def post(asking: Any, bench: Any) -> Callable[..., Any]:
    """Answer of a sheet to a post, as the page would send it; the bench's trial is a real one."""
    bench.text = lambda key: starting_text(title="Two tanks", start="2026-03-02", zone="UTC", seed=1)

    def send(path: str, **fields: str) -> Any:
        answer = asking.post(path, {name.replace("__", "."): value for name, value in fields.items()})
        assert answer.status_code == 200, answer.text
        return answer.json()

    return send


def passing_in(answer: Any) -> str:
    """Return the marks of the limits that the sheet shows as passed."""
    _, _, after = answer["sheet"].partition('name="passing" value="')
    return str(after.partition('"')[0])


def stopped(post: Callable[..., Any], path: str, **fields: str) -> str:
    answer = post(path, **fields, more="as it is")
    assert "Stopped" in answer["sheet"]
    return passing_in(answer)


@pytest.mark.parametrize(
    ("path", "fields", "of"),
    [("/mix.json", {"dose": "400 mL"}, "macro"), ("/week.json", {"doses__1__amount": "60 mL"}, "full")],
)
def test_the_button_notes_it(post: Any, bench: Any, path: str, fields: dict[str, str], of: str) -> None:
    fields = {**fields, "trial": "small", "of": of}
    passing = stopped(post, path, **fields)
    assert bench.overridden == []
    done = post(path, **fields, more="override", reason="plants alone", passing=passing)
    ((key, act, noted_of, stop),) = bench.overridden
    assert (key, act, noted_of, stop.anyway) == ("small", path[1:-5], of, "plants alone")
    assert done["told"] == NOTED
    assert not done["wrong"]
    assert NOTED in html.unescape(done["sheet"])


def test_only_an_override_with_a_reason_on_a_trials_sheet_is_noted(post: Any, bench: Any, asking: Any) -> None:
    passing = stopped(post, "/mix.json", dose="400 mL", trial="small")
    said = {"dose": "400 mL", "passing": passing}
    assert post("/mix.json", **said, trial="small", more="override", reason="")["told"] != NOTED
    assert post("/mix.json", **said, more="override", reason="of no trial")["told"] != NOTED
    assert post("/mix.json", **said, trial="small", more="override", reason="why")["told"] == NOTED
    bench.overridden.clear()
    kept = {"anyway": "why", "overridden": passing, "dose": "400 mL", "trial": "small"}
    assert "Overridden" in post("/mix.json", **kept)["parts"]["stop"]  # typing on is no second override
    opened = asking.get(f"/mix?trial=small&dose=400+mL&more=override&reason=why&passing={passing}")
    assert NOT_NOTED in html.unescape(opened.text)
    assert bench.overridden == []  # and an address that is opened writes nothing


def test_the_page_says_beforehand_that_it_will_be_noted(post: Any) -> None:
    assert "noted in the trial's logbook" in post("/mix.json", dose="400 mL", trial="small")["parts"]["stop"]
    assert "logbook" not in post("/mix.json", dose="400 mL")["parts"]["stop"]


def test_a_bench_with_a_logbook_keeps_it(tmp_path: Path) -> None:
    from littoral.acts.mix_and_feed.mix_bottle import mix_bottle
    from littoral.acts.mix_and_feed.mix_form import Mixed, MixForm

    file = start_trial(tmp_path / "trial", title="Two tanks", start="2026-03-02", zone="UTC").trial_file
    key = import_trial(tmp_path / "logbook", file).trial
    mixed = mix_bottle(MixForm(dose="400 mL", anyway="plants alone"))
    assert isinstance(mixed, Mixed)
    assert mixed.stop is not None
    BookBench(tmp_path / "logbook").override(key, "mix", "macro", mixed.stop)
    with Logbook.open(tmp_path / "logbook") as fresh:
        (entry,) = fresh.entries(key)
    assert isinstance(entry.payload, Overridden)
    assert entry.payload.reason == "plants alone"
