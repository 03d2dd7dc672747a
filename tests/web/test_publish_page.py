"""The page to publish from: what it offers, refuses and keeps, and how files are taken away."""

from __future__ import annotations

import io
import json
from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import httpx
import pytest
from PIL import Image

from littoral.acts.jobs.runner import JobRunner
from littoral.acts.jobs.store import note_outcome, note_progress
from littoral.acts.trial_page import TrialPage
from littoral.publish.still.options import StillOptionError
from littoral.web.publishing import pages
from littoral.web.publishing.fields import film_fields, still_fields, told
from littoral.web.publishing.pages import size_words

NOW = datetime(2026, 3, 30, 12, 0, tzinfo=UTC)
FILM = {"kind": "film", "format": "square", "gaps": "held", "look": "even", "codec": "h264", "height_px": "360"}


class Still(JobRunner):
    """A runner that keeps jobs and works on none, so that each test says how far they are."""

    def _put(self, name: str) -> None:
        self._waiting.append(name)


@pytest.fixture
def runner(asking, bench) -> Iterator[JobRunner]:
    asking.app.state.jobs = Still(bench.folder)
    asking.app.state.now = lambda: NOW
    yield asking.app.state.jobs
    asking.app.state.jobs.close()


def _done(runner: JobRunner, files: Mapping[str, bytes], kind: str = "film", trial: str = "small") -> str:
    name = runner.store.ask(kind, trial, {}, now=NOW)
    out = runner.store.folder(name) / "out"
    out.mkdir()
    for file, data in files.items():
        (out / file).write_bytes(data)
    note_outcome(out.parent, "done", files=[out / file for file in files])
    return name


def test_it_offers_what_can_be_chosen_and_names_the_trial_safely(asking, runner) -> None:
    answer = asking.get("/trial/small/publish")
    assert answer.status_code == 200
    text = answer.text
    for words in ("Make the film", "Make the still", "Make the sheet", "cross-fade to the next", "before and after"):
        assert words in text
    assert "Sparing &lt;or&gt; full feeding" in text
    assert 'value="vp9"' in text
    assert '<option value="canopy-height">Canopy height</option>' in text
    assert 'id="made" class="column wide" aria-labelledby="made-title" hidden' in text
    assert asking.get("/trial/none/publish").status_code == 404


def test_a_trial_without_photos_offers_neither_film_nor_twin(asking, bench, runner) -> None:
    page: TrialPage = bench.pages["small"]
    bench.pages["small"] = replace(page, tanks=())
    text = asking.get("/trial/small/publish").text
    assert "There is no photo in this trial yet" in text
    assert "Make the film" not in text
    assert 'name="still_kind" value="twin"' not in text
    assert 'name="still_kind" value="chart" checked' in text


def test_a_film_asked_for_is_kept_as_a_job(asking, runner) -> None:
    answer = asking.post("/trial/small/publish", {**FILM, "captions": "on", "seconds": "30"})
    assert answer.status_code == 303
    (job,) = runner.jobs("small")
    assert answer.headers["location"] == f"/trial/small/publish#{job.name}"
    assert job.state == "waiting"
    options = job.options
    assert (options["format"], options["height_px"], options["seconds"]) == ("square", 360, 30.0)
    assert (options["captions"], options["cards"]) == (True, False)
    text = asking.get("/trial/small/publish").text
    assert "square, H.264, missing days held, 30 s, 360 px" in text
    assert "Waiting for its turn." in text
    assert f'action="/trial/small/publish/{job.name}/cancel"' in text


