"""The page that asks three things and ends on Today: shown where the logbook is empty, and whenever one starts anew."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping, Sequence
from http import HTTPStatus
from pathlib import Path
from typing import cast
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from littoral.acts.first_trial import ANSWERS, LONGEST_ANSWER, start_first
from littoral.acts.own_logbook import own_logbook
from littoral.errors import Fault, FaultsError
from littoral.trial.written.first_feed import OFTEN
from littoral.trial.written.first_trial import WISHES
from littoral.web.care.api import now_of
from littoral.web.care.showing import html_page, sent_form

PROPOSED: Mapping[str, str] = {
    "know": "feed",
    "words": "",
    "tanks": "left, right",
    "glass": "60 x 30 x 30 cm",
    "feed": "",
    "holds": "",
    "dose": "",
    "often": "three times a week",
}
"""What stands in the form at first: only what is fed has no default, since nobody else can know it."""


async def first_page(request: Request, *, empty: bool = False) -> Response:
    """The three questions; `empty` where the logbook holds nothing yet."""
    return _page(request, PROPOSED, (), empty=empty)


async def ask(request: Request) -> Response:
    """The three questions."""
    lines = await asyncio.to_thread(request.app.state.bench.trials)
    return await first_page(request, empty=not lines)


async def begin(request: Request) -> Response:
    """Start the trial and go to its first day; shows the questions again, with what is wrong, where something is."""
    sent = await sent_form(request)
    answers = {name: sent.get(name, "").strip() for name in ANSWERS}
    folder, now = cast(Path, request.app.state.book_folder), now_of(request)
    try:
        begun = await asyncio.to_thread(start_first, folder, answers, now=now)
    except FaultsError as error:
        return _page(request, answers, error.faults, empty=False, status=422)
    query = urlencode({"trial": begun.key, "begun": "1"})
    return RedirectResponse(f"/today?{query}", HTTPStatus.SEE_OTHER)


def beside_answers(faults: Sequence[Fault]) -> Mapping[str, tuple[str, ...]]:
    """Return what is wrong by the answer it stands beside, "" where it belongs to none."""
    found: dict[str, list[str]] = {}
    for fault in faults:
        what = f"This {fault.what}" if fault.what[:1].islower() else fault.what
        found.setdefault(fault.where if fault.where in ANSWERS else "", []).append(f"{what} {fault.right}".strip())
    return {name: tuple(said) for name, said in found.items()}


def _page(
    request: Request, values: Mapping[str, str], faults: Sequence[Fault], *, empty: bool, status: int = 200
) -> Response:
    return html_page(
        request,
        "starting/first.html",
        status=status,
        values=values,
        beside=beside_answers(faults),
        wishes=tuple(WISHES.values()),
        often=tuple(OFTEN),
        longest=LONGEST_ANSWER,
        empty=empty,
        folder=str(request.app.state.book_folder),
        own=request.app.state.book_folder == own_logbook(),
    )


FIRST_ROUTES = (Route("/start", ask, methods=["GET"]), Route("/start", begin, methods=["POST"]))
