"""The stream of entries by day, with every version; correcting and undoing, and what two people did to one entry."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from dataclasses import dataclass
from http import HTTPStatus
from urllib.parse import quote
from uuid import uuid4

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from littoral.acts.change_entry import NotCorrectableError, correct_entry, undo_entry
from littoral.acts.see_entries import Seen, SeenEntry, see_entries, see_entry, seen_of
from littoral.errors import FaultsError
from littoral.logbook.changed_entries import SupersededError
from littoral.speech.say import say
from littoral.trial.days import local_date
from littoral.trial.due import bench_order
from littoral.web.care.api import asked_date, asked_days, folder_of, now_of, signed
from littoral.web.care.showing import html_page, sent_form

CORRECTED = ("what", "amount", "note", "when", "tank")


@dataclass(frozen=True, slots=True)
class Line:
    """A field of the correction form; with `options`, as (value, words), one of them is chosen."""

    name: str
    label: str
    value: str
    help: str = ""
    options: tuple[tuple[str, str], ...] = ()


async def stream(request: Request) -> Response:
    """Some days of a trial's entries."""
    return await asyncio.to_thread(_stream, request)


def _stream(request: Request) -> Response:
    tank = request.query_params.get("tank") or None
    found = see_entries(
        folder_of(request),
        request.path_params["key"],
        last=asked_date(request, "last"),
        days=asked_days(request),
        tank=tank,
    )
    return html_page(request, "care/entries.html", stream=found, tank=tank)


async def correction(request: Request) -> Response:
    """The form that corrects one entry."""
    return await asyncio.to_thread(_form, request, request.path_params["id"], {}, {}, 200)


async def correct(request: Request) -> Response:
    """Correct an entry; where somebody changed it meanwhile both versions are shown and nothing is written."""
    sent = await sent_form(request)
    return await asyncio.to_thread(_correct, request, sent)


def _correct(request: Request, sent: Mapping[str, str]) -> Response:
    identity = request.path_params["id"]
    seen = see_entry(folder_of(request), identity)
    shown = {line.name: line.value for line in _lines(seen)}
    # what stands as it was shown is not touched: a time shown to the minute keeps its seconds
    changed = {name: sent[name] for name in CORRECTED if name in sent and sent[name].strip() != shown.get(name, "")}
    if seen.cells is not None and seen.cells.kind == "note" and "note" not in changed:
        changed["note"] = sent.get("note", seen.cells.text)
    who = signed(request, {"who": sent.get("who", "")}).get("who", "")
    try:
        correct_entry(
            folder_of(request), identity, who=who, id=sent.get("id") or None, now=now_of(request), **changed
        )  # fmt: skip
    except FaultsError as error:
        beside: dict[str, list[str]] = {}
        for fault in error.faults:
            place = fault.where if fault.where in shown else ""
            beside.setdefault(place, []).append(f"This {fault.what} {fault.right}".strip())
        return _form(request, identity, sent, beside, 422)
    except SupersededError as error:
        return _both(request, seen, error, sent)
    return _back(seen)


async def undo(request: Request) -> Response:
    """Undo an entry, or bring back what was undone."""
    sent = await sent_form(request)
    return await asyncio.to_thread(_undo, request, sent)


def _undo(request: Request, sent: Mapping[str, str]) -> Response:
    identity = request.path_params["id"]
    seen = see_entry(folder_of(request), identity)
    who = signed(request, {"who": ""}).get("who", "")
    try:
        undo_entry(folder_of(request), identity, reason=sent.get("reason", ""), who=who, now=now_of(request))
    except SupersededError as error:
        return _both(request, seen, error, {})
    return _back(seen)


def _back(seen: SeenEntry) -> Response:
    entry = seen.entry.entry
    day = local_date(entry.at, seen.trial.zone)
    return RedirectResponse(f"/trial/{quote(entry.trial, safe='')}/entries?last={day}", HTTPStatus.SEE_OTHER)


def _lines(seen: SeenEntry) -> tuple[Line, ...]:
    cells = seen.cells
    if cells is None:
        return ()
    entry = seen.entry.entry
    day = local_date(entry.at, seen.trial.zone)
    lines = [Line("when", say("When"), f"{day} {seen.entry.clock}", say("By the clock at the tank."))]
    if cells.kind in ("dose", "missed dose", "trim", "reading", "score", "animals", "plants", "equipment", "skipped"):
        bottles = tuple((one.key, one.name) for one in seen.trial.bottles.values())
        dosed = cells.kind in ("dose", "missed dose") and cells.what in seen.trial.bottles
        label = say("Bottle") if dosed else say("What")
        lines.append(Line("what", label, cells.what, options=bottles if dosed else ()))
    if cells.kind not in ("note", "skipped"):
        lines.append(Line("amount", say("How much"), cells.amount, say("With its unit.")))
    lines.append(Line("note", say("Note"), cells.text if cells.kind == "note" else entry.note))
    return tuple(lines)


def _form(
    request: Request, identity: str, sent: Mapping[str, str], beside: Mapping[str, list[str]], status: int
) -> Response:
    seen = see_entry(folder_of(request), identity)
    if seen.ahead is not None:
        return _both(request, seen, None, sent)
    if seen.cells is None:
        right = "A photo's date is put right in its file; what was undone is brought back on the page of entries."
        raise NotCorrectableError(seen.entry.entry, right)
    trial = seen.trial
    return html_page(
        request,
        "care/correct.html",
        status=status,
        seen=seen,
        lines=_lines(seen),
        tanks=tuple((key, trial.tanks[key].name) for key in bench_order(trial)),
        values={"tank": seen.entry.entry.tank or "", "id": str(uuid4()), "who": "", **sent},
        beside=beside,
    )


def _both(request: Request, seen: SeenEntry, error: SupersededError | None, sent: Mapping[str, str]) -> Response:
    """Show what was there, what somebody made of it meanwhile, and what was to be written."""
    ahead = seen_of(error.ahead, seen.trial) if error is not None else seen.ahead
    mine = seen_of(error.refused, seen.trial) if error is not None else None
    assert ahead is not None
    return html_page(
        request,
        "care/both.html",
        status=409 if error is not None else 200,
        seen=seen,
        mine=mine,
        ahead=ahead,
        latest=_latest(request, ahead),
        sent={name: sent[name] for name in CORRECTED if name in sent},
        new_id=str(uuid4()),
    )


def _latest(request: Request, one: Seen) -> Seen:
    """Return the version that holds now: the one ahead may have been changed again."""
    for _ in range(1000):
        seen = see_entry(folder_of(request), one.entry.id)
        if seen.ahead is None:
            return seen.entry
        one = seen.ahead
    return one


async def audit(request: Request) -> Response:
    """Whether care was the same in both arms, words first."""
    from littoral.acts.audit_care import audit_care

    found = await asyncio.to_thread(audit_care, folder_of(request), request.path_params["key"])
    by_verdict = {
        verdict: [item for item in found.items if item.row.verdict == verdict]
        for verdict in ("fails", "cannot tell", "warns", "holds")
    }
    return html_page(request, "care/audit.html", audit=found, by_verdict=by_verdict)


ENTRIES_ROUTES = (
    Route("/trial/{key}/entries", stream),
    Route("/entry/{id}/correct", correction, methods=["GET"]),
    Route("/entry/{id}/correct", correct, methods=["POST"]),
    Route("/entry/{id}/undo", undo, methods=["POST"]),
    Route("/trial/{key}/audit", audit),
)
