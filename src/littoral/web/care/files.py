"""What leaves the plan of care as a file: the calendar feed, and the cards to print."""

from __future__ import annotations

import asyncio
import re

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from littoral.web.care.api import asked_date, folder_of, now_of


async def calendar(request: Request) -> Response:
    """The plan as iCalendar, of all tanks or one."""
    from littoral.acts.give_calendar import give_calendar

    key, tank = request.path_params["key"], request.path_params.get("tank")
    data = await asyncio.to_thread(
        give_calendar, folder_of(request), trial=key, tanks=() if tank is None else (tank,), now=now_of(request)
    )
    name = _name("-".join(filter(None, (key, tank))))
    headers = {"content-disposition": f'inline; filename="{name}.ics"', "cache-control": "no-cache"}
    return Response(data, media_type="text/calendar; charset=utf-8", headers=headers)


async def bench_card(request: Request) -> Response:
    """The bench card as PDF; its codes lead to the address that it is opened at."""
    from littoral.acts.give_bench_card import give_bench_card

    asked, key = request.query_params, request.path_params["key"]
    data = await asyncio.to_thread(
        give_bench_card,
        folder_of(request),
        trial=key,
        tanks=(asked["tank"],) if asked.get("tank") else (),
        first=asked_date(request, "first"),
        address=str(request.base_url).rstrip("/"),
        paper=asked.get("paper", "a4"),
        now=now_of(request),
    )
    headers = {"content-disposition": f'inline; filename="{_name(key)}-bench-card.pdf"', "cache-control": "no-store"}
    return Response(data, media_type="application/pdf", headers=headers)


async def colour_card(request: Request) -> Response:
    """The card to print for the water, as PDF."""
    from littoral.acts.give_colour_card import give_colour_card

    data = await asyncio.to_thread(give_colour_card, paper=request.query_params.get("paper", "a4"))
    headers = {"content-disposition": 'inline; filename="colour-card.pdf"', "cache-control": "no-store"}
    return Response(data, media_type="application/pdf", headers=headers)


def _name(key: str) -> str:
    return re.sub(r"[^A-Za-z0-9_-]", "-", key)


FILE_ROUTES = (
    Route("/calendar/{key}.ics", calendar),
    Route("/calendar/{key}/{tank}.ics", calendar),
    Route("/bench-card/{key}.pdf", bench_card),
    Route("/colour-card.pdf", colour_card),
)
