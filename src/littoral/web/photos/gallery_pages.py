"""The pages that show photos: all by day, and one with what was measured on it and the decision about it."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping, Sequence
from functools import partial
from http import HTTPStatus
from urllib.parse import quote

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from littoral.acts.photos.decide_photos import decide_photos
from littoral.acts.photos.gallery import SHOWS, counted_picture, gallery, present_id, see_photo
from littoral.errors import Fault, FaultsError
from littoral.logbook.changed_entries import NoEntryError
from littoral.logbook.refused import NoTrialError
from littoral.web.access.visitor import visitor_of
from littoral.web.care.api import folder_of, now_of, signed
from littoral.web.care.showing import html_page, sent_form
from littoral.web.photos.teach_pages import TAUGHT, editor_of

DONE = {"keep": "It is used now; the trial is measured anew when it is opened.", "set aside": "It is set aside."} | {
    key.replace("-", " "): words for key, words in TAUGHT.items()
}


async def photos(request: Request) -> Response:
    """All photos of a trial by day."""
    show = request.query_params.get("show", "all")
    if show not in SHOWS:
        raise HTTPException(422, f"In the address, `show` is one of {', '.join(SHOWS)}.")
    try:
        found = await asyncio.to_thread(gallery, folder_of(request), request.path_params["key"], show=show)
    except NoTrialError as error:
        raise HTTPException(404, str(error)) from None
    return html_page(request, "photos/gallery.html", page=found, show=show, shows=SHOWS)


async def one(request: Request) -> Response:
    """One photo with what was measured on it."""
    return await photo_page(request, faults=(), reason="")


async def counted(request: Request) -> Response:
    """What was counted on a photo, to lay over it."""
    asked = request.path_params
    found = await asyncio.to_thread(counted_picture, folder_of(request), asked["key"], asked["id"])
    if found is None:
        raise HTTPException(404, "What was counted on this photo is not at hand.")
    return Response(found, media_type="image/png", headers={"cache-control": "private, max-age=300"})


async def decide(request: Request) -> Response:
    """Use a photo, or set it aside; what is wrong is said beside the form."""
    sent = signed(request, await sent_form(request))
    identity, reason = request.path_params["id"], sent.get("reason", "")
    decision = sent.get("decision", "")
    work = partial(decide_photos, folder_of(request), [identity], decision, now=now_of(request))
    try:
        done = await asyncio.to_thread(work, reason=reason if decision == "set aside" else "", who=sent.get("who", ""))
    except FaultsError as error:
        return await photo_page(request, faults=error.faults, reason=reason)
    path = f"/trial/{request.path_params['key']}/photos/{done.entries[0].id}"
    return RedirectResponse(f"{path}?done={decision.replace(' ', '-')}", HTTPStatus.SEE_OTHER)


async def photo_page(
    request: Request,
    *,
    faults: Sequence[Fault],
    reason: str,
    taught_faults: Sequence[Fault] = (),
    sent: Mapping[str, str] | None = None,
) -> Response:
    """One photo, with what was wrong about a decision or about strokes that were sent."""
    asked = request.path_params
    identity: str | None = asked["id"]
    if (
        faults or taught_faults
    ):  # it may have been decided about since: what is wrong is shown with the photo as it stands
        identity = await asyncio.to_thread(present_id, folder_of(request), asked["key"], asked["id"])
    try:
        found = await asyncio.to_thread(see_photo, folder_of(request), asked["key"], identity or asked["id"])
    except NoTrialError as error:
        raise HTTPException(404, str(error)) from None
    except NoEntryError:
        now = await asyncio.to_thread(present_id, folder_of(request), asked["key"], asked["id"])
        if now is None or now == asked["id"]:
            raise HTTPException(404, "This trial has no such photo in use.") from None
        return RedirectResponse(f"/trial/{quote(asked['key'], safe='')}/photos/{now}", HTTPStatus.SEE_OTHER)
    return html_page(
        request,
        "photos/photo.html",
        status=422 if faults or taught_faults else 200,
        page=found,
        teach=await asyncio.to_thread(editor_of, folder_of(request), found, sent or {}),
        taught_faults=taught_faults,
        mask=f"/trial/{quote(asked['key'], safe='')}/photos/{found.listed.photo}/counted.png" if found.counted else "",
        faults=faults,
        reason=reason,
        may_write=visitor_of(request).may("decide"),
        kept=DONE.get(request.query_params.get("done", "").replace("-", " "), ""),
    )


GALLERY_ROUTES = (
    Route("/trial/{key}/photos", photos),
    Route("/trial/{key}/photos/{id}/counted.png", counted),
    Route("/trial/{key}/photos/{id}", one, methods=["GET"]),
    Route("/trial/{key}/photos/{id}", decide, methods=["POST"]),
)
