"""The pages and their data: each endpoint finds what was asked for, and shows it."""

from __future__ import annotations

import asyncio
import json
import math
import shlex
from collections.abc import Mapping, Sequence
from contextlib import suppress
from http import HTTPStatus
from typing import Any, cast
from urllib.parse import quote

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, PlainTextResponse, RedirectResponse, Response

from littoral.acts.list_trials import ListedTrial
from littoral.acts.trial_page import LOOKS, Look, TrialPage
from littoral.errors import FaultsError, LittoralError
from littoral.publish.chart import Chart
from littoral.publish.findings_json import schema_text
from littoral.web.access.visitor import form_token
from littoral.web.assets import Asset, chart_script, own_assets
from littoral.web.care.problems import KINDS, problem, problem_of
from littoral.web.guard import HEADERS
from littoral.web.limits import QUICK_ANSWER_S
from littoral.web.refusal_page import TODAY, TRIALS, near_pages, near_trials, refusal_page
from littoral.web.source import Bench
from littoral.web.start_form import FIELDS, beside_fields, too_long
from littoral.web.starting.first import first_page
from littoral.web.templating import page_html
from littoral.web.timeline import place
from littoral.web.twin import twin_moments
from littoral.web.waiting import Waiting, Work

FOR_GOOD = "private, max-age=31536000, immutable"
PUBLISHED_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; sandbox"
"""For the published sheet, which carries its style and pictures within itself and runs no script."""


def _bench(request: Request) -> Bench:
    return cast(Bench, request.app.state.bench)


def _html(
    request: Request, template: str, *, status: int = 200, headers: Mapping[str, str] | None = None, **values: Any
) -> Response:
    text = page_html(template, token=form_token(request), **values)
    return Response(text, status, media_type="text/html", headers={"cache-control": "no-store", **(headers or {})})


async def _line(request: Request) -> ListedTrial:
    """Return the trial a path names, as the logbook lists it; 404 where it holds none of that key."""
    lines = await asyncio.to_thread(_bench(request).trials)
    for line in lines:
        if line.key == request.path_params["key"]:
            return line
    raise HTTPException(404, f"This logbook holds no trial “{request.path_params['key']}”.")


async def _work(request: Request, *, patience_s: float, again: bool = True) -> Work[TrialPage]:
    waiting = cast("Waiting[TrialPage]", request.app.state.waiting)
    line = await _line(request)
    return await asyncio.to_thread(waiting.ask, line.key, patience_s=patience_s, again=again)


async def _page(request: Request) -> TrialPage:
    """Return a trial's page once it is there; 503 while it is still being worked out."""
    work = await _work(request, patience_s=QUICK_ANSWER_S)
    if not work.future.done():
        raise HTTPException(503, "The trial is still being measured.", {"retry-after": "2"})
    return work.future.result()


def _wants_html(request: Request) -> bool:
    return "text/html" in request.headers.get("accept", "")


async def home(request: Request) -> Response:
    """The trials of this logbook; while there is none, the questions that start one."""
    lines = await asyncio.to_thread(_bench(request).trials)
    return _html(request, "home.html", lines=lines) if lines else await first_page(request, empty=True)


async def trial(request: Request) -> Response:
    """One trial: twin view, charts, findings; or how far its measuring is."""
    work = await _work(request, patience_s=QUICK_ANSWER_S)
    if not work.future.done():
        return _html(request, "waiting.html", line=await _line(request), work=work, status=202)
    page = work.future.result()
    at = page.moment_at(_asked_day(request, page))
    look = "original" if request.query_params.get("look") == "original" else "even"
    return _html(
        request,
        "trial.html",
        page=page,
        moments=twin_moments(page),
        at=at,
        look=look,
        place=place,
        has_photos=any(shown.photo is not None for tank in page.tanks for shown in tank.shown),
        charts_drawn=chart_script() is not None,
    )


def _asked_day(request: Request, page: TrialPage) -> float:
    """Return the day in the address, or the one a trial opens on: the last with a photo of every tank."""
    try:
        day = float(request.query_params.get("day", ""))
    except ValueError:
        day = math.nan
    if math.isfinite(day):
        return day
    whole = (
        moment.day
        for moment, *shown in zip(page.moments, *(tank.shown for tank in page.tanks), strict=True)
        if all(one.photo is not None and not one.held for one in shown)
    )
    return max(whole, default=0.0)