def test_a_still_and_a_sheet_are_asked_for(asking, runner) -> None:
    still = {"kind": "still", "still_kind": "days", "size": "portrait", "days": "0, 4 8", "scale": "2", "file": "jpeg"}
    assert asking.post("/trial/small/publish", still).status_code == 303
    assert asking.post("/trial/small/publish", {"kind": "sheet"}).status_code == 303
    jobs = {job.kind: job for job in runner.jobs("small")}
    assert jobs["still"].options["days"] == (0.0, 4.0, 8.0) or jobs["still"].options["days"] == [0.0, 4.0, 8.0]
    assert jobs["still"].options["scale"] == 2
    assert jobs["still"].options["labels"] is False
    assert jobs["sheet"].options == {"paper": "a4"}


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({**FILM, "seconds": "soon"}, "seconds is &#39;soon&#39;; write a number."),
        ({**FILM, "format": "round"}, "it can be landscape, portrait, square."),
        ({"kind": "still", "still_kind": "days", "days": "first"}, "write numbers, such as 0, 14, 28."),
        ({"kind": "still", "still_kind": "twin", "arrows": "here"}, "Write the tank&#39;s key, how far across"),
        ({"kind": "opera"}, "There is no job &#39;opera&#39;"),
    ],
)
def test_what_is_wrong_is_said_on_the_page_and_nothing_is_kept(asking, runner, fields, words) -> None:
    asking.get("/trial/small/publish")
    answer = asking.post("/trial/small/publish", fields)
    assert answer.status_code == 422
    assert words in answer.text
    assert runner.jobs("small") == ()


def test_jobs_are_told_as_json_and_can_be_changed(asking, runner) -> None:
    asking.post("/trial/small/publish", FILM)
    (job,) = runner.jobs("small")
    note_progress(runner.store.folder(job.name), 7, 30, "film")
    (told_job,) = json.loads(asking.get("/trial/small/publish/jobs.json").text)
    assert (told_job["state"], told_job["done"], told_job["total"], told_job["what"]) == ("waiting", 7, 30, "film")
    at = f"/trial/small/publish/{job.name}"
    assert asking.post(f"{at}/cancel", {}).status_code == 303
    assert runner.job(job.name).state == "cancelled"
    assert "<strong>Cancelled.</strong>" in asking.get("/trial/small/publish").text
    assert asking.post(f"{at}/again", {}).status_code == 303
    assert runner.job(job.name).state == "waiting"
    assert asking.post(f"{at}/sell", {}).status_code == 404
    assert asking.post(f"{at}/remove", {}).headers["location"] == "/trial/small/publish#made"
    assert runner.jobs("small") == ()
    assert asking.post(f"{at}/again", {}).status_code == 404


def test_an_interrupted_and_a_failed_job_say_so(asking, runner) -> None:
    first = runner.store.ask("film", "small", {}, now=NOW)
    second = runner.store.ask("film", "small", {}, now=NOW)
    note_outcome(runner.store.folder(second), "failed", error="No <tank> has a photo.")
    text = asking.get("/trial/small/publish").text
    assert "<strong>Interrupted:</strong> Littoral was closed before it was done." in text
    assert "No &lt;tank&gt; has a photo." in text
    for name in (first, second):
        assert f'action="/trial/small/publish/{name}/again"' in text


def test_files_are_taken_away_whole_or_in_stretches(asking, runner) -> None:
    data = bytes(range(256)) * 40
    name = _done(runner, {"film.mp4": data, "film.vtt": b"WEBVTT\n"})
    at = f"/trial/small/publish/{name}"
    whole = asking.get(f"{at}/film.mp4")
    assert whole.content == data
    assert whole.headers["content-length"] == str(len(data))
    assert whole.headers["content-type"] == "video/mp4"
    assert whole.headers["accept-ranges"] == "bytes"
    assert "content-disposition" not in whole.headers
    part = asking.get(f"{at}/film.mp4", headers={"range": "bytes=100-199"})
    assert part.status_code == 206
    assert part.content == data[100:200]
    assert part.headers["content-range"] == f"bytes 100-199/{len(data)}"
    assert part.headers["content-length"] == "100"
    assert asking.get(f"{at}/film.mp4", headers={"range": f"bytes={len(data)}-"}).status_code == 416
    saved = asking.get(f"{at}/film.vtt?save")
    assert saved.headers["content-disposition"] == 'attachment; filename="small-film.vtt"'
    assert saved.headers["content-type"].startswith("text/vtt")
    text = asking.get("/trial/small/publish").text
    assert f'<track kind="captions" srclang="en" label="What changes" src="{at}/film.vtt">' in text
    assert "10 kB" in text


