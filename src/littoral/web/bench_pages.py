"""Pages across trials and ahead: the history of the bench, the next trial's file, and what to do next week."""

from __future__ import annotations

import asyncio
import json
import shlex
from itertools import groupby
from typing import cast

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from littoral.acts.bench_history import sequel
from littoral.acts.bench_year import BenchYear, bench_json, laid_out, strip_of_page
from littoral.acts.decide_next import NOT_WORKED_OUT, aims_chart, decision_of
from littoral.acts.levels_words import long_day
from littoral.acts.list_trials import ListedTrial
from littoral.acts.trial_page import TrialPage
from littoral.errors import LittoralError
from littoral.findings.aims import value_text
from littoral.findings.bench_year import TrialYear
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
    """All trials of the bench: the year, the answers side by side; while one is being measured, how far that is."""
    found = await _bench_of(request)
    if isinstance(found, Response):
        return found
    bench, unanswered = found
    picture = await asyncio.to_thread(drawn, bench.chart)
    logbook = shlex.quote(str(request.app.state.book_folder))
    return _html(
        request,
        "history.html",
        bench=bench,
        found=bench.history,
        by_trial=[list(rows) for _, rows in groupby(bench.answered, key=lambda one: one.trial)],
        picture=picture,
        unanswered=unanswered,
        logbook=logbook,
    )


async def history_data(request: Request) -> Response:
    """The same as data: what `littoral history LOGBOOK --json` prints; 503 while a trial is still being measured."""
    found = await _bench_of(request)
    if isinstance(found, Response):
        raise HTTPException(503, "A trial is still being measured.", {"retry-after": "2"})
    text = json.dumps(bench_json(found[0]), indent=2, ensure_ascii=False, allow_nan=False)
    return Response(text, media_type="application/json", headers={"cache-control": "no-store"})


async def _bench_of(request: Request) -> Response | tuple[BenchYear, list[tuple[ListedTrial, str]]]:
    """Return the bench with the trials that cannot be shown and why; a waiting page while one is being measured."""
    results: list[Result] = []
    strips: list[TrialYear] = []
    unanswered: list[tuple[ListedTrial, str]] = []
    today = request.app.state.today()
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
        strips.append(strip_of_page(page, today=today))
    return await asyncio.to_thread(laid_out, results, strips, today=today), unanswered


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
    Route("/history.json", history_data),
    Route("/trial/{key}/next.toml", next_file),
    Route("/trial/{key}/decide", decide),
)