async def progress(request: Request) -> Response:
    """How far the work behind a trial's page is, as JSON."""
    work = await _work(request, patience_s=0, again=False)
    done, total, what = work.progress
    return JSONResponse({"ready": work.future.done(), "done": done, "total": total, "what": what})


async def days_json(request: Request) -> Response:
    """The twin view's moments, as JSON."""
    return JSONResponse(twin_moments(await _page(request)))


async def charts_json(request: Request) -> Response:
    """The charts' specifications, as JSON."""
    page = await _page(request)
    return JSONResponse({"charts": _specs(page.charts), "on_dark": page.on_dark})


async def design(request: Request) -> Response:
    """A trial's design: what is asked, who gets what when, what that can show, and since when it stands."""
    line = await _line(request)
    page = await asyncio.to_thread(_bench(request).design, line.key)
    return _html(request, "design.html", page=page, charts_drawn=chart_script() is not None)


async def design_json(request: Request) -> Response:
    """A trial's design, as JSON: the same object as `littoral design LOGBOOK --json` prints."""
    line = await _line(request)
    page = await asyncio.to_thread(_bench(request).design, line.key)
    return Response(json.dumps(page.as_json(), indent=2, ensure_ascii=False), media_type="application/json")


async def design_charts_json(request: Request) -> Response:
    """The specifications of the charts of a trial's design, as JSON."""
    line = await _line(request)
    page = await asyncio.to_thread(_bench(request).design, line.key)
    return JSONResponse({"charts": _specs(page.charts), "on_dark": dict(page.on_dark)})


def _specs(charts: Sequence[Mapping[int, Chart]]) -> list[dict[str, Any]]:
    return [
        {"key": next(iter(widths.values())).key, "widths": {width: chart.spec for width, chart in widths.items()}}
        for widths in charts
    ]


async def findings_json(request: Request) -> Response:
    """The findings: the same object as `littoral answer LOGBOOK --json` prints."""
    page = await _page(request)
    text = json.dumps(page.findings_json, indent=2, ensure_ascii=False)
    return Response(text, media_type="application/json")


async def findings_schema(_request: Request) -> Response:
    """What each key of the findings means, where they say it lies."""
    return Response(schema_text(), media_type="application/schema+json")


async def picture(request: Request) -> Response:
    """One tank's picture out of one photo, looked up by the entry's id."""
    look = request.path_params["look"]
    if look not in LOOKS:
        raise HTTPException(404, f"There is no look “{look}”; a picture has {', '.join(LOOKS)}.")
    asked = request.path_params
    # A scrub asks for many pictures; the page at hand knows them all, and an entry's picture never changes.
    page = cast("Waiting[TrialPage]", request.app.state.waiting).known(asked["key"]) or await _page(request)
    found = await asyncio.to_thread(_bench(request).picture, page, asked["entry_id"], asked["tank"], cast(Look, look))
    if found is None:
        raise HTTPException(404, "This trial has no such photo.")
    return FileResponse(found, media_type="image/jpeg", headers={"cache-control": FOR_GOOD})


async def published(request: Request) -> Response:
    """A published file of this trial: the sheet, the film, a chart."""
    line = await _line(request)
    found = await asyncio.to_thread(_bench(request).published, line.key, request.path_params["name"])
    if found is None:
        raise HTTPException(404, "No such file is there: `littoral publish LOGBOOK` writes sheet, charts and film.")
    headers = {"cache-control": "no-cache"}
    if found.suffix == ".html":
        headers["content-security-policy"] = PUBLISHED_POLICY
    return FileResponse(found, headers=headers)


async def trial_file(request: Request) -> Response:
    """The trial file: shown with what to do next, or as a download."""
    line = await _line(request)
    text = await asyncio.to_thread(_bench(request).text, line.key)
    if request.url.path.endswith(".toml"):
        disposition = {"content-disposition": 'attachment; filename="trial.toml"'}
        return Response(text, media_type="application/toml", headers=disposition)
    logbook = request.app.state.book_folder
    return _html(request, "file.html", line=line, text=text, logbook=shlex.quote(str(logbook)), quoted=shlex.quote)


async def new(request: Request) -> Response:
    """The form that starts a trial."""
    return _html(request, "new.html", fields=FIELDS, values=request.app.state.first_values(), beside={})


