"""The pages that take in a table of past records. Nothing is written before the last button."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from functools import partial
from typing import Any, cast

from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from littoral.acts.import_table import Choices, Looked, import_table, look_at_table
from littoral.acts.list_trials import ListedTrial
from littoral.acts.past_table.grid import ENCODINGS, UnreadableTableError
from littoral.acts.past_table.meanings import meanings_for
from littoral.errors import Fault, FaultsError, MissingExtraError
from littoral.web.access.visitor import form_token, visitor_of
from littoral.web.limits import MAX_FIELDS, MAX_UPLOAD_FIELDS
from littoral.web.past_table.fields import EVERY, ORDER, choices_in, layout_changed, only_file, without_columns
from littoral.web.past_table.held import Held, HeldFile
from littoral.web.templating import page_html

SHOWN_WORDS = 40
SHOWN_FAULTS = 50


async def _line(request: Request) -> ListedTrial:
    lines = await asyncio.to_thread(request.app.state.bench.trials)
    for line in lines:
        if line.key == request.path_params["key"]:
            return cast(ListedTrial, line)
    raise HTTPException(404, f"This logbook holds no trial “{request.path_params['key'][:60]}”.")


def _html(request: Request, template: str, line: ListedTrial, *, status: int = 200, **values: Any) -> Response:
    shared = {"token": form_token(request), "line": line, "may_write": visitor_of(request).may("design")}
    text = page_html(f"past_table/{template}", **shared, carried_trial=line.key, **values)
    return Response(text, status, media_type="text/html", headers={"cache-control": "no-store"})


async def choose(request: Request) -> Response:
    """Ask for the file."""
    return _html(request, "file.html", await _line(request), wrong=())


async def send(request: Request) -> Response:
    """Take the file, look at it, and lead to the page that shows it."""
    line = await _line(request)
    async with request.form(max_files=1, max_fields=MAX_UPLOAD_FIELDS) as form:
        file = form.get("file")
        name, data = (file.filename or "", await file.read()) if isinstance(file, UploadFile) else ("", b"")
    if not data:
        return _html(request, "file.html", line, wrong=("Choose a file that holds something.",), status=422)
    held = HeldFile(line.key, " ".join(name.split())[-80:], data)
    try:
        await asyncio.to_thread(_look, request, held, Choices())
    except (UnreadableTableError, MissingExtraError) as error:
        # What cannot be read may still be read in an encoding that a person names
        if not isinstance(error, UnreadableTableError) or "ncoding" not in str(error):
            return _html(request, "file.html", line, wrong=(str(error),), status=422)
    kept = cast(Held, request.app.state.held).keep(held)
    return RedirectResponse(request.url_for("past_table", key=line.key, held=kept).path, 303)


async def look(request: Request) -> Response:
    """Show how the table is understood, with what is proposed."""
    line, held = await _held(request)
    return await _shown(request, line, held, {})


async def confirm(request: Request) -> Response:
    """Show the table anew with what was chosen, or write it where that was asked."""
    line, held = await _held(request)
    async with request.form(max_fields=MAX_FIELDS) as sent:
        form = {field: str(value) for field, value in sent.items() if field != "token"}
    if form.get("do") != "write":
        return await _shown(request, line, held, without_columns(form) if layout_changed(form) else form)
    try:
        done = await asyncio.to_thread(
            partial(
                import_table,
                request.app.state.book_folder,
                held.data,
                trial=line.key,
                choices=choices_in(form),
                leave_out=form.get("leave-out") == "yes",
            )
        )
    except (FaultsError, UnreadableTableError, MissingExtraError):
        return await _shown(request, line, held, form, status=422)
    cast(Held, request.app.state.held).drop(request.path_params["held"])
    return _html(request, "done.html", line, done=done, name=held.name)


async def _held(request: Request) -> tuple[ListedTrial, HeldFile]:
    line = await _line(request)
    found = cast(Held, request.app.state.held).get(request.path_params["held"], line.key)
    if found is None:
        raise HTTPException(404, "This file is not held any more: send it again.")
    return line, found


def _look(request: Request, held: HeldFile, choices: Choices) -> Looked:
    return look_at_table(request.app.state.book_folder, held.data, trial=held.trial, choices=choices)


async def _shown(
    request: Request, line: ListedTrial, held: HeldFile, form: Mapping[str, str], *, status: int = 200
) -> Response:
    """Show the table as chosen; where that cannot be, as proposed, with what is wrong."""
    wrong: tuple[Fault, ...] = ()
    looked: Looked | None = None
    unread = ""
    try:
        looked = await asyncio.to_thread(_look, request, held, choices_in(form))
    except FaultsError as error:
        wrong, status = error.faults, 422
        try:
            looked = await asyncio.to_thread(_look, request, held, choices_in(only_file(form)))
        except FaultsError as again:  # a table that is too long, say
            return _html(request, "file.html", line, wrong=tuple(map(str, again.faults)), status=422)
    except UnreadableTableError as error:
        unread, status = str(error), 422
    return _html(
        request,
        "look.html",
        line,
        held=request.path_params["held"],
        name=held.name,
        looked=looked,
        unread=unread,
        wrong=wrong,
        write_tried=form.get("do") == "write",
        leave_out=form.get("leave-out") == "yes",
        meanings=meanings_for(looked.trial) if looked is not None else {},
        every_words=EVERY,
        order_words=ORDER,
        encodings=ENCODINGS,
        encoding=form.get("encoding", ""),
        shown_words=SHOWN_WORDS,
        shown_faults=SHOWN_FAULTS,
        status=status,
    )


PAST_TABLE_ROUTES = (
    Route("/trial/{key}/import", choose, methods=["GET"]),
    Route("/trial/{key}/import", send, methods=["POST"]),
    Route("/trial/{key}/import/{held}", look, methods=["GET"], name="past_table"),
    Route("/trial/{key}/import/{held}", confirm, methods=["POST"]),
)
