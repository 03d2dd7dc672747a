"""The page that takes photos in, and the addresses behind it."""

from __future__ import annotations

import asyncio
from functools import partial
from typing import cast

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from littoral.acts.photos.decide_photos import decide_photos
from littoral.acts.photos.list_photos import PhotoList, list_photos
from littoral.acts.photos.rows import BY_LOOK, PhotoFile, PhotoRow
from littoral.acts.told import Told
from littoral.errors import Fault, FaultsError
from littoral.logbook.refused import NoTrialError
from littoral.trial.model import Trial
from littoral.web.access.visitor import form_token, visitor_of
from littoral.web.care.api import FRESH, NotJsonError, folder_of, now_of, only, signed, texts_of
from littoral.web.care.problems import problem
from littoral.web.limits import MAX_INTAKE_BYTES
from littoral.web.photos.described import DECISION, TOLD
from littoral.web.templating import page_html

SMALL_KEPT = {"cache-control": "private, max-age=86400"}


async def add_page(request: Request) -> Response:
    """Choose or drop files, see how far they are, and decide about what is doubtful."""
    trial, listed = await asyncio.to_thread(_trial_and_photos, request)
    text = page_html(
        "photos/add.html",
        token=form_token(request),
        trial=trial,
        carried_trial=trial.key,
        views=tuple(trial.views.values()),
        waiting=listed.count("to decide"),
        total=len(listed.photos),
        may_write=visitor_of(request).may_write,
        max_bytes=MAX_INTAKE_BYTES,
        by_look=BY_LOOK,
    )
    return Response(text, media_type="text/html", headers={"cache-control": "no-store"})


def _trial_and_photos(request: Request) -> tuple[Trial, PhotoList]:
    from littoral.acts.frame_photo import frames

    key = request.path_params["key"]
    try:
        trial, _ = frames(folder_of(request), key)
    except NoTrialError:
        raise HTTPException(404, f"This logbook holds no trial “{key[:60]}”.") from None
    return trial, list_photos(folder_of(request), key)


async def add(request: Request) -> Response:
    """Take one photo of many in: its bytes are the body; the answer says what became of it."""
    from littoral.acts.photos.add_photos import add_photos

    asked = request.query_params
    if unknown := sorted(set(asked) - set(TOLD)):
        right = f"A photo takes {', '.join(TOLD)}."
        raise FaultsError([Fault("is not known here.", right, one[:60]) for one in unknown])
    data = await request.body()
    length = request.headers.get("content-length", "")
    if length and int(length) != len(data):
        raise HTTPException(400, "The photo arrived cut short. Send it again.")
    who = signed(request, {"who": asked.get("who", "")})["who"]
    told = Told(trial=request.path_params["key"], when=asked.get("when", ""), who=who, note=asked.get("note", ""))
    work = partial(
        add_photos,
        folder_of(request),
        [PhotoFile(asked.get("name", "")[:400], lambda: data)],
        view=asked.get("view", ""),
        clock=asked.get("clock", ""),
        told=told,
        now=now_of(request),
        workers=1,
    )
    (row,) = (await asyncio.to_thread(work)).rows
    return _row(row)


async def known(request: Request) -> Response:
    """Whether the trial holds a content, so that a folder chosen again need not be sent again."""
    from littoral.acts.photos.show_photo import known_photo

    asked = request.path_params
    sha256 = asked["sha256"]
    found = None
    if len(sha256) == 64 and all(sign in "0123456789abcdef" for sign in sha256):
        found = await asyncio.to_thread(
            partial(known_photo, folder_of(request), asked["key"], sha256, now=now_of(request))
        )
    return Response(status_code=204, headers=FRESH) if found is None else _row(found)


async def listed(request: Request) -> Response:
    """The photos of a trial, with doubts and decisions."""
    found = await asyncio.to_thread(list_photos, folder_of(request), request.path_params["key"])
    return JSONResponse(found.as_json(), headers=FRESH)


async def decide(request: Request) -> Response:
    """Decide about photos."""
    try:
        sent = dict(signed(request, texts_of(await request.body())))
    except NotJsonError as error:
        return problem("not json", str(error))
    only(sent, DECISION)
    ids = sent.pop("photos", "").split()
    if not ids:
        raise FaultsError([Fault("is empty.", "Name the photos that are decided about.", "photos")])
    work = partial(decide_photos, folder_of(request), ids, sent.pop("decision", ""), now=now_of(request), **sent)
    done = await asyncio.to_thread(work)
    return JSONResponse(done.as_json(), 201 if done.new else 200, headers=FRESH)


async def small(request: Request) -> Response:
    """A photo as a small picture."""
    from littoral.acts.photos.show_photo import small_photo

    asked = request.path_params
    data = await asyncio.to_thread(small_photo, folder_of(request), asked["key"], asked["id"])
    if data is None:
        raise HTTPException(404, "This trial has no such photo.")
    return Response(data, media_type="image/jpeg", headers=SMALL_KEPT)


def _row(row: PhotoRow) -> Response:
    body = cast("dict[str, object]", row.as_json())
    return JSONResponse(body, 201 if row.state in ("added", "to decide") else 200, headers=FRESH)


PHOTO_ROUTES = (
    Route("/trial/{key}/photos/add", add_page),
    Route("/trial/{key}/photos/{id}/small.jpg", small),
    Route("/api/trials/{key}/photos", listed, methods=["GET"]),
    Route("/api/trials/{key}/photos", add, methods=["POST"]),
    Route("/api/trials/{key}/photos/{sha256}", known),
    Route("/api/photos/decisions", decide, methods=["POST"]),
)