def test_a_still_has_the_words_that_were_written_beside_it(asking, runner) -> None:
    _done(runner, {"twin.png": b"x", "twin.txt": "Two tanks, “full” & sparing.\n".encode()}, kind="still")
    assert 'alt="Two tanks, “full” &amp; sparing."' in asking.get("/trial/small/publish").text


@pytest.mark.parametrize("path", ["job.json", "%2e%2e%2fjob.json", "lock", "film.webm"])
def test_only_what_a_job_wrote_is_given(asking, runner, path) -> None:
    name = _done(runner, {"film.mp4": b"x"})
    assert asking.get(f"/trial/small/publish/{name}/{path}").status_code == 404


def test_a_job_of_another_trial_is_not_shown(asking, bench, runner) -> None:
    name = _done(runner, {"film.mp4": b"x"}, trial="another")
    assert asking.get(f"/trial/small/publish/{name}/film.mp4").status_code == 404
    assert asking.post(f"/trial/small/publish/{name}/remove", {}).status_code == 404
    assert runner.job(name).state == "done"


def test_a_sheet_is_shut_in(asking, runner) -> None:
    name = _done(runner, {"sheet.html": b"<!doctype html><script>alert(1)</script>"}, kind="sheet")
    policy = asking.get(f"/trial/small/publish/{name}/sheet.html").headers["content-security-policy"]
    assert policy == "default-src 'none'; style-src 'unsafe-inline'; img-src data:; sandbox"


def test_asking_needs_the_pages_token(asking, runner) -> None:
    base = {"origin": asking.base, "sec-fetch-site": "same-origin"}
    answer: httpx.Response = asking("POST", "/trial/small/publish", data={"token": "x", **FILM}, headers=base)
    assert answer.status_code == 403
    assert runner.jobs("small") == ()


def test_a_preview_is_a_picture_or_says_what_is_wrong(asking, runner, two_photos, monkeypatch) -> None:
    asking.app.state.book_folder = two_photos.logbook
    monkeypatch.setattr(pages, "_line", _line_of(two_photos.key))
    at = "/trial/small/publish/preview"
    film = asking.get(f"{at}/film.jpg?kind=film&format=portrait&share=0.4&captions=on")
    assert film.headers["content-type"] == "image/jpeg", film.text
    with Image.open(io.BytesIO(film.content)) as shown:
        assert shown.size == (540, 960)
    still = asking.get(f"{at}/still.jpg?kind=still&still_kind=pair&size=square&days=0,5")
    with Image.open(io.BytesIO(still.content)) as shown:
        assert shown.size == (640, 640)
    wrong = asking.get(f"{at}/still.jpg?kind=still&still_kind=twin&days=400")
    assert wrong.status_code == 422
    assert wrong.json()["error"].startswith("Day 400 has no photo near it")


def _line_of(key: str):
    async def line(_request: object) -> object:
        return type("Line", (), {"key": key})()

    return line


def test_closing_stops_what_is_being_made(bench, tmp_path: Path) -> None:
    from littoral.web.app import create_app

    app = create_app(bench.folder, port=8765, bench=bench)
    assert isinstance(app.state.jobs, JobRunner)
    app.state.jobs.close()
    app.state.waiting.close()


def test_fields_become_options() -> None:
    assert film_fields({}) == {}
    assert film_fields({"kind": "film"}) == {"captions": False, "cards": False}
    twin = {"kind": "still", "still_kind": "twin", "arrows": "left 0.9 0.3 algae on the glass\n\n"}
    assert still_fields(twin)["arrows"] == [{"tank": "left", "across": 0.9, "down": 0.3, "words": "algae on the glass"}]
    with pytest.raises(StillOptionError, match=r"An arrow is 'left 0\.9'"):
        still_fields({**twin, "arrows": "left 0.9"})
    assert told("sheet", {"paper": "letter"}) == "Letter"
    assert told("protocol", {}) == ""


@pytest.mark.parametrize(("size", "words"), [(1, "1 kB"), (48_300, "48 kB"), (8_362_560, "8.4 MB")])
def test_sizes_in_words(size: int, words: str) -> None:
    assert size_words(size) == words
