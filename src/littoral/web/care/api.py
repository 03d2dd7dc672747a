"""The acts of care as JSON: one address to record, and what is read beside it. Described by /api/openapi.json."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable, Mapping
from datetime import date, datetime
from pathlib import Path
from typing import Any, cast

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from littoral.acts.recorded import Recorded
from littoral.acts.see_entries import MOST_DAYS
from littoral.acts.who_recorded import is_own, who_recorded
from littoral.errors import Fault, FaultsError
from littoral.trial.written.moments import read_date
from littoral.trial.written.report import WrongValueError
from littoral.web.access.roles import NotYoursError, signature
from littoral.web.access.visitor import form_token, visitor_of
from littoral.web.care.openapi import CORRECTION, UNDO, document
from littoral.web.care.problems import problem
from littoral.web.care.recording import record

FRESH = {"cache-control": "no-store"}


def folder_of(request: Request) -> Path:
    """Return the logbook's folder."""
    return cast(Path, request.app.state.book_folder)


def now_of(request: Request) -> datetime:
    """Return the moment by the application's clock."""
    return cast(Callable[[], datetime], request.app.state.now)()


class NotJsonError(Exception):
    """A body that is no JSON object."""


async def session(request: Request) -> Response:
    """The token that every change carries; it changes at each start."""
    return JSONResponse({"token": form_token(request)}, headers=FRESH)


async def today(request: Request) -> Response:
    """What is due, of all trials or one."""
    from littoral.acts.see_today import see_today

    trial = request.query_params.get("trial") or None
    found = await asyncio.to_thread(
        see_today, folder_of(request), trial=trial, day=asked_date(request, "day"), now=now_of(request)
    )
    return JSONResponse(found.as_json(), headers=FRESH)


async def entries(request: Request) -> Response:
    """Some days of a trial's entries, with every version."""
    from littoral.acts.see_entries import see_entries

    found = await asyncio.to_thread(
        see_entries,
        folder_of(request),
        request.path_params["key"],
        last=asked_date(request, "last"),
        days=asked_days(request),
    )
    return JSONResponse(found.as_json(), headers=FRESH)


async def entry(request: Request) -> Response:
    """One entry, what took its place, and its cells."""
    from littoral.acts.see_entries import see_entry

    found = await asyncio.to_thread(see_entry, folder_of(request), request.path_params["id"])
    return JSONResponse(found.as_json(), headers=FRESH)


async def audit(request: Request) -> Response:
    """Whether care was the same in both arms."""
    from littoral.acts.audit_care import audit_care

    found = await asyncio.to_thread(audit_care, folder_of(request), request.path_params["key"])
    return JSONResponse(found.as_json(), headers=FRESH)


async def add(request: Request) -> Response:
    """Record something."""
    return await _write(request, lambda sent: record(folder_of(request), sent, now=now_of(request)))


async def correct(request: Request) -> Response:
    """Correct an entry; what is left out stays."""
    from littoral.acts.change_entry import correct_entry

    def work(sent: Mapping[str, str]) -> Recorded:
        only(sent, CORRECTION)
        given: dict[str, Any] = dict(sent)
        return correct_entry(folder_of(request), request.path_params["id"], now=now_of(request), **given)

    return await _write(request, work)


async def undo(request: Request) -> Response:
    """Undo an entry, or bring back what was undone."""
    from littoral.acts.change_entry import undo_entry

    def work(sent: Mapping[str, str]) -> Recorded:
        only(sent, UNDO)
        given: dict[str, Any] = dict(sent)
        return undo_entry(folder_of(request), request.path_params["id"], now=now_of(request), **given)

    return await _write(request, work)


async def openapi(_request: Request) -> Response:
    """The description of these addresses, OpenAPI 3.1."""
    return JSONResponse(document())


async def _write(request: Request, work: Callable[[Mapping[str, str]], Recorded]) -> Response:
    try:
        sent = texts_of(await request.body())
    except NotJsonError as error:
        return problem("not json", str(error))
    done = await asyncio.to_thread(work, signed(request, sent))
    return JSONResponse(done.as_json(), 201 if done.new else 200, headers=FRESH)


