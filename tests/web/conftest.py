"""A bench without a logbook: one small page with drawn pictures, so that the page is tested by itself."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import httpx
import pytest
from PIL import Image, ImageDraw
from starlette.applications import Starlette

from littoral.acts.design_page import DesignPage
from littoral.acts.list_trials import ListedTrial
from littoral.acts.mix_and_feed.figures import Stop
from littoral.acts.trial_page import Event, Look, Moment, Shown, TrialPage, TwinPhoto, TwinTank
from littoral.acts.view_design import design_page
from littoral.errors import Fault, FaultsError
from littoral.findings.model import ArmValue, Evidence, Finding
from littoral.publish.chart import Chart
from littoral.publish.tables import Table
from littoral.tank.volume import Vessel
from littoral.trial.model import Arm, Question, Tank, Trial
from littoral.web.app import create_app

PORT = 8765
START = date(2026, 3, 2)
DAYS = 10
MISSING = {"right": {4, 5}}


def small_trial(**changes: object) -> Trial:
    vessel = Vessel(60, 30, 30, 27)
    trial = Trial(
        key="small",
        title="Sparing <or> full feeding",
        factor="feeding regime",
        start=START,
        zone="Europe/Berlin",
        baseline_days=3,
        length_days=DAYS,
        arms=(Arm("sparing", "sparing", ("right",)), Arm("full", "full", ("left",))),
        questions=(Question("growth", "Did they grow faster?", "height growth", smallest=0.005, primary=True),),
        tanks={key: Tank(key, f"{key} tank", vessel) for key in ("left", "right")},
        stands={},
        views={},
        bottles={},
        regimes={},
        rendered=True,
    )
    return replace(trial, **changes)


def _draw(path: Path, tank: str, day: int) -> Path:
    """Draw a tank that can be told from every other day's by eye and by its pixels."""
    image = Image.new("RGB", (500, 375), (24, 60 + 4 * day, 70 if tank == "left" else 96))
    draw = ImageDraw.Draw(image)
    draw.rectangle((60, 330 - 22 * day, 140, 340), fill=(70, 130, 50))
    draw.text((20, 20), f"{tank} {day}", fill=(255, 255, 255), font_size=48)
    image.save(path, "JPEG", quality=90)
    return path


def _tank(folder: Path, key: str, arm: str) -> TwinTank:
    shown: list[Shown] = []
    for day in range(DAYS):
        if day in MISSING.get(key, set()):
            shown.append(replace(shown[-1], held=True))
            continue
        path = _draw(folder / f"{key}-{day}.jpg", key, day)
        photo = TwinPhoto(f"photo-{key}-{day}", day + 0.4, f"s{day}", path, path, ("blurred",) if day == 7 else ())
        shown.append(Shown(photo, f"Day {day}", held=False))
    return TwinTank(
        key, f"{key} tank", arm, arm, ("sparing", "full").index(arm), (0, 0, 1, 1), (500, 375), tuple(shown)
    )


def small_finding() -> Finding:
    return Finding(
        question="growth",
        ask="Did they grow faster?",
        measure="height growth",
        unit="per day",
        arms=(ArmValue("sparing", "right", 0.021, 0.018, 0.024, 7), ArmValue("full", "left", 0.033, 0.030, 0.036, 7)),
        effect=0.012,
        low=0.004,
        high=0.020,
        relative_percent=57.0,
        tanks_per_arm=1,
        design="One tank per arm.",
        rule="these two tanks differ",
        wording="The plants of the left tank grew faster; tank or regime, unknown.",
        rule_text="With one tank per arm a difference between two tanks is all that can be seen.",
        next_step="Swap the regimes and repeat.",
        method="Slope of log height.",
        source="",
        evidence=Evidence(
            days=(3.4, 4.4, 5.4, 8.4),
            photos=tuple(f"photo-{tank}-{day}" for tank in ("left", "right") for day in (3, 6, 8)),
            entries=("dose-1",),
            series={},
            disturbed_by={"missed-1": "a dose was missed on day 6"},
        ),
        primary=True,
    )


def small_chart() -> dict[int, Chart]:
    spec = {
        "$schema": "https://vega.github.io/schema/vega-lite/v6.json",
        "params": [{"name": "day", "value": None}],
        "columns": 1,
        "spacing": {"row": 0},
        "concat": [
            {
                "width": 500,
                "height": 200,
                "layer": [
                    {
                        "data": {"values": [{"day": day, "cm": 5 + day} for day in range(DAYS)]},
                        "mark": {"type": "line", "color": "#1a72aa", "clip": True},
                        "encoding": {
                            "x": {
                                "field": "day",
                                "type": "quantitative",
                                "scale": {"domain": [0, DAYS], "nice": False},
                            },
                            "y": {"field": "cm", "type": "quantitative"},
                        },
                    },
                    {
                        "data": {"values": [{}]},
                        "transform": [{"calculate": "day", "as": "day"}, {"filter": "isValid(datum.day)"}],
                        "mark": {"type": "rule", "color": "#1d2a27"},
                        "encoding": {"x": {"field": "day", "type": "quantitative"}},
                    },
                ],
            }
        ],
    }
    chart = Chart("canopy-height", "Canopy height", "In cm.", "Two rising lines.", spec)
    return {340: chart, 720: chart}


