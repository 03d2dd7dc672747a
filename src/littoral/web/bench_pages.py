"""Pages across trials and ahead: the history of the bench, the next trial's file, and what to do next week."""

from __future__ import annotations

import asyncio
import shlex
from typing import cast

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from littoral.acts.bench_history import sequel
from littoral.acts.decide_next import NOT_WORKED_OUT, aims_chart, decision_of
from littoral.acts.levels_words import long_day
from littoral.acts.list_trials import ListedTrial
from littoral.acts.trial_page import TrialPage
from littoral.errors import LittoralError
from littoral.findings.aims import value_text
from littoral.findings.history import history_of
from littoral.findings.tank_effects import Result
from littoral.web.access.visitor import form_token
from littoral.web.drawn import drawn
from littoral.web.levels.work import LevelsWork
from littoral.web.limits import QUICK_ANSWER_S
from littoral.web.source import Bench
from littoral.web.templating import page_html
from littoral.web.waiting import Waiting, Work


def _html(request: Request, template: str, *, status: int = 200, **values: object) -> Response:
    text = page_html(template, token=form_token(request), **values)
    return Response(text, status, media_type="text/html", headers={"cache-control": "no-store"})


async def _lines(request: Request) -> tuple[ListedTrial, ...]:
    return await asyncio.to_thread(cast(Bench, request.app.state.bench).trials)


async def _work(request: Request, line: ListedTrial) -> Work[TrialPage]:
    waiting = cast("Waiting[TrialPage]", request.app.state.waiting)
    return await asyncio.to_thread(waiting.ask, line.key, patience_s=QUICK_ANSWER_S)


async def history(request: Request) -> Response:
    """All trials side by side; while one is still being measured, how far that is."""
    results: list[Result] = []
    unanswered: list[tuple[ListedTrial, str]] = []
    for line in await _lines(request):
        work = await _work(request, line)
        if not work.future.done():
            return _html(request, "waiting.html", line=line, work=work, status=202)
        try:
            page = work.future.result()
        except LittoralError as error:  # one broken trial does not hide all others
            unanswered.append((line, str(error)))
            continue
        results.append((page.trial, page.findings))
    found = await asyncio.to_thread(history_of, results)
    logbook = shlex.quote(str(request.app.state.book_folder))
    return _html(request, "history.html", found=found, unanswered=unanswered, logbook=logbook)


async def next_file(request: Request) -> Response:
    """The trial file of the next trial, as a download: the trial of this key with its arms swapped."""
    line = await _known(request)
    text = await asyncio.to_thread(cast(Bench, request.app.state.bench).text, line.key)
    taken = [one.key for one in await _lines(request)]
    made = await asyncio.to_thread(lambda: sequel(text, taken=taken, today=request.app.state.today()))
    headers = {"content-disposition": 'attachment; filename="trial.toml"', "cache-control": "no-store"}
    return Response(made.text, media_type="application/toml", headers=headers)


async def decide(request: Request) -> Response:
    """What a trial says for next week."""
    line = await _known(request)
    work = await _work(request, line)
    if not work.future.done():
        return _html(request, "waiting.html", line=line, work=work, status=202)
    trial, findings = (page := work.future.result()).trial, page.findings
    # Only what is worked out already: the fit belongs to the page of levels, which shows how far it is.
    known = cast(LevelsWork, request.app.state.levels).pages.known(line.key)
    estimates = None if known is None else known.estimates
    said = NOT_WORKED_OUT if known is None else known.why_not
    now = request.app.state.now()
    decision = await asyncio.to_thread(
        lambda: decision_of(trial, findings, now=now, estimates=estimates, levels_said=said)
    )
    picture = await asyncio.to_thread(drawn, lambda width_px: aims_chart(trial, decision, width_px=width_px))
    of = decision.reached
    levels_day = None if known is None or known.estimates is None else long_day(known.estimates.last_day, known.trial)
    rows = [
        (aim, [value_text(of.values[:, i, k]) for i in range(len(of.arms))], decision.better[k])
        for k, aim in enumerate(of.aims)
    ]
    return _html(
        request, "decide.html", trial=trial, decision=decision, picture=picture, rows=rows, levels_day=levels_day
    )


async def _known(request: Request) -> ListedTrial:
    for line in await _lines(request):
        if line.key == request.path_params["key"]:
            return line
    raise HTTPException(404, f"This logbook holds no trial “{request.path_params['key']}”.")


BENCH_ROUTES = (
    Route("/history", history),
    Route("/trial/{key}/next.toml", next_file),
    Route("/trial/{key}/decide", decide),
)
