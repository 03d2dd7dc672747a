"""The sheet is one self-contained page: all sections, no address outside it, every picture with words."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from html.parser import HTMLParser
from pathlib import Path
from typing import Any, cast

import pytest

from littoral.findings.measured import Measured
from littoral.findings.model import Finding
from littoral.logbook.book import Logbook
from littoral.publish.charts import charts_of
from littoral.publish.draw import inline_svg, to_svg
from littoral.publish.moments import Moment, Shown
from littoral.publish.publish import publish
from littoral.publish.sheet import DrawnChart, sheet_html, sheet_of
from littoral.publish.sheet_words import asked_title
from littoral.publish.stills import carrying_stills, chosen, stills
from littoral.trial.entries import Entry
from littoral.trial.model import Trial


class Page(HTMLParser):
    """What a page refers to, its ids, its headings, and what its pictures say."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.addresses: list[str] = []
        self.ids: list[str] = []
        self.images: list[str | None] = []
        self.headings: list[str] = []
        self.tags: set[str] = set()
        self._heading = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.tags.add(tag)
        self.addresses += [value for name in ("href", "src", "srcset", "data", "action", "xlink:href")
                           if (value := given.get(name))]  # fmt: skip
        if given.get("id"):
            self.ids.append(str(given["id"]))
        if tag == "img":
            self.images.append(given.get("alt"))
        if tag == "svg":
            self.images.append(given.get("aria-label"))
        if re.fullmatch("h[1-6]", tag):
            self._heading = tag

    def handle_data(self, data: str) -> None:
        if self._heading:
            self.headings.append(data)
            self._heading = ""


def _html(trial: Trial, measured: Measured, findings: Sequence[Finding], entries: Sequence[Entry] = ()) -> str:
    charts = charts_of(trial, measured=measured, findings=findings, entries=entries)
    drawn = {
        key: DrawnChart(key, inline_svg(to_svg(chart.spec), prefix=f"{key}-w", alt=chart.alt), "", chart.caption)
        for key, chart in charts.items()
    }
    sheet = sheet_of(
        trial,
        measured=measured,
        findings=findings,
        charts=charts,
        pictures=stills(trial, measured),
        carrying=carrying_stills(trial, measured, findings),
    )
    return sheet_html(sheet, drawn)


@pytest.fixture(scope="module")
def html(trial: Trial, measured: Measured, findings: Sequence[Finding], entries: Sequence[Entry]) -> str:
    return _html(trial, measured, findings, entries)


def test_nothing_comes_from_outside(html: str) -> None:
    page = Page(html)
    assert page.addresses
    assert all(address.startswith(("#", "data:image/jpeg;base64,")) for address in page.addresses)
    assert "script" not in page.tags
    assert "link" not in page.tags
    assert "default-src 'none'" in html
    spoken_of = set(re.findall(r"https?://[^\s\"'<)]+", html))
    assert spoken_of <= {"http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"}  # names, not addresses
    assert not re.search(r"@import|url\((?!#)", html)


def test_links_within_lead_somewhere_and_ids_are_one_each(html: str) -> None:
    page = Page(html)
    assert len(page.ids) == len(set(page.ids))
    assert {address[1:] for address in page.addresses if address.startswith("#")} <= set(page.ids)
    assert set(re.findall(r"url\(#([^)]+)\)", html)) <= set(page.ids)


def test_every_picture_says_what_it_shows(html: str) -> None:
    pictures = Page(html).images
    assert len(pictures) > 10
    assert all(pictures)


def test_it_says_what_was_found_before_anything_else(html: str, findings: Sequence[Finding]) -> None:
    headings = Page(html).headings
    assert headings[:2] == ["Sparing or full feeding", "Answers"]
    assert headings[2:6] == [finding.ask for finding in findings]
    for finding in findings:
        assert finding.wording in html
        assert finding.rule_text in html
    assert "Weakened by 1 in the list below" in html
    assert html.count("Dose missed.") == 1  # named once, however many findings it weakens
    assert "Days 0, 2; 2 photos; 1 entry." in html


def test_each_finding_says_how_it_was_found_what_carries_it_and_what_is_left_without_a_day(
    html: str, trial: Trial, measured: Measured, findings: Sequence[Finding]
) -> None:
    for said in (
        "Without day 2 the answer would be another.",
        "Each photo was read. The tanks were compared.",
        "It cannot show why.",
        "What would change this answer.",
        'href="#chart-canopy-height"',
    ):
        assert said in html
    page = Page(html)
    assert {"day-0", "day-2"} <= set(page.ids)
    assert "day-40" not in page.ids
    assert html.count("The first day compared: height growth, redness, algae, cost.") == 1
    rows = carrying_stills(trial, measured, findings)
    assert [(row.day, len(row.pictures)) for row in rows] == [(0, 2), (2, 2)]
    assert all("day 2" in still.alt.lower() for _, still in rows[1].pictures)


def test_a_demo_says_so_and_a_real_trial_does_not(
    html: str, trial: Trial, measured: Measured, findings: Sequence[Finding]
) -> None:
    assert "Rendered demo" in html
    assert "endered" not in re.sub(r"data:[^\"]+", "", _html(replace(trial, rendered=False), measured, findings))