def signed(request: Request, sent: Mapping[str, str]) -> Mapping[str, str]:
    """Return what was sent, with who did it: see `web.access.roles.signature`."""
    visitor = visitor_of(request)
    who = signature(visitor.name, visitor.role, sent.get("who", ""))
    return {**sent, "who": who} if who else sent


def own_only(request: Request, identity: str) -> None:
    """Raise NotYoursError where a helper asks to undo what somebody else recorded, by a form that names the entry.

    Where the entry is in the address, the guard looks.
    """
    visitor = visitor_of(request)
    if visitor.role == "helper":
        who = who_recorded(folder_of(request), identity)
        if who is not None and not is_own(visitor.name, who):
            raise NotYoursError(who)


def texts_of(body: bytes) -> Mapping[str, str]:
    """Return the texts of a JSON object; null is left out. NotJsonError, FaultsError for what is no text."""
    try:
        sent = json.loads(body)
    except (ValueError, RecursionError):
        raise NotJsonError("The body could not be read as JSON.") from None
    if not isinstance(sent, dict):
        raise NotJsonError("The body must be one object, with a text for each field.")
    faults = [
        Fault("is not a text.", "Write every value as text, such as 5 mL.", name[:60])
        for name, value in sent.items()
        if not isinstance(value, str) and value is not None
    ]
    faults += [Fault("holds a broken character.", "Write plain text.", name[:60]) for name in sent if _broken(name)]
    faults += [
        Fault("holds a broken character.", "Write plain text.", name[:60])
        for name, value in sent.items()
        if isinstance(value, str) and _broken(value)
    ]
    if faults:
        raise FaultsError([Fault(one.what, one.right, _whole(one.where)) for one in faults])
    return {name: value for name, value in sent.items() if value is not None}


def _broken(text: str) -> bool:
    """Half a pair of UTF-16, which JSON can write and no database keeps."""
    return any("\ud800" <= sign <= "\udfff" for sign in text)


def _whole(text: str) -> str:
    return text.encode("utf-8", "replace").decode()


def only(sent: Mapping[str, str], known: Mapping[str, str]) -> None:
    """Raise FaultsError for fields that there are not."""
    unknown = [
        Fault("is nothing that is taken here.", f"It takes {', '.join(known)}.", name[:60])
        for name in sent
        if name not in known
    ]
    if unknown:
        raise FaultsError(unknown)


def asked_date(request: Request, name: str) -> date | None:
    """Return a date of the address; None where there is none. FaultsError for one that is no date."""
    written = request.query_params.get(name, "")
    if not written:
        return None
    try:
        return read_date(written)
    except WrongValueError as error:
        raise _wrong_address(request, name, error.what, error.right or "Write it as 2026-03-08.") from None


def asked_days(request: Request) -> int:
    """Return how many days the address asks for, 7 unless it says; FaultsError for what is no small number."""
    written = request.query_params.get("days", "7")
    if not (written.isascii() and written.isdecimal() and len(written) <= 3 and 0 < int(written) <= MOST_DAYS):
        raise _wrong_address(request, "days", f'is "{written[:20]}".', f"Write a number from 1 to {MOST_DAYS}.")
    return int(written)


def _wrong_address(request: Request, name: str, what: str, right: str) -> Exception:
    """Return what refuses a wrong address: a fault for a program, words for a page."""
    if request.url.path.startswith("/api/"):
        return FaultsError([Fault(what, right, name)])
    return HTTPException(422, f"In the address, `{name}` {what} {right}")


API_ROUTES = (
    Route("/api/session", session),
    Route("/api/today", today),
    Route("/api/entries", add, methods=["POST"]),
    Route("/api/entries/{id}", entry),
    Route("/api/entries/{id}/corrections", correct, methods=["POST"]),
    Route("/api/entries/{id}/undo", undo, methods=["POST"]),
    Route("/api/trials/{key}/entries", entries),
    Route("/api/trials/{key}/audit", audit),
    Route("/api/openapi.json", openapi),
)
