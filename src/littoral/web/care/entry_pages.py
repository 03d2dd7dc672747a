"""The entry forms as pages: opened with what the address says, shown again with what is wrong, nothing typed lost."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from datetime import datetime
from http import HTTPStatus
from pathlib import Path
from urllib.parse import quote, urlencode
from uuid import uuid4

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from littoral.acts.read_trials import read_trials
from littoral.acts.see_entries import see_entry
from littoral.errors import Fault, FaultsError, LittoralError
from littoral.logbook.changed_entries import AlreadyRecordedError
from littoral.publish.scale_pictures import scale_picture
from littoral.trial.days import day_of
from littoral.trial.due import bench_order
from littoral.trial.model import Trial
from littoral.trial.scales import TOP_STEP, scales
from littoral.web.care.api import folder_of, now_of, signed
from littoral.web.care.entry_kinds import KINDS, Field, Kind, fields_of, what_is_sent
from littoral.web.care.recording import record
from littoral.web.care.showing import html_page, sent_form

MANY = 6
"""More choices than these are a list to open; up to these they are buttons to tap."""


async def form(request: Request) -> Response:
    """A form, filled with what the address says."""
    return await asyncio.to_thread(_shown, request, _kind(request), dict(request.query_params), 200)


async def take(request: Request) -> Response:
    """Record what was sent, or show the form again with what is wrong."""
    kind, sent = _kind(request), await sent_form(request)
    return await asyncio.to_thread(_taken, request, kind, sent)


async def step_picture(request: Request) -> Response:
    """The drawing of one step of a scale."""
    scale, step = request.path_params["scale"], request.path_params["step"]
    if scale not in scales() or not 0 <= step <= TOP_STEP:
        raise HTTPException(404, "There is no such step.")
    headers = {"cache-control": "max-age=86400"}
    return Response(scale_picture(scale, step), media_type="image/svg+xml", headers=headers)


def _kind(request: Request) -> Kind:
    kind = KINDS.get(request.path_params["kind"])
    if kind is None:
        raise HTTPException(404, f"There is no such form. There are {', '.join(KINDS)}.")
    return kind


def _taken(request: Request, kind: Kind, sent: Mapping[str, str]) -> Response:
    folder, now = folder_of(request), now_of(request)
    trial = _trial(folder, sent.get("trial", ""))
    if trial is None:
        return _shown(request, kind, sent, 422)
    fields = fields_of(kind, trial, sent.get("tank", ""), sent, day=_day(now, trial))
    try:
        done = record(folder, signed(request, {**what_is_sent(kind, fields, sent), "trial": trial.key}), now=now)
    except FaultsError as error:
        return _shown(request, kind, sent, 422, faults=error.faults)
    except AlreadyRecordedError as error:
        there = see_entry(folder, error.there.id).entry.words
        said = (f"This form was sent before, and recorded: {there}. Send it again to record this besides.",)
        return _shown(request, kind, {**sent, "id": str(uuid4())}, 409, said=said)
    except LittoralError as error:
        return _shown(request, kind, sent, 409, said=(str(error),))
    query = urlencode({"trial": trial.key, "did": done.entries[0].id})
    return RedirectResponse(f"/today?{query}#tank-{quote(sent.get('tank', ''))}", HTTPStatus.SEE_OTHER)


def _shown(
    request: Request,
    kind: Kind,
    values: Mapping[str, str],
    status: int,
    *,
    faults: tuple[Fault, ...] = (),
    said: tuple[str, ...] = (),
) -> Response:
    folder, now = folder_of(request), now_of(request)
    trials = read_trials(folder)
    trial = trials.get(values.get("trial", "")) or (next(iter(trials.values())) if len(trials) == 1 else None)
    if values.get("trial") and trial is None:
        raise HTTPException(404, f"This logbook holds no trial “{values['trial'][:80]}”.")
    if trial is None:
        return html_page(request, "care/which.html", kind=kind, trials=trials, values=values, status=status)
    fields = fields_of(kind, trial, values.get("tank", ""), values, day=_day(now, trial))
    names = {field.name for field in fields}
    beside: dict[str, list[str]] = {}
    for fault in faults:
        at = fault.where if fault.where in names else _part_at_fault(fault, fields, values)
        place = at or (fault.where if fault.where in ("tank", "when", "who", "note", "zone") else "")
        beside.setdefault(place, []).append(f"This {fault.what} {fault.right}".strip())
    return html_page(
        request,
        "care/entry.html",
        status=status,
        kind=kind,
        kinds=KINDS,
        trial=trial,
        tanks=tuple((key, trial.tanks[key].name) for key in bench_order(trial)),
        fields=fields,
        values={"tank": "", "when": "", "zone": "", "who": "", "note": "", **values, "id": _id(values)},
        beside={place: tuple(dict.fromkeys(texts)) for place, texts in beside.items()},
        said=said,
        many=MANY,
        several=len(trials) > 1,
    )


def _part_at_fault(fault: Fault, fields: tuple[Field, ...], values: Mapping[str, str]) -> str:
    """Return the part of an amount that a fault is about: the one it quotes, else the first with text, else any."""
    parts = [one.name for one in fields if one.of == fault.where]
    filled = [name for name in parts if values.get(name, "").strip()]
    named = [name for name in filled if f'"{values[name].strip()}' in fault.what]
    return next(iter((*named, *filled, *parts)), "")


def _id(values: Mapping[str, str]) -> str:
    return values.get("id") or str(uuid4())


def _trial(folder: Path, key: str) -> Trial | None:
    trials = read_trials(folder)
    return trials.get(key) or (next(iter(trials.values())) if not key and len(trials) == 1 else None)


def _day(now: datetime, trial: Trial) -> float:
    return day_of(now, trial)


ENTRY_ROUTES = (
    Route("/entry/{kind}", form, methods=["GET"]),
    Route("/entry/{kind}", take, methods=["POST"]),
    Route("/scale/{scale}/{step:int}.svg", step_picture),
)
