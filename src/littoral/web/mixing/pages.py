"""The sheets over HTTP: opened by an address that holds all that is written in them, worked out again as one types."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, Mapping
from typing import cast

from markupsafe import Markup
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from littoral.web.access.visitor import form_token, need, visitor_of
from littoral.web.limits import MAX_FIELDS
from littoral.web.mixing.from_trial import Proposed, proposed_by
from littoral.web.mixing.opened import Offers, Opened
from littoral.web.mixing.sheets import MIX, SHEETS, Sheet
from littoral.web.source import Bench
from littoral.web.templating import page_html

NOTED = "The override is noted in the trial's logbook."
NOT_NOTED = (
    "The override holds here, but is not noted in the trial's logbook: for that, switch on scripts for this page."
)
Endpoint = Callable[[Request], Awaitable[Response]]


def page_of(sheet: Sheet) -> Endpoint:
    """Return the endpoint that opens a sheet."""

    async def page(request: Request) -> Response:
        opened = await opened_by(request, sheet, dict(request.query_params))
        if opened.trial_key and request.query_params.get("more") == "override":
            opened.kept = NOT_NOTED  # an address that is opened writes nothing
        html = page_html(
            "mixing/page.html",
            title=sheet.title,
            carried_trial=opened.trial_key,
            token=form_token(request),
            # our own template's output, escaped there
            form=Markup(await asyncio.to_thread(opened.html)),
        )
        return Response(html, media_type="text/html", headers={"cache-control": "no-store"})

    return page


def live_of(sheet: Sheet) -> Endpoint:
    """Return the endpoint that works out what was just typed: the parts that depend on it, and what is wrong where.

    Where a button asked for more or fewer rows it gives the whole sheet anew.
    """

    async def live(request: Request) -> Response:
        async with request.form(max_fields=MAX_FIELDS) as form:
            sent = {name: str(value) for name, value in form.items()}
        opened = await opened_by(request, sheet, sent)
        if sent.get("more") == "override":
            need(request, "decide")
            who = visitor_of(request).name
            await asyncio.to_thread(note_override, cast(Bench, request.app.state.bench), opened, who)
        html = await asyncio.to_thread(opened.html)
        written = opened.written
        answer: dict[str, object] = {
            "address": opened.address(),
            "told": opened.told_words,
            "wrong": bool(opened.told),
            "troubles": written.troubles,
            "tidied": written.tidied,
        }
        if opened.remade:
            answer |= {"sheet": html, "focus": written.focus}
        elif opened.found is not None:
            answer["parts"] = opened.live.parts
        return JSONResponse(answer, headers={"cache-control": "no-store"})

    return live


async def opened_by(request: Request, sheet: Sheet, sent: Mapping[str, str]) -> Opened:
    """Return a sheet as it was sent, begun from the trial in its address where there is one; 404 for an unknown one."""
    trial: Proposed | None = None
    offers: Offers = ()
    bench = cast(Bench, request.app.state.bench)
    if key := sent.get("trial", ""):
        if all(line.key != key for line in await asyncio.to_thread(bench.trials)):
            raise HTTPException(404, f"This logbook holds no trial “{key}”.")
        text = await asyncio.to_thread(bench.text, key)
        trial = await asyncio.to_thread(proposed_by, sheet, text, sent.get("of", ""))
    elif request.method == "GET" or "more" in sent or "less" in sent:  # the whole sheet is shown
        offers = tuple((line.key, line.title) for line in await asyncio.to_thread(bench.trials))
    return await asyncio.to_thread(Opened, sheet, sent, trial=trial, offers=offers)


def note_override(bench: Bench, opened: Opened, who: str) -> None:
    """Note what was just overridden in the logbook of the trial that the sheet was opened from, where there is one."""
    stop = getattr(opened.found, "stop", None)
    if opened.trial is None or not opened.trial_key or stop is None or stop.stands:
        return
    bench.override(opened.trial_key, "mix" if opened.sheet is MIX else "week", opened.trial.of, stop, who=who)
    opened.kept = NOTED


MIXING_ROUTES = tuple(
    route
    for sheet in SHEETS
    for route in (
        Route(sheet.path, page_of(sheet), methods=["GET"]),
        Route(f"{sheet.path}.json", live_of(sheet), methods=["POST"]),
    )
)
