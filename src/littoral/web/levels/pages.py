"""The page of levels over HTTP: the page, its charts, what if, and other priors."""

from __future__ import annotations

import asyncio
import math
from collections.abc import Mapping
from http import HTTPStatus
from typing import TYPE_CHECKING, Any, cast

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from littoral.acts.list_trials import ListedTrial
from littoral.errors import Fault, FaultsError
from littoral.web.access.visitor import form_token
from littoral.web.assets import chart_script
from littoral.web.levels.work import LevelsWork
from littoral.web.limits import MAX_AMOUNT_CHARS, MAX_FIELDS, QUICK_ANSWER_S
from littoral.web.source import Bench
from littoral.web.templating import page_html
from littoral.web.words import long_date

if TYPE_CHECKING:
    from littoral.acts.levels_page import LevelsPage

LEAD = (
    "The levels are fitted once, then the results are kept. Photos that were not measured yet come first. "
    "This page opens by itself."
)
NO_STORE = {"cache-control": "no-store"}


def _works(request: Request) -> LevelsWork:
    return cast(LevelsWork, request.app.state.levels)


async def _line(request: Request) -> ListedTrial:
    key = request.path_params["key"]
    for line in await asyncio.to_thread(cast(Bench, request.app.state.bench).trials):
        if line.key == key:
            return line
    raise HTTPException(404, f"This logbook holds no trial “{key}”.")


async def _ready(request: Request) -> LevelsPage:
    """Return the page at hand, however old, so that questions are answered at once; 503 without one."""
    line = await _line(request)
    page = _works(request).pages.known(line.key)
    if page is None:
        work = await asyncio.to_thread(_works(request).pages.ask, line.key, patience_s=QUICK_ANSWER_S)
        if not work.future.done():
            raise HTTPException(503, "The levels are still being fitted.", {"retry-after": "2"})
        page = work.future.result()
    return page


async def levels(request: Request) -> Response:
    """The page of one trial's levels; or how far their fit is."""
    line = await _line(request)
    work = await asyncio.to_thread(_works(request).pages.ask, line.key, patience_s=QUICK_ANSWER_S)
    token = form_token(request)
    if not work.future.done():
        html = page_html(
            "waiting.html", token=token, line=line, work=work, lead=LEAD, progress_at="levels/progress.json"
        )
        return Response(html, 202, media_type="text/html", headers=NO_STORE)
    page = work.future.result()
    html = await asyncio.to_thread(_html, request, page, token)
    return Response(html, media_type="text/html", headers=NO_STORE)


def _html(request: Request, page: LevelsPage, token: str) -> str:
    shown: dict[str, Any] = {"leaf": None, "leaf_tank": ""}
    if page.estimates is not None:
        from littoral.acts.leaf_signs import leaf_signs

        tanks = [tank.key for tank in page.tanks]
        asked = request.query_params.get("tank", "")
        shown["leaf_tank"] = asked if asked in tanks else tanks[0]
        ticked = request.query_params.getlist("sign")
        shown["leaf"] = leaf_signs(page.estimates, tank=shown["leaf_tank"], ticked=ticked)
    priors = _works(request).priors.begun(page.trial.key)
    current = _works(request).pages.begun(page.trial.key)
    if priors is not None and current is not None and priors.fingerprint != current.fingerprint:
        priors = None  # of an older fit
    return page_html(
        "levels/page.html",
        token=token,
        page=page,
        at=_day_index(request, page),
        charts_drawn=chart_script() is not None,
        priors=priors,
        **shown,
    )


def _day_index(request: Request, page: LevelsPage) -> int:
    """Return the index of the day in the address, within the page's days; without one, that of now."""
    try:
        day = float(request.query_params.get("day", ""))
    except ValueError:
        day = math.nan
    day = day if math.isfinite(day) else page.now_day
    return int(min(max(day, 0), max(len(page.days) - 1, 0)))


async def progress(request: Request) -> Response:
    """How far the fit is, as JSON."""
    line = await _line(request)
    work = await asyncio.to_thread(_works(request).pages.ask, line.key, patience_s=0, again=False)
    done, total, what = work.progress
    return JSONResponse({"ready": work.future.done(), "done": done, "total": total, "what": what})


