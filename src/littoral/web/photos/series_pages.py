"""What photos say over days, over HTTP: one measure at a time, its chart, and the same as JSON and CSV."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from littoral.errors import FaultsError
from littoral.web.assets import chart_script
from littoral.web.care.showing import html_page
from littoral.web.photos.measured_work import how_far, made, made_or_waiting, work_of

if TYPE_CHECKING:
    from littoral.acts.photos.series_page import PhotoSeries, SeriesPage


async def series(request: Request) -> Response:
    """One measure over days, in every place or one, and the arms on one day."""
    found = await made_or_waiting(request, work_of(request).series, progress_at="series/progress.json")
    if isinstance(found, Response):
        return found
    page = _chosen(request, found)
    charts = await asyncio.to_thread(page.charts)
    day = _day(request, page)
    return html_page(
        request,
        "photos/series.html",
        page=page,
        chart=charts[0] if charts else None,
        day=day,
        shown=page.on(day),
        address=_address,
        charts_drawn=chart_script() is not None,
    )


def _chosen(request: Request, found: PhotoSeries) -> SeriesPage:
    asked = request.query_params
    try:
        return found.chosen(asked.get("measure", ""), asked.get("of", ""))
    except FaultsError as error:
        raise HTTPException(404, " ".join(f"{fault.what} {fault.right}" for fault in error.faults)) from None


def _day(request: Request, page: SeriesPage) -> int:
    """Return the day in the address, within those that have photos; without one, the last that all tanks share."""
    asked = request.query_params.get("day", "")
    if not (asked.isascii() and asked.isdigit() and len(asked) < 6):
        return page.last_shared
    return min(int(asked), max(len(page.days) - 1, 0))


def _address(page: SeriesPage, **changes: object) -> str:
    """Return the query of the page with some of its choices changed; "" leaves one out."""
    chosen: Mapping[str, object] = {"measure": page.measure.key if page.measure else "", "of": page.of} | changes
    query = urlencode({name: str(value) for name, value in chosen.items() if value != ""})
    return f"?{query}" if query else "?"


async def progress(request: Request) -> Response:
    """How far the measuring is."""
    return await how_far(request, work_of(request).series)


async def charts_json(request: Request) -> Response:
    """The chart's specification."""
    page = _chosen(request, await made(request, work_of(request).series))
    charts = [
        {"key": next(iter(widths.values())).key, "widths": {width: chart.spec for width, chart in widths.items()}}
        for widths in await asyncio.to_thread(page.charts)
    ]
    return JSONResponse({"charts": charts, "on_dark": dict(page.on_dark)})


async def series_json(request: Request) -> Response:
    """The same object as `littoral series LOGBOOK --json` prints."""
    return JSONResponse(_chosen(request, await made(request, work_of(request).series)).as_json())


async def series_csv(request: Request) -> Response:
    """The same table as `littoral series LOGBOOK --csv` prints."""
    page = _chosen(request, await made(request, work_of(request).series))
    name = f"{page.measure.key if page.measure else 'nothing'}.csv"
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return Response(page.as_csv(), media_type="text/csv; charset=utf-8", headers=headers)


SERIES_ROUTES = (
    Route("/trial/{key}/series", series),
    Route("/trial/{key}/series.json", series_json),
    Route("/trial/{key}/series.csv", series_csv),
    Route("/trial/{key}/series/charts.json", charts_json),
    Route("/trial/{key}/series/progress.json", progress),
)
