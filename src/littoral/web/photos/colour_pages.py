"""Plant or camera over HTTP: the page, its charts, and the same as JSON."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from littoral.web.assets import chart_script
from littoral.web.care.showing import html_page
from littoral.web.photos.measured_work import how_far, made, made_or_waiting, work_of


async def colour(request: Request) -> Response:
    """For each stand: is it the plant, or the camera?"""
    page = await made_or_waiting(request, work_of(request).colour, progress_at="colour/progress.json")
    if isinstance(page, Response):
        return page
    charts = {next(iter(widths.values())).key: widths for widths in page.charts}
    return html_page(request, "photos/colour.html", page=page, charts=charts, charts_drawn=chart_script() is not None)


async def progress(request: Request) -> Response:
    """How far the measuring is."""
    return await how_far(request, work_of(request).colour)


async def charts_json(request: Request) -> Response:
    """The charts' specifications."""
    page = await made(request, work_of(request).colour)
    charts = [
        {"key": next(iter(widths.values())).key, "widths": {width: chart.spec for width, chart in widths.items()}}
        for widths in page.charts
    ]
    return JSONResponse({"charts": charts, "on_dark": dict(page.on_dark)})


async def colour_json(request: Request) -> Response:
    """The same object as `littoral colour LOGBOOK --json` prints."""
    return JSONResponse((await made(request, work_of(request).colour)).as_json())


COLOUR_ROUTES = (
    Route("/trial/{key}/colour", colour),
    Route("/trial/{key}/colour.json", colour_json),
    Route("/trial/{key}/colour/charts.json", charts_json),
    Route("/trial/{key}/colour/progress.json", progress),
)