def test_cautions_defer(html: str) -> None:
    assert "qualified electrician" in html
    assert "can kill animals" in html
    assert "Local rules" in html


def test_text_of_the_keeper_is_text(trial: Trial, measured: Measured, findings: Sequence[Finding]) -> None:
    title = "<script>alert(1)</script> & co"
    hostile = [replace(one, wording=title, evidence=replace(one.evidence, remarks=(title,))) for one in findings]
    assert "<script" not in _html(replace(trial, title=title, held_equal=(title,)), measured, hostile)


def test_a_trial_without_water_photos_or_answers_is_a_sheet_too(trial: Trial) -> None:
    bare = replace(
        trial,
        bottles={},
        regimes={},
        source=None,
        baseline_regime=None,
        baseline_days=0.0,
        rendered=False,
        arms=tuple(replace(arm, regime=None) for arm in trial.arms),
        tanks={key: replace(tank, vessel=None) for key, tank in trial.tanks.items()},
    )
    html = _html(bare, Measured((), "test 1"), ())
    headings = Page(html).headings
    assert "Question and design" in headings
    assert "What was fed" not in headings
    assert "Pictures" not in headings
    assert "stock" not in html


def test_the_pictures_keep_first_last_and_the_day_the_regimes_begin(trial: Trial, measured: Measured) -> None:
    rows = [row.words for row in stills(trial, measured)]
    assert rows[0].startswith("Day 0, 2026-03-02, baseline")
    assert rows[1] == "Day 7, 2026-03-09, the regimes begin"
    assert rows[-1].startswith("Day 27")
    assert len(rows) <= 6


@pytest.mark.parametrize(
    ("written_down", "title"),
    [
        (datetime(2026, 3, 1, 23, 59, tzinfo=UTC), "Asked before the start"),
        (datetime(2026, 3, 2, tzinfo=UTC), "Questions (written down on 2026-03-02, after the start)"),
        (None, "Questions"),
    ],
)
def test_questions_are_asked_before_the_start_only_if_they_were(
    trial: Trial, written_down: datetime | None, title: str
) -> None:
    assert asked_title(replace(trial, rendered=False), written_down) == title
    assert asked_title(trial, written_down) == "Questions"


def test_without_photos_no_film_is_promised(trial: Trial, measured: Measured) -> None:
    def again(measured: Measured) -> str:
        sheet = sheet_of(trial, measured=measured, findings=(), charts={}, pictures=stills(trial, measured))
        return " ".join(sheet.again)

    assert "film.mp4" in again(measured)
    assert "no photos, so no film" in again(Measured((), "test 1"))
    assert "film.mp4" not in again(Measured((), "test 1"))


def test_a_picture_of_a_day_without_photo_is_taken_beside_it(measured: Measured) -> None:
    photo = measured.photos[0]
    made = [Moment(float(day), f"day {day}", {"left": Shown(photo, held=day == 4)}) for day in range(9)]
    assert [one.day for one in chosen(made, baseline_days=0.0)] == [0, 2, 5, 6, 8]


def test_publishing_writes_everything_and_again_the_same(
    trial: Trial, measured: Measured, findings: Sequence[Finding], entries: Sequence[Entry], tmp_path: Path
) -> None:
    class Book:
        """A logbook that holds the fixture's entries only."""

        def entries(self, trial_key: str) -> Sequence[Entry]:
            assert trial_key == trial.key
            return entries

        def first_written(self, key: str) -> datetime:
            assert key == trial.key
            return datetime(2026, 2, 27, tzinfo=UTC)

    few = Measured(tuple(photo for photo in measured.photos if photo.day < 12), "test 1")
    said: list[str] = []

    def written(out: Path) -> Mapping[str, bytes]:
        files = publish(
            cast("Logbook", Book()),
            trial,
            out,
            measured=few,
            findings=findings,
            progress=lambda done, total, what: said.append(f"{what} {done}/{total}"),
        )
        assert set(files) == {"sheet", "print", "findings", "schema", "charts", "film", "captions"}
        return {str(path.relative_to(out)): path.read_bytes() for path in out.rglob("*") if path.is_file()}

    first = written(tmp_path / "first")
    assert {"sheet.html", "sheet.pdf", "findings.json", "film.mp4", "charts/canopy-height-dark.svg"} <= set(first)
    assert "film 14/14" in said  # twelve days and two cards
    second = written(tmp_path / "second")
    assert set(second) == set(first)
    differing = [name for name in first if first[name] != second[name]]
    assert differing == []


def test_inline_drawings_do_not_share_ids(measured: Measured, trial: Trial) -> None:
    spec: Any = charts_of(trial, measured=measured, findings=())["cover"].spec
    svg = to_svg(spec)
    one, other = (inline_svg(svg, prefix=prefix, alt="a < b") for prefix in ("one", "two"))
    assert set(re.findall(r'id="([^"]+)"', one)).isdisjoint(re.findall(r'id="([^"]+)"', other))
    assert 'aria-label="a &lt; b"' in one
