"""The page to publish from, over HTTP: what can be chosen, how it will look, jobs, and what they made."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Mapping
from functools import partial
from http import HTTPStatus
from typing import Any, cast
from urllib.parse import quote

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from littoral.acts.codecs_here import codecs_here
from littoral.acts.jobs.kinds import KINDS, NoKindError
from littoral.acts.jobs.runner import JobRunner
from littoral.acts.jobs.store import Job, NoJobError, StillWorkingError
from littoral.acts.list_trials import ListedTrial
from littoral.acts.trial_page import TrialPage
from littoral.errors import LittoralError
from littoral.publish.package.packed import LICENCES
from littoral.web.access.visitor import form_token, visitor_of
from littoral.web.limits import MAX_FIELDS, QUICK_ANSWER_S
from littoral.web.publishing.fields import film_fields, package_fields, sheet_fields, still_fields, told
from littoral.web.templating import page_html
from littoral.web.waiting import Waiting

MOST_WORDS_BYTES = 20_000
NO_STORE = {"cache-control": "no-store"}
SHEET_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; sandbox"
"""For a sheet, which carries its style and pictures within itself and runs no script."""
INLINE = {".mp4": "video/mp4", ".webm": "video/webm", ".webp": "image/webp", ".png": "image/png", ".jpg": "image/jpeg",
          ".vtt": "text/vtt; charset=utf-8", ".html": "text/html; charset=utf-8", ".txt": "text/plain; charset=utf-8",
          ".json": "application/json", ".zip": "application/zip", ".pdf": "application/pdf"}  # fmt: skip
FIELDS: Mapping[str, Callable[[Mapping[str, str]], dict[str, Any]]] = {
    "film": film_fields,
    "still": still_fields,
    "sheet": sheet_fields,
    "package": package_fields,
}
"""What reads the fields of a kind's form; a kind that is not here has no options."""


def _runner(request: Request) -> JobRunner:
    return cast(JobRunner, request.app.state.jobs)


async def _line(request: Request) -> ListedTrial:
    key = request.path_params["key"]
    for line in await asyncio.to_thread(request.app.state.bench.trials):
        if line.key == key:
            return cast(ListedTrial, line)
    raise HTTPException(404, f"This logbook holds no trial “{key[:60]}”.")


async def _job(request: Request) -> Job:
    """Return the job that a path names; 404 where this trial has none of that name."""
    line = await _line(request)
    try:
        job = await asyncio.to_thread(_runner(request).job, request.path_params["job"])
    except NoJobError as error:
        raise HTTPException(404, str(error)) from None
    if job.trial != line.key:
        raise HTTPException(404, str(NoJobError(job.name)))
    return job


async def publish(request: Request) -> Response:
    """The page; or how far the measuring of the photos is."""
    line = await _line(request)
    waiting = cast("Waiting[TrialPage]", request.app.state.waiting)
    work = await asyncio.to_thread(waiting.ask, line.key, patience_s=QUICK_ANSWER_S)
    if not work.future.done():
        html = page_html("waiting.html", token=form_token(request), line=line, work=work)
        return Response(html, 202, media_type="text/html", headers=NO_STORE)
    return await _shown(request, work.future.result())


async def _shown(request: Request, page: TrialPage, *, wrong: str = "", of: str = "", status: int = 200) -> Response:
    jobs = await asyncio.to_thread(_runner(request).jobs, page.trial.key)
    regions = (region for view in page.trial.views.values() for pane in view.panes for region in pane.regions)
    names = {region.key: region.key for region in regions if region.kind != "card"}
    names |= {key: stand.name for key, stand in page.trial.stands.items() if key in names}
    html = page_html(
        "publish/page.html",
        token=form_token(request),
        page=page,
        may_publish=visitor_of(request).may("publish"),
        jobs=jobs,
        told=told,
        regions=names,
        charts={one.key: one.title for one in (next(iter(widths.values())) for widths in page.charts)},
        codecs=await asyncio.to_thread(codecs_here),
        others=[kind for kind in KINDS.values() if kind.key not in ("film", "still")],
        licences={key: words for key, (words, _) in LICENCES.items()},
        kinds=KINDS,
        has_photos=any(shown.photo is not None for tank in page.tanks for shown in tank.shown),
        last_day=max((moment.day for moment in page.moments), default=0),
        wrong=wrong,
        wrong_of=of,
        size_words=size_words,
        words_of=partial(_words_of, _runner(request)),
    )
    return Response(html, status, media_type="text/html", headers=NO_STORE)


