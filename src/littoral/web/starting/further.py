"""The page that starts a further trial on the same tanks: what comes along, what does not, what still lingers."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from http import HTTPStatus
from pathlib import Path
from typing import cast
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from littoral.acts.copy_trial import FIELDS, LONGEST, carried_json, copy_trial, what_carries
from littoral.errors import FaultsError
from littoral.web.care.showing import html_page, sent_form


def _folder(request: Request) -> Path:
    return cast(Path, request.app.state.book_folder)


async def ask(request: Request) -> Response:
    """What a further trial takes over, and the few fields that are new."""
    return await _page(request, {}, {})


async def ask_json(request: Request) -> Response:
    """The same as data."""
    carried = await asyncio.to_thread(
        what_carries, _folder(request), request.path_params["key"], today=request.app.state.today()
    )
    return JSONResponse(carried_json(carried))


async def begin(request: Request) -> Response:
    """Start it and show its file; shows the form again, with what is wrong, where something is."""
    sent = await sent_form(request)
    values = {name: sent.get(name, "").strip() for name in FIELDS}
    key, today = request.path_params["key"], request.app.state.today()
    try:
        made = await asyncio.to_thread(copy_trial, _folder(request), key, values, today=today)
    except FaultsError as error:
        beside: dict[str, list[str]] = {}
        for fault in error.faults:
            what = f"This {fault.what}" if fault.what[:1].islower() else fault.what
            beside.setdefault(fault.where, []).append(f"{what} {fault.right}".strip())
        return await _page(request, values, beside, status=422)
    return RedirectResponse(f"/trial/{quote(made.key, safe='')}/design", HTTPStatus.SEE_OTHER)


async def _page(
    request: Request, values: Mapping[str, str], beside: Mapping[str, list[str]], *, status: int = 200
) -> Response:
    key = request.path_params["key"]
    carried = await asyncio.to_thread(what_carries, _folder(request), key, today=request.app.state.today())
    proposed = {"regime": next(iter(carried.regimes), ""), "start": carried.proposed_start.isoformat(), **values}
    return html_page(
        request,
        "starting/further.html",
        status=status,
        carried=carried,
        values=proposed,
        beside=beside,
        longest=LONGEST,
    )


FURTHER_ROUTES = (
    Route("/trial/{key}/again", ask, methods=["GET"]),
    Route("/trial/{key}/again", begin, methods=["POST"]),
    Route("/trial/{key}/again.json", ask_json),
)