async def start(request: Request) -> Response:
    """Start a trial from the form; shows the form again, with what is wrong, where something is."""
    async with request.form(max_fields=32) as form:
        values: Mapping[str, str] = {name: str(value).strip() for name, value in form.items() if name != "token"}
    try:
        if faults := too_long(values):
            raise FaultsError(faults)
        key = await asyncio.to_thread(_bench(request).start, values)
    except FaultsError as error:
        return _html(request, "new.html", fields=FIELDS, values=values, beside=beside_fields(error.faults), status=422)
    return RedirectResponse(request.url_for("trial_file", key=key), HTTPStatus.SEE_OTHER)


async def static(request: Request) -> Response:
    """One of our own files, or the chart script."""
    name = request.path_params["name"]
    asset: Asset | None = await asyncio.to_thread(chart_script) if name == "vega.js" else own_assets().get(name)
    if asset is None:
        raise HTTPException(404, "The page has no such file.")
    headers = {"etag": asset.etag, "cache-control": "no-cache"}
    if request.headers.get("if-none-match") == asset.etag:
        return Response(status_code=304, headers=headers)
    return Response(asset.content, media_type=asset.media_type, headers=headers)


async def icon(_request: Request) -> Response:
    """Our mark, where a browser looks for it beside a file that names none."""
    mark = own_assets()["mark.svg"]
    return Response(mark.content, media_type=mark.media_type, headers={"cache-control": "max-age=86400"})


async def not_there(request: Request, error: Exception) -> Response:
    """An HTTP refusal as a page or as JSON: what is wrong and where to go."""
    refusal = cast(HTTPException, error)
    if request.url.path.startswith("/api/") and refusal.status_code == 404:
        return problem("not there", refusal.detail)
    if not _wants_html(request):
        return JSONResponse({"error": refusal.detail}, refusal.status_code, headers=refusal.headers)
    what, ways = refusal.detail, list(near_pages(request.url.path)) if refusal.status_code == 404 else []
    if what == HTTPStatus(refusal.status_code).phrase:  # nothing of ours said why
        what = f"There is no page at {request.url.path}" if refusal.status_code == 404 else f"{what}."
    ways += await _trials_meant(request) if refusal.status_code == 404 else []
    return refusal_page(refusal.status_code, what, ways=[*ways, TODAY, TRIALS], headers=refusal.headers)


async def _trials_meant(request: Request) -> list[tuple[str, str]]:
    """Return the trials that an address with a key of none may have meant."""
    path = request.url.path.split("/")
    if path[1] not in ("trial", "trials") or len(path) < 3:
        return []
    known = [(line.key, line.title) for line in await asyncio.to_thread(_bench(request).trials)]
    if not known:
        return [("/start", "Start a trial with three questions")]
    if path[2] in dict(known):
        return [(f"/trial/{quote(path[2], safe='')}", dict(known)[path[2]])]
    return [(f"/trial/{quote(key, safe='')}", title) for key, title in near_trials(path[2], known)]


async def refused(request: Request, error: Exception) -> Response:
    """One of our own errors: a fault in the data behind the page, shown with the words it carries."""
    kind, more = problem_of(cast(LittoralError, error))
    if request.url.path.startswith("/api/"):
        return problem(kind, str(error), **more)
    status = KINDS[kind] if kind in ("not there", "not allowed", "away") else 409
    faults = error.faults if isinstance(error, FaultsError) else ()
    if not _wants_html(request):
        return JSONResponse({"error": str(error)}, status)
    what = "The trial file holds mistakes." if faults else str(error)
    ways = [*(await _trials_meant(request) if status == 404 else ()), TODAY, TRIALS]
    return refusal_page(status, what, ways=ways, faults=faults)


async def crashed(request: Request, _error: Exception) -> Response:
    """A mistake of ours: says so, and nothing of the inside. Answered outside the guard, so it adds the headers."""
    what = "The terminal that Littoral runs in shows what happened."
    if _wants_html(request):
        with suppress(Exception):  # the page itself may be what is broken
            return refusal_page(500, what, headers=HEADERS)
    text = f"Something in littoral went wrong; what was recorded is safe. {what}\n"
    return PlainTextResponse(text, 500, headers=HEADERS)


HANDLERS = {HTTPException: not_there, LittoralError: refused, Exception: crashed}
