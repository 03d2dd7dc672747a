"""The addresses of the app on a phone: what installs it, its worker, the camera, and the photos that come in."""

from __future__ import annotations

import asyncio
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from urllib.parse import quote
from zoneinfo import ZoneInfo

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from littoral.acts.frame_photo import Frame
from littoral.acts.told import Told
from littoral.errors import Fault, FaultsError
from littoral.trial.model import Trial
from littoral.web.access.visitor import form_token, visitor_of
from littoral.web.care.api import folder_of, now_of, signed
from littoral.web.limits import MAX_PHOTO_BYTES
from littoral.web.phone.icons import icon
from littoral.web.phone.paths import ICONS
from littoral.web.phone.worker import WORKER_POLICY, worker_script
from littoral.web.templating import page_html
from littoral.web.words import long_date

A_DAY = {"cache-control": "max-age=86400"}
TOLD = ("trial", "when", "zone", "who", "note", "id")


@dataclass(frozen=True, slots=True)
class Choice:
    """A trial and its views, to choose from."""

    trial: Trial
    frames: tuple[Frame, ...]


async def manifest(_request: Request) -> Response:
    """What a phone needs to know to put Littoral on its home screen (W3C Web Application Manifest)."""
    icons = [
        {"src": name, "sizes": f"{side}x{side}", "type": "image/png", "purpose": kind}
        for name, (side, kind) in ICONS.items()
        if name != "/icon-home.png"
    ]
    body = {
        "id": "/",
        "name": "Littoral",
        "short_name": "Littoral",
        "description": "What is due at the tanks today, and what was done.",
        "start_url": "/today",
        "scope": "/",
        "display": "standalone",
        "background_color": "#fbfcf9",
        "theme_color": "#fbfcf9",
        "icons": icons,
        "shortcuts": [
            {"name": "Today", "url": "/today"},
            {"name": "Take a photo", "url": "/camera"},
        ],
    }
    return JSONResponse(body, media_type="application/manifest+json", headers={"cache-control": "no-cache"})


async def picture(request: Request) -> Response:
    """One icon."""
    side, kind = ICONS[request.url.path]
    return Response(await asyncio.to_thread(icon, side, kind), media_type="image/png", headers=A_DAY)


async def worker(_request: Request) -> Response:
    """The service worker."""
    headers = {"cache-control": "no-cache", "content-security-policy": WORKER_POLICY}
    return Response(worker_script(), media_type="text/javascript; charset=utf-8", headers=headers)


async def offline(_request: Request) -> Response:
    """What is shown without a connection where no copy is kept; it holds nothing of the logbook, and no token."""
    text = page_html("phone/offline.html", token="")
    return Response(text, media_type="text/html", headers={"cache-control": "no-store"})


async def camera(request: Request) -> Response:
    """The camera for one view, or the views to choose from."""
    choices = await asyncio.to_thread(_choices, request)
    asked = {name: request.query_params.get(name, "") for name in ("trial", "view", "tank")}
    if asked["trial"] and asked["trial"] not in {choice.trial.key for choice in choices}:
        raise HTTPException(404, f"This logbook holds no trial “{asked['trial']}”.")
    mine = [choice for choice in choices if asked["trial"] in ("", choice.trial.key)]
    found = [(choice, frame) for choice in mine for frame in choice.frames if _is_asked(frame, asked)]
    wanted = bool(asked["view"] or asked["tank"])
    if wanted and not found:
        raise HTTPException(404, "This trial has no such view.")
    chosen = found[0] if found and (wanted or len(found) == 1) else None
    values: dict[str, Any] = {"frame": None, "choices": mine, "max_bytes": MAX_PHOTO_BYTES}
    values["may_decide"] = visitor_of(request).may("decide")
    if chosen is not None:
        choice, frame = chosen
        values |= {"trial": choice.trial, "frame": frame, "frames": choice.frames}
        values |= {"before": _before(choice.trial, frame), "last_words": _last_words(choice.trial, frame)}
    text = page_html("phone/camera.html", token=form_token(request), **values)
    return Response(text, media_type="text/html", headers={"cache-control": "no-store"})


def _choices(request: Request) -> tuple[Choice, ...]:
    from littoral.acts.frame_photo import frames

    return tuple(Choice(*frames(folder_of(request), line.key)) for line in request.app.state.bench.trials())


def _is_asked(frame: Frame, asked: dict[str, str]) -> bool:
    if asked["view"]:
        return frame.view == asked["view"]
    return not asked["tank"] or asked["tank"] in frame.tanks


def _before(trial: Trial, frame: Frame) -> str:
    if frame.last is None:
        return ""
    return f"/camera/before/{quote(trial.key, safe='')}/{quote(frame.view, safe='')}.jpg?v={quote(frame.last)}"


def _last_words(trial: Trial, frame: Frame) -> str:
    if frame.last_at is None:
        return ""
    local: datetime = frame.last_at.astimezone(ZoneInfo(trial.zone))
    return f"{long_date(local.date())}, {local:%H:%M}"


async def before(request: Request) -> Response:
    """The last photo of a view, to frame the next one by."""
    from littoral.acts.frame_photo import overlay

    asked = request.path_params
    data = await asyncio.to_thread(overlay, folder_of(request), asked["key"], asked["view"])
    if data is None:
        raise HTTPException(404, "This view has no photo yet.")
    return Response(data, media_type="image/jpeg", headers={"cache-control": "private, no-cache"})


async def add_photo(request: Request) -> Response:
    """Take in a photo: its bytes are the body, all else stands in the address."""
    from littoral.acts.add_photo import add_photo as add

    asked = request.query_params
    unknown = sorted(set(asked) - {*TOLD, "view", "name"})
    if unknown:
        right = f"A photo takes {', '.join((*TOLD, 'view', 'name'))}."
        raise FaultsError([Fault("is not known here.", right, one) for one in unknown])
    told = {name: asked[name] for name in TOLD if asked.get(name)}
    told = dict(signed(request, told))
    data = await request.body()
    length = request.headers.get("content-length", "")
    if length and int(length) != len(data):
        raise HTTPException(400, "The photo arrived cut short. Send it again.")
    recorded = await asyncio.to_thread(
        add,
        folder_of(request),
        data,
        asked.get("view", ""),
        file_name=asked.get("name", ""),
        told=Told(**told),
        now=now_of(request),
    )
    return JSONResponse(recorded.as_json(), 201 if recorded.new else 200, headers={"cache-control": "no-store"})


PHONE_ROUTES = (
    Route("/app.webmanifest", manifest),
    *(Route(name, picture) for name in ICONS),
    Route("/sw.js", worker),
    Route("/offline", offline),
    Route("/camera", camera),
    Route("/camera/before/{key}/{view}.jpg", before),
    Route("/api/photos", add_photo, methods=["POST"]),
)
