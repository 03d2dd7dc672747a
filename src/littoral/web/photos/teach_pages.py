"""Teaching a stand's look on the page of one photo: what the editor needs, and where its strokes are sent."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Mapping
from functools import partial
from http import HTTPStatus
from typing import Any
from urllib.parse import quote

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from littoral.acts.change_entry import undo_entry
from littoral.acts.photos.gallery import SeenPhoto
from littoral.acts.photos.teach_look import list_strokes, teach_look
from littoral.acts.told import Told
from littoral.errors import Fault, FaultsError
from littoral.logbook.changed_entries import NoEntryError, SupersededError
from littoral.trial.written.report import WrongValueError
from littoral.web.care.api import folder_of, now_of, signed
from littoral.web.care.showing import sent_form

TAUGHT = {
    "taught": "The strokes are kept. Open the trial, and the photos are measured by them.",
    "taught-more": "The strokes are kept. They teach once there are some on the stand and some beside it.",
    "taught-same": "These strokes were there already.",
    "taught-back": "The strokes are taken back. Open the trial, and the photos are measured without them.",
}


def editor_of(folder: Any, page: SeenPhoto, sent: Mapping[str, str]) -> dict[str, Any]:
    """Return what the editor shows: the stands on this photo, the strokes in force in its view, and what was sent."""
    made = list_strokes(folder, page.trial.key, view=page.view.key)
    names = {key: stand.name for key, stand in page.trial.stands.items()}
    panes = page.view.panes_on(page.listed.day)
    stands = [
        {
            "key": f"{pane.tank}/{region.key}",
            "name": names.get(region.key, region.key),
            "tank": page.trial.tanks[pane.tank].name,
            "polygon": [list(point) for point in region.polygon_px],
        }
        for pane in panes
        for region in pane.regions
        if region.kind == "stand"
    ]
    kept = [
        {
            "entry": one.entry,
            "key": f"{one.tank}/{one.stand}",
            "stand": names.get(one.stand, one.stand),
            "tank": page.trial.tanks[one.tank].name,
            "photo": one.photo,
            "day": None if one.day is None else int(one.day),
            "here": one.photo == page.listed.photo,
            "counts": one.counts,
            "from_day": one.from_day,
            "strokes": one.as_json()["strokes"],
        }
        for one in made
    ]
    data = {
        "frame": list(page.view.frame_px),
        "stands": stands,
        "kept": [{"key": one["key"], "strokes": one["strokes"]} for one in kept if one["here"]],
        "sent": _plain(sent.get("strokes", "")),
    }
    return {
        "stands": stands,
        "kept": kept,
        "several_tanks": len(panes) > 1,
        "data": json.dumps(data, ensure_ascii=False),
        "chosen": sent.get("stand", ""),
        "since": sent.get("since", "all"),
        "open": bool(sent),
    }


def _plain(text: str) -> list[Any]:
    try:
        found = json.loads(text)
    except (ValueError, RecursionError):
        return []
    return found if isinstance(found, list) else []


async def teach(request: Request) -> Response:
    """Keep strokes, or take some back; what is wrong is said beside the photo, with the strokes as they were sent."""
    from littoral.web.photos.gallery_pages import photo_page

    sent = signed(request, await sent_form(request))
    asked = request.path_params
    path = f"/trial/{quote(asked['key'], safe='')}/photos/{quote(asked['id'], safe='')}"
    who = sent.get("who", "")
    if sent.get("undo"):
        back = partial(undo_entry, folder_of(request), sent["undo"], who=who, now=now_of(request))
        try:
            await asyncio.to_thread(back)
        except NoEntryError:
            raise HTTPException(404, "There are no such strokes.") from None
        except SupersededError:
            pass  # somebody took them back already
        return RedirectResponse(f"{path}?done=taught-back#teach", HTTPStatus.SEE_OTHER)
    tank, _, stand = sent.get("stand", "").partition("/")
    try:
        day = float(sent.get("day", "0")) if sent.get("since") == "day" else 0.0
    except ValueError:
        day = -1.0
    work = partial(
        teach_look,
        folder_of(request),
        asked["key"],
        asked["id"],
        tank=tank,
        stand=stand,
        strokes=sent.get("strokes", ""),
        from_day=day,
        told=Told(who=who, id=sent.get("id") or None),
        now=now_of(request),
    )
    try:
        done = await asyncio.to_thread(work)
    except NoEntryError:
        raise HTTPException(404, "This trial has no such photo in use.") from None
    except (FaultsError, WrongValueError) as error:
        faults = error.faults if isinstance(error, FaultsError) else (Fault(error.what, error.right, "id"),)
        return await photo_page(request, faults=(), reason="", taught_faults=faults, sent=sent)
    said = "taught-same" if not done.new else "taught-more" if done.remarks else "taught"
    return RedirectResponse(f"{path}?done={said}#teach", HTTPStatus.SEE_OTHER)


TEACH_ROUTES = (Route("/trial/{key}/photos/{id}/strokes", teach, methods=["POST"]),)
