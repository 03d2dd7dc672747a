"""The work behind the pages of series and of colour: photos measured once, results kept until the logbook changes."""

from __future__ import annotations

import asyncio
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar, cast

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from littoral.acts.list_trials import ListedTrial, fingerprint
from littoral.progress import Progress
from littoral.web.care.showing import html_page
from littoral.web.limits import QUICK_ANSWER_S
from littoral.web.source import Bench
from littoral.web.waiting import Waiting

if TYPE_CHECKING:
    from littoral.acts.photos.colour_page import ColourPage
    from littoral.acts.photos.series_page import PhotoSeries

T = TypeVar("T")


class MeasuredWork:
    """Both pages' work, sharing the `pool` with the trial's page, so that nothing is measured twice."""

    def __init__(self, folder: Path, pool: ThreadPoolExecutor) -> None:
        def series_of(key: str, progress: Progress) -> PhotoSeries:
            from littoral.acts.photos.series_page import photo_series

            return photo_series(folder, key, progress=progress)

        def colour_of(key: str, progress: Progress) -> ColourPage:
            from littoral.acts.photos.colour_page import see_colour

            return see_colour(folder, key, progress=progress)

        self.series: Waiting[PhotoSeries] = Waiting(lambda key: fingerprint(folder, key), series_of, pool)
        self.colour: Waiting[ColourPage] = Waiting(lambda key: fingerprint(folder, key), colour_of, pool)

    def close(self) -> None:
        """Take no more work."""
        self.series.close()
        self.colour.close()


def work_of(request: Request) -> MeasuredWork:
    """Return the application's work."""
    return cast(MeasuredWork, request.app.state.measured)


async def line_of(request: Request) -> ListedTrial:
    """Return the trial a path names; 404 where the logbook holds none of that key."""
    key = request.path_params["key"]
    for line in await asyncio.to_thread(cast(Bench, request.app.state.bench).trials):
        if line.key == key:
            return line
    raise HTTPException(404, f"This logbook holds no trial “{key[:60]}”.")


async def made_or_waiting(request: Request, waiting: Waiting[T], *, progress_at: str) -> T | Response:
    """Return what was worked out, or the page that says how far it is."""
    line = await line_of(request)
    work = await asyncio.to_thread(waiting.ask, line.key, patience_s=QUICK_ANSWER_S)
    if work.future.done():
        return work.future.result()
    return html_page(request, "waiting.html", status=202, line=line, work=work, progress_at=progress_at)


async def made(request: Request, waiting: Waiting[T]) -> T:
    """Return what was worked out; 503 while it still is."""
    line = await line_of(request)
    work = await asyncio.to_thread(waiting.ask, line.key, patience_s=QUICK_ANSWER_S)
    if not work.future.done():
        raise HTTPException(503, "The photos are still being measured.", {"retry-after": "2"})
    return work.future.result()


async def how_far(request: Request, waiting: Waiting[T]) -> Response:
    """How far the work is, as JSON."""
    line = await line_of(request)
    work = await asyncio.to_thread(waiting.ask, line.key, patience_s=0, again=False)
    done, total, what = work.progress
    return JSONResponse({"ready": work.future.done(), "done": done, "total": total, "what": what})
