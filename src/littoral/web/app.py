"""The application: which address leads to which page, behind the guard."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable, Mapping
from contextlib import asynccontextmanager
from datetime import UTC, date, datetime
from functools import partial
from pathlib import Path

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.routing import Route

from littoral.acts.jobs.runner import JobRunner
from littoral.acts.keep_devices import known_device
from littoral.acts.machine_zone import machine_zone
from littoral.acts.who_recorded import who_recorded
from littoral.web import pages
from littoral.web.access.codes import Codes
from littoral.web.access.doors import Doors, doors_of
from littoral.web.access.pages import ACCESS_ROUTES
from littoral.web.bench_pages import BENCH_ROUTES
from littoral.web.book_bench import BookBench
from littoral.web.care.routes import CARE_ROUTES
from littoral.web.drawing.pages import DRAWING_ROUTES
from littoral.web.growth_test import GROWTH_TEST_ROUTES
from littoral.web.guard import Guard, new_token
from littoral.web.levels.pages import LEVELS_ROUTES
from littoral.web.levels.work import LevelsWork
from littoral.web.mixing.files import FILE_ROUTES
from littoral.web.mixing.pages import MIXING_ROUTES
from littoral.web.mixing.working import warm_up
from littoral.web.past_table.held import Held
from littoral.web.past_table.pages import PAST_TABLE_ROUTES
from littoral.web.phone.pages import PHONE_ROUTES
from littoral.web.photos.colour_pages import COLOUR_ROUTES
from littoral.web.photos.gallery_pages import GALLERY_ROUTES
from littoral.web.photos.measured_work import MeasuredWork
from littoral.web.photos.pages import PHOTO_ROUTES
from littoral.web.photos.series_pages import SERIES_ROUTES
from littoral.web.photos.teach_pages import TEACH_ROUTES
from littoral.web.pooling import POOL_ROUTES
from littoral.web.publishing.pages import PUBLISH_ROUTES
from littoral.web.source import Bench
from littoral.web.speech.pages import SPEECH_ROUTES
from littoral.web.speech.spoken import Spoken
from littoral.web.start_form import first_values
from littoral.web.starting.first import FIRST_ROUTES
from littoral.web.starting.further import FURTHER_ROUTES
from littoral.web.waiting import Waiting, one_thread

ROUTES = (
    Route("/", pages.home),
    Route("/new", pages.new, methods=["GET"]),
    Route("/new", pages.start, methods=["POST"]),
    Route("/favicon.ico", pages.icon),
    Route("/static/{name}", pages.static),
    Route("/trial/{key}", pages.trial),
    Route("/trial/{key}/progress.json", pages.progress),
    Route("/trial/{key}/days.json", pages.days_json),
    Route("/trial/{key}/charts.json", pages.charts_json),
    Route("/trial/{key}/design", pages.design),
    Route("/trial/{key}/design.json", pages.design_json),
    Route("/trial/{key}/design/charts.json", pages.design_charts_json),
    Route("/trial/{key}/findings.json", pages.findings_json),
    Route("/trial/{key}/findings.schema.json", pages.findings_schema),
    Route("/trial/{key}/file", pages.trial_file),
    Route("/trial/{key}/trial.toml", pages.trial_file, name="trial_toml"),
    Route("/trial/{key}/photo/{entry_id}/{tank}/{look}.jpg", pages.picture),
    Route("/trial/{key}/published/{name}", pages.published),
    *FIRST_ROUTES,
    *FURTHER_ROUTES,
    *PUBLISH_ROUTES,
    *LEVELS_ROUTES,
    *DRAWING_ROUTES,
    *BENCH_ROUTES,
    *POOL_ROUTES,
    *GROWTH_TEST_ROUTES,
    *MIXING_ROUTES,
    *FILE_ROUTES,
    *CARE_ROUTES,
    *ACCESS_ROUTES,
    *PAST_TABLE_ROUTES,
    *PHONE_ROUTES,
    *PHOTO_ROUTES,
    *GALLERY_ROUTES,
    *TEACH_ROUTES,
    *COLOUR_ROUTES,
    *SERIES_ROUTES,
    *SPEECH_ROUTES,
)


def create_app(
    book_folder: Path,
    *,
    port: int,
    bench: Bench | None = None,
    today: Callable[[], date] = date.today,
    now: Callable[[], datetime] = lambda: datetime.now(UTC),
    doors: Doors | None = None,
    codes: Codes | None = None,
) -> Starlette:
    """Return the application of the logbook in `book_folder`, answering only to loopback names with `port`.

    `doors` are further names that it answers to, for devices paired by `codes` (`web.access`). `bench`
    replaces the logbook as the source of what is shown; `today` gives the date the form proposes as a start, `now`
    the moment of what is recorded.
    """
    token = new_token()
    doors = doors_of(port) if doors is None else doors
    known = partial(known_device, book_folder.resolve())
    whose = partial(who_recorded, book_folder.resolve())
    app = Starlette(
        routes=list(ROUTES),
        middleware=[
            Middleware(Spoken, folder=book_folder.resolve()),
            Middleware(Guard, doors=doors, token=token, known=known, routes=ROUTES, whose=whose),
        ],
        exception_handlers=pages.HANDLERS,
        lifespan=_lifespan,
    )
    app.state.token = token
    app.state.doors = doors
    app.state.held = Held()
    app.state.codes = Codes(folder=book_folder.resolve()) if codes is None else codes
    app.state.book_folder = book_folder.resolve()
    found: Bench = bench if bench is not None else BookBench(book_folder, now=now)
    pool = one_thread()
    app.state.bench = found
    app.state.waiting = Waiting(
        lambda key: found.fingerprint(key), lambda key, progress: found.page(key, progress), pool
    )
    app.state.levels = LevelsWork(found, pool)
    app.state.measured = MeasuredWork(app.state.book_folder, pool)
    app.state.jobs = JobRunner(book_folder.resolve())
    app.state.now = now

    def values() -> Mapping[str, str]:
        return first_values(today(), zone=machine_zone())

    app.state.first_values = values
    app.state.today = today
    return app


@asynccontextmanager
async def _lifespan(app: Starlette) -> AsyncIterator[None]:
    warm_up()
    yield
    app.state.jobs.close()
    app.state.levels.close()
    app.state.measured.close()
    app.state.waiting.close()