def _words_of(runner: JobRunner, job: Job) -> str:
    """Return the words that were written beside a still, for who cannot see it; "" where there are none."""
    for file in job.files:
        if file.name.endswith(".txt") and file.size_bytes <= MOST_WORDS_BYTES:
            path = runner.store.file(job.name, file.name)
            return path.read_text(encoding="utf-8").strip() if path is not None else ""
    return ""


async def ask(request: Request) -> Response:
    """Ask for a job; shows the page again, with what is wrong, where something is."""
    line = await _line(request)
    async with request.form(max_fields=MAX_FIELDS) as sent:
        form = {name: str(value) for name, value in sent.items() if name != "token"}
    kind = form.get("kind", "")
    try:
        if kind not in KINDS:
            raise NoKindError(kind[:40])
        options = FIELDS[kind](form) if kind in FIELDS else {}
        now = request.app.state.now()
        name = await asyncio.to_thread(partial(_runner(request).ask, kind, line.key, options, now=now))
    except LittoralError as error:
        waiting = cast("Waiting[TrialPage]", request.app.state.waiting)
        page = waiting.known(line.key)
        if page is None:
            raise HTTPException(422, str(error)) from None
        return await _shown(request, page, wrong=str(error), of=kind, status=422)
    return _back(line.key, name)


def _back(key: str, job: str) -> Response:
    return RedirectResponse(f"/trial/{quote(key, safe='')}/publish#{job}", HTTPStatus.SEE_OTHER)


async def change(request: Request) -> Response:
    """Cancel a job, begin it again, or remove it with what it made."""
    job = await _job(request)
    acts = {"cancel": _runner(request).cancel, "again": _runner(request).again, "remove": _runner(request).remove}
    asked = request.path_params["act"]
    if asked not in acts:
        raise HTTPException(404, f"A job can be {', '.join(acts)}.")
    try:
        await asyncio.to_thread(acts[asked], job.name)
    except StillWorkingError as error:
        raise HTTPException(409, str(error)) from None
    return _back(job.trial, "made" if asked == "remove" else job.name)


async def jobs_json(request: Request) -> Response:
    """The trial's jobs, as JSON."""
    line = await _line(request)
    jobs = await asyncio.to_thread(_runner(request).jobs, line.key)
    return JSONResponse([job.as_json() for job in jobs], headers=NO_STORE)


async def download(request: Request) -> Response:
    """One file that a job wrote: whole, or the stretch asked for."""
    job = await _job(request)
    path = await asyncio.to_thread(_runner(request).store.file, job.name, request.path_params["name"])
    if path is None:
        raise HTTPException(404, "This job wrote no such file.")
    headers = dict(NO_STORE)
    if path.suffix == ".html":
        headers["content-security-policy"] = SHEET_POLICY
    saved = f"{job.trial}-{path.name}" if "save" in request.query_params else None
    kind = INLINE.get(path.suffix, "application/octet-stream")
    return FileResponse(path, media_type=kind, filename=saved, headers=headers)


async def preview(request: Request) -> Response:
    """How a film's frame or a still will look, small; 422 says what is wrong with what was chosen."""
    line = await _line(request)
    asked = dict(request.query_params)
    try:
        data = await asyncio.to_thread(_previewed, request, line.key, request.path_params["kind"], asked)
    except LittoralError as error:
        return JSONResponse({"error": str(error)}, 422)
    return Response(data, media_type="image/jpeg", headers={"cache-control": "private, max-age=60"})


def _previewed(request: Request, key: str, kind: str, asked: Mapping[str, str]) -> bytes:
    from littoral.acts.film_trial import film_frame
    from littoral.acts.still_trial import still_preview

    book = request.app.state.book_folder
    if kind == "still":
        return still_preview(book, key, still_fields(asked))
    try:
        share = float(asked.get("share", "0.5"))
    except ValueError:
        share = 0.5
    return film_frame(book, key, film_fields(asked), share=share if 0 <= share <= 1 else 0.5)


def size_words(size_bytes: int) -> str:
    """Return a file's size in words a person reads."""
    if size_bytes < 1_000_000:
        return f"{max(1, round(size_bytes / 1000))} kB"
    return f"{size_bytes / 1_000_000:.1f} MB"


PUBLISH_ROUTES = (
    Route("/trial/{key}/publish", publish, methods=["GET"], name="publish"),
    Route("/trial/{key}/publish", ask, methods=["POST"]),
    Route("/trial/{key}/publish/jobs.json", jobs_json),
    Route("/trial/{key}/publish/preview/{kind}.jpg", preview),
    Route("/trial/{key}/publish/{job}/{act:str}", change, methods=["POST"]),
    Route("/trial/{key}/publish/{job}/{name}", download, methods=["GET"]),
)
