"""The addresses where a view is drawn: its tanks' corners and regions, on a photo, for the trial or from a day on."""

from __future__ import annotations

import asyncio
import json
import math
from collections.abc import Mapping, Sequence
from http import HTTPStatus
from typing import Any
from urllib.parse import quote

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from littoral.acts.draw_view import DrawingPhoto, ViewToDraw, draw_view, propose_corners, see_view, view_picture
from littoral.acts.told import Told
from littoral.errors import Fault, FaultsError
from littoral.logbook.refused import NoTrialError
from littoral.trial.written.report import WrongValueError
from littoral.trial.written.views import REGION_KINDS
from littoral.web.care.api import folder_of, now_of, signed
from littoral.web.care.showing import html_page, sent_form

KEPT = {"cache-control": "private, max-age=300"}
MOST_TANKS = 6
KIND_WORDS = {
    "stand": "stand of plants",
    "stone": "stone",
    "wood": "wood",
    "glass": "bare glass",
    "card": "grey card in the water",
}


async def draw(request: Request) -> Response:
    """A view to draw on."""
    found = await _see(request, _asked_day(request))
    return await _page(request, found, sent=None, faults=())


async def keep(request: Request) -> Response:
    """Keep what was drawn, or undo a drawing; what is wrong is shown with the drawing as it was sent."""
    sent = signed(request, await sent_form(request))
    if sent.get("undo"):
        from littoral.acts.change_entry import undo_entry

        await asyncio.to_thread(
            undo_entry, folder_of(request), sent["undo"], who=sent.get("who", ""), now=now_of(request)
        )
        return RedirectResponse(request.url.path + "?kept=undone", HTTPStatus.SEE_OTHER)
    try:
        from_day = _from_day(sent)
        done = await asyncio.to_thread(
            draw_view,
            folder_of(request),
            request.path_params["key"],
            request.path_params["view"],
            sent.get("panes", ""),
            from_day=from_day,
            told=Told(who=sent.get("who", ""), note=sent.get("note", ""), id=sent.get("id") or None),
            now=now_of(request),
        )
    except (FaultsError, WrongValueError) as error:
        faults = error.faults if isinstance(error, FaultsError) else (Fault(error.what, error.right, "id"),)
        return await _page(request, await _see(request, None), sent=sent, faults=faults)
    return RedirectResponse(request.url.path + f"?kept={'new' if done.new else 'same'}", HTTPStatus.SEE_OTHER)


async def photo(request: Request) -> Response:
    """One photo in the view's frame."""
    asked = request.path_params
    found = await asyncio.to_thread(view_picture, folder_of(request), asked["key"], asked["view"], asked["entry_id"])
    if found is None:
        raise HTTPException(404, "This view has no such photo.")
    return Response(found, media_type="image/jpeg", headers=KEPT)


async def corners(request: Request) -> Response:
    """Corners proposed for the tanks of a photo, from left to right, as JSON."""
    asked, query = request.path_params, request.query_params
    many = query.get("tanks", "1")
    tanks = int(many) if many.isascii() and many.isdecimal() and len(many) < 3 else 0
    if not 1 <= tanks <= MOST_TANKS:
        raise HTTPException(422, f"In the address, `tanks` is a number from 1 to {MOST_TANKS}.")
    found = await asyncio.to_thread(
        propose_corners, folder_of(request), asked["key"], asked["view"], query.get("photo", ""), tanks=tanks
    )
    return JSONResponse({"corners": found})


async def _see(request: Request, day: float | None) -> ViewToDraw:
    asked = request.path_params
    try:
        return await asyncio.to_thread(see_view, folder_of(request), asked["key"], asked["view"], day=day)
    except NoTrialError as error:
        raise HTTPException(404, str(error)) from None
    except FaultsError:
        raise HTTPException(404, f"This trial has no view “{asked['view'][:60]}”.") from None


async def _page(
    request: Request, found: ViewToDraw, *, sent: Mapping[str, str] | None, faults: Sequence[Fault]
) -> Response:
    panes = found.panes if sent is None else _plain(sent.get("panes", ""), found.panes)
    shown = _shown(found.photos, _asked_day(request), found.from_day)
    trial, view = found.trial, found.view
    data = {
        "frame": list(view.frame_px),
        "panes": panes,
        "tanks": {key: tank.name for key, tank in trial.tanks.items()},
        "stands": {key: stand.name for key, stand in trial.stands.items()},
        "standsOf": {key: [one.key for one in trial.stands.values() if key in one.tanks] for key in trial.tanks},
        "kinds": {kind: KIND_WORDS[kind] for kind in REGION_KINDS},
    }
    return html_page(
        request,
        "drawing/view.html",
        status=422 if faults else 200,
        trial=trial,
        view=view,
        data=json.dumps(data, ensure_ascii=False),
        photos=found.photos,
        shown=shown,
        place=found.photos.index(shown) if shown is not None else 0,
        photo_days=json.dumps([[one.entry, one.day] for one in found.photos]),
        base=f"/trial/{quote(trial.key, safe='')}/views/{quote(view.key, safe='')}",
        from_day=found.from_day if sent is None else sent.get("from_day", ""),
        note="" if sent is None else sent.get("note", ""),
        since=found.since,
        faults=faults,
        kept=request.query_params.get("kept", ""),
    )


def _plain(text: str, otherwise: Mapping[str, Any]) -> Any:
    try:
        found = json.loads(text)
    except ValueError:
        return otherwise
    return found if isinstance(found, dict) else otherwise


def _shown(photos: Sequence[DrawingPhoto], day: float | None, from_day: float) -> DrawingPhoto | None:
    """Return the photo to draw on: of the day asked for, else the first that the drawing holds for."""
    wanted = from_day if day is None else day
    later = [one for one in photos if one.day >= math.floor(wanted)]
    return later[0] if later else photos[-1] if photos else None


def _asked_day(request: Request) -> float | None:
    try:
        day = float(request.query_params.get("day", ""))
    except ValueError:
        return None
    return day if math.isfinite(day) else None


def _from_day(sent: Mapping[str, str]) -> float:
    if sent.get("since", "all") == "all":
        return 0.0
    written = sent.get("from_day", "").strip().replace(",", ".")
    try:
        day = float(written)
    except ValueError:
        day = math.nan
    if not math.isfinite(day):
        raise FaultsError([Fault(f'is "{written[:20]}".', "Write the day of the trial, such as 21.", "from_day")])
    return day


DRAWING_ROUTES = (
    Route("/trial/{key}/views/{view}", draw, methods=["GET"]),
    Route("/trial/{key}/views/{view}", keep, methods=["POST"]),
    Route("/trial/{key}/views/{view}/photo/{entry_id}.jpg", photo),
    Route("/trial/{key}/views/{view}/corners.json", corners),
)