async def charts_json(request: Request) -> Response:
    """The charts' specifications and the days of the cursor, as JSON; with `near` in the query, around now only."""
    page = await _ready(request)
    near = "near" in request.query_params
    drawn = [(one.near if near else None) or one.charts for one in page.nutrients]
    charts = [
        {"key": next(iter(widths.values())).key, "widths": {width: chart.spec for width, chart in widths.items()}}
        for widths in drawn
    ]
    days = [{"day": one.day, "label": one.label, "words": long_date(one.date)} for one in page.days]
    return JSONResponse({"charts": charts, "on_dark": page.on_dark, "moments": days})


async def what_if(request: Request) -> Response:
    """What other amounts would lead to, as JSON; nothing is written anywhere."""
    page = await _ready(request)
    async with request.form(max_fields=MAX_FIELDS) as form:
        sent = {name: str(value) for name, value in form.items() if name != "token"}
    if page.estimates is None:
        return JSONResponse({"error": page.why_not}, 409)
    from littoral.acts.other_levels import other_levels

    try:
        doses, shares = _amounts(sent)
        tank = {one.key: one for one in page.tanks}[sent.get("tank", "")]
        found = await asyncio.to_thread(
            other_levels,
            page.trial,
            page.estimates,
            tank=tank.key,
            planned=tank.planned,
            doses=doses,
            shares=shares,
            limits=sent.get("limits") == "yes",
        )
    except KeyError:
        return JSONResponse({"error": "This tank has no regime that could be changed."}, 404)
    except FaultsError as error:
        words = " ".join(f"{fault.where}: {fault.what} {fault.right}" for fault in error.faults)
        return JSONResponse({"error": words}, 422)
    return JSONResponse(found, headers=NO_STORE)


def _amounts(sent: Mapping[str, str]) -> tuple[dict[int, float], dict[int, float]]:
    """Read "dose-<place>" (mL or g) and "change-<place>" (percent); FaultsError names each that is no number."""
    doses: dict[int, float] = {}
    shares: dict[int, float] = {}
    faults = []
    for name, written in sent.items():
        kind, _, place = name.partition("-")
        if kind not in ("dose", "change") or not (place.isdecimal() and len(place) < 4):
            continue
        try:
            amount = float(written[:MAX_AMOUNT_CHARS].replace(",", "."))
        except ValueError:
            faults.append(Fault(f"“{written[:20]}” is no number.", "Give an amount.", f"{kind} {int(place) + 1}"))
            continue
        if kind == "dose":
            doses[int(place)] = amount
        else:
            shares[int(place)] = amount / 100
    if faults:
        raise FaultsError(faults)
    return doses, shares


async def other_priors(request: Request) -> Response:
    """Start the two fits with other priors, and go back to the page, which shows how far they are."""
    line = await _line(request)
    await _ready(request)
    await asyncio.to_thread(_works(request).priors.ask, line.key, patience_s=0)
    return RedirectResponse(f"{request.url_for('levels', key=line.key).path}?sure=open#sure", HTTPStatus.SEE_OTHER)


async def priors_progress(request: Request) -> Response:
    """How far the fits with other priors are, as JSON."""
    line = await _line(request)
    work = _works(request).priors.begun(line.key)
    if work is None:
        raise HTTPException(404, "Nothing was asked for: press the button on the page of levels first.")
    done, total, what = work.progress
    return JSONResponse({"ready": work.future.done(), "done": done, "total": total, "what": what})


LEVELS_ROUTES = (
    Route("/trial/{key}/levels", levels, name="levels"),
    Route("/trial/{key}/levels/progress.json", progress, name="levels_progress"),
    Route("/trial/{key}/levels/charts.json", charts_json, name="levels_charts"),
    Route("/trial/{key}/levels/what-if.json", what_if, methods=["POST"]),
    Route("/trial/{key}/levels/priors", other_priors, methods=["POST"]),
    Route("/trial/{key}/levels/priors.json", priors_progress),
)
