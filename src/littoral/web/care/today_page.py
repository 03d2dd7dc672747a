"""Today's list as a page: read at the tank, one tap for what went as planned, two for what went otherwise."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from http import HTTPStatus
from urllib.parse import quote, urlencode
from uuid import uuid4

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from littoral.acts.change_entry import undo_entry
from littoral.acts.choosing import WhichTrialError
from littoral.acts.read_trials import read_trials
from littoral.acts.record_planned import AnsweredAlreadyError
from littoral.acts.recorded import Recorded
from littoral.acts.see_entries import SeenEntry, see_entry
from littoral.acts.see_today import STATE_WORDS, Today, see_today
from littoral.errors import FaultsError, LittoralError
from littoral.logbook.changed_entries import AlreadyRecordedError, NoEntryError, SupersededError
from littoral.speech.say import say
from littoral.trial.days import local_date
from littoral.trial.model import Trial
from littoral.web.care.api import asked_date, folder_of, now_of, own_only, signed
from littoral.web.care.entry_kinds import KINDS
from littoral.web.care.recording import ACTS, record
from littoral.web.care.showing import html_page, sent_form

PLANNED_ACTS = ("planned", "done", "doubled", "late", "missed", "skip", "undo")


@dataclass(frozen=True, slots=True)
class Trouble:
    """What came of a press that could not be recorded: where it belongs, what is wrong, what is there instead."""

    item: str
    said: tuple[str, ...]
    typed: str = ""
    there: SeenEntry | None = None


async def today(request: Request) -> Response:
    """What is due."""
    return await _page(request)


async def press(request: Request) -> Response:
    """One press of a button, sent as a form; shows the list again with what is wrong, where something is."""
    sent = await sent_form(request)
    try:
        done = await asyncio.to_thread(_do, request, signed(request, sent))
    except LittoralError as error:
        trouble = await asyncio.to_thread(_trouble_of, request, sent, error)
        return await _page(request, trouble=trouble, status=422 if isinstance(error, FaultsError) else 409)
    query = {
        "trial": sent.get("trial", ""),
        "tank": sent.get("only", ""),
        "did": done.entries[0].id if done.entries else "",
    }
    tank = sent.get("tank") or (done.entries[0].tank if done.entries else "")
    address = "/today?" + urlencode({name: value for name, value in query.items() if value})
    return RedirectResponse(f"{address}#tank-{quote(tank or '')}", HTTPStatus.SEE_OTHER)


def _do(request: Request, sent: Mapping[str, str]) -> Recorded:
    act = sent.get("act", "")
    if act == "undo":
        own_only(request, sent.get("entry", ""))
        return undo_entry(folder_of(request), sent.get("entry", ""), who=sent.get("who", ""), now=now_of(request))
    known = (*ACTS[act].takes, "act", "trial", "id", "when", "zone", "who") if act in PLANNED_ACTS else ("act",)
    return record(folder_of(request), {name: sent[name] for name in known if name in sent}, now=now_of(request))


def _trouble_of(request: Request, sent: Mapping[str, str], error: LittoralError) -> Trouble:
    there = None
    match error:
        case FaultsError():
            said = tuple(say("This {what} {right}", what=one.what, right=one.right).strip() for one in error.faults)
        case AnsweredAlreadyError():
            there = _seen(request, error.entry)
            said = ("Somebody recorded this already, so nothing was written:",)
        case AlreadyRecordedError():
            there = _seen(request, error.there.id)
            said = ("This form had recorded something else before, so nothing was written:",)
        case SupersededError():
            there = _seen(request, error.ahead.id)
            said = ("Somebody changed it meanwhile, so nothing was undone. Now it says:",)
        case _:
            said = (str(error),)
    return Trouble(sent.get("item", sent.get("entry", "")), said, sent.get("amount", ""), there)


def _seen(request: Request, identity: str) -> SeenEntry | None:
    try:
        return see_entry(folder_of(request), identity)
    except NoEntryError:
        return None


async def _page(request: Request, *, trouble: Trouble | None = None, status: int = 200) -> Response:
    asked, day = request.query_params, asked_date(request, "day")
    try:
        found = await asyncio.to_thread(
            see_today,
            folder_of(request),
            trial=asked.get("trial") or None,
            day=day,
            now=now_of(request),
            tank=asked.get("tank") or None,
        )
    except WhichTrialError:
        found = Today(())
    did = await asyncio.to_thread(_seen, request, asked["did"]) if asked.get("did") and trouble is None else None
    return await asyncio.to_thread(
        html_page,
        request,
        "care/today.html",
        status=status,
        today=found,
        only=asked.get("tank", ""),
        trouble=trouble,
        placed=trouble is not None and _is_shown(found, trouble.item),
        did=did,
        state_words={state: say(words) for state, words in STATE_WORDS.items()},
        new_id=lambda: str(uuid4()),
        kinds=KINDS,
        day_asked=asked.get("day", ""),
        just_begun=await asyncio.to_thread(_just_begun, request, found),
        to_come=await asyncio.to_thread(_to_come, request, day),
    )


def _just_begun(request: Request, found: Today) -> Trial | None:
    """Return the trial that was started a moment ago, to be told about once; None where there is none."""
    if "begun" not in request.query_params or len(found.trials) != 1:
        return None
    return read_trials(folder_of(request)).get(found.trials[0].trial)


def _to_come(request: Request, day: date | None) -> frozenset[str]:
    """Return the trials for which a day is still to come: it is shown there, and nothing of it can be recorded yet."""
    if day is None:
        return frozenset()
    now, trials = now_of(request), read_trials(folder_of(request))
    return frozenset(key for key, trial in trials.items() if day > local_date(now, trial.zone))


def _is_shown(today: Today, item: str) -> bool:
    """Whether a planned thing, or the entry that answers it, stands on the list."""
    return any(
        item == task.item or item in task.entries
        for trial in today.trials
        for tank in trial.tanks
        for task in (*tank.tasks, *tank.open_before)
    )


TODAY_ROUTES = (Route("/today", today, methods=["GET"]), Route("/today", press, methods=["POST"]))