def small_page(folder: Path, **changes: object) -> TrialPage:
    page = TrialPage(
        trial=small_trial(),
        lead="Feeding regime: sparing (right tank) against full (left tank).",
        design="One tank per arm. Drawn by coin.",
        moments=tuple(Moment(float(day), f"Day {day}", START + timedelta(day)) for day in range(DAYS)),
        tanks=(_tank(folder, "left", "full"), _tank(folder, "right", "sparing")),
        events=(
            Event("dose-1", 1.5, "12:00", "left", "dose", "dosed 4.4 mL macro stock"),
            Event("change-1", 5.3, "08:00", "left", "water change", "changed 40 % of the water"),
            Event("missed-1", 6.5, "12:00", "right", "missed dose", "missed 1.1 mL macro stock"),
            Event("note-1", 6.9, "22:00", "right", "note", "<b>bold</b> & more"),
        ),
        findings=(small_finding(),),
        findings_json={"findings": [{"question": "growth"}]},
        charts=(small_chart(),),
        on_dark={"#1a72aa": "#62b2e4"},
        tables=(
            Table(
                "Given each week", ("Nutrient", "sparing", "full"), ("", "mg/L", "mg/L"), (("nitrate", "1.2", "5.0"),)
            ),
        ),
        cautions=("Wear goggles.",),
        published=("sheet.html",),
        pictures=folder,
    )
    return replace(page, **changes)


@dataclass
class SmallBench:
    """Holds one page, or none; remembers what was started."""

    folder: Path
    pages: dict[str, TrialPage] = field(default_factory=dict)
    started: list[Mapping[str, str]] = field(default_factory=list)
    overridden: list[tuple[str, str, str, Stop]] = field(default_factory=list)
    before_page: Callable[[], None] = lambda: None

    def trials(self) -> tuple[ListedTrial, ...]:
        return tuple(
            ListedTrial(key, page.trial.title, page.lead, page.trial.rendered, 18, 4, None)
            for key, page in self.pages.items()
        )

    def fingerprint(self, key: str) -> str:
        return key

    def page(self, key: str, progress: Callable[[int, int, str], None]) -> TrialPage:
        progress(3, 18, "measuring photos")
        self.before_page()
        return self.pages[key]

    def design(self, key: str) -> DesignPage:
        return design_page(self.pages[key].trial, locked=None)

    def picture(self, page: TrialPage, entry_id: str, tank: str, look: Look) -> Path | None:
        found = page.photo(entry_id, tank)
        return None if found is None else found[1].original

    def published(self, key: str, name: str) -> Path | None:
        return self.folder / "sheet.html" if name == "sheet.html" else None

    def text(self, key: str) -> str:
        return "format = 1  # <a trial>\n"

    def start(self, form: Mapping[str, str]) -> str:
        if not form.get("title"):
            raise FaultsError([Fault("is empty.", "Write a title.", "title")])
        self.started.append(form)
        self.pages["new-one"] = replace(self.pages["small"], trial=small_trial(key="new-one", title=form["title"]))
        return "new-one"

    def override(self, key: str, act: str, of: str, stop: Stop, *, who: str = "") -> None:
        self.overridden.append((key, act, of, stop))


class Asking:
    """A client that asks as a browser on the right address would, straight into the application."""

    def __init__(self, app: Starlette) -> None:
        self.app = app
        self.base = f"http://127.0.0.1:{PORT}"

    def __call__(
        self, method: str, path: str, *, headers: Mapping[str, str] | None = None, **more: Any
    ) -> httpx.Response:
        async def ask() -> httpx.Response:
            through = httpx.ASGITransport(app=self.app, raise_app_exceptions=False)
            async with httpx.AsyncClient(transport=through, base_url=self.base) as client:
                return await client.request(method, path, headers={"accept": "text/html", **(headers or {})}, **more)

        with ThreadPoolExecutor(1) as thread:  # this one may hold the loop that drives a browser
            return thread.submit(asyncio.run, ask()).result()

    def get(self, path: str, **more: Any) -> httpx.Response:
        return self("GET", path, **more)

    def post(self, path: str, data: Mapping[str, str], **more: Any) -> httpx.Response:
        """Send a form as the page itself would, token and all; `headers` replace its Origin and the like."""
        headers = {"origin": self.base, "sec-fetch-site": "same-origin", **more.pop("headers", {})}
        return self("POST", path, data={"token": self.app.state.token, **data}, headers=headers, **more)


@pytest.fixture
def bench(tmp_path: Path) -> SmallBench:
    (tmp_path / "sheet.html").write_text("<!doctype html><style>p{color:red}</style><p>sheet</p>")
    return SmallBench(tmp_path, {"small": small_page(tmp_path)})


@pytest.fixture
def asking(bench: SmallBench) -> Iterator[Asking]:
    app = create_app(bench.folder, port=PORT, bench=bench, today=lambda: date(2026, 2, 27))
    yield Asking(app)
    app.state.waiting.close()


@pytest.fixture
def asking_of() -> Iterator[Callable[[Starlette], Asking]]:
    """Ask an application of the test's own, such as one over a logbook that is there."""
    apps: list[Starlette] = []

    def ask(app: Starlette) -> Asking:
        apps.append(app)
        return Asking(app)

    yield ask
    for app in apps:
        app.state.waiting.close()
