"""The page that pools several keepers' files: they come in with the form, are read, and are gone with the answer."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from littoral.acts.pool_findings import (
    PooledFiles,
    forest,
    keeper_names,
    margin_of,
    pool_findings,
    read_moderator,
    scale_of,
    source_of,
)
from littoral.errors import Fault, FaultsError, LittoralError
from littoral.findings.pooled_showing import range_text, unit_text
from littoral.trial.measures import MEASURES
from littoral.web.access.visitor import form_token
from littoral.web.drawn import Drawn, drawn
from littoral.web.limits import MAX_POOL_FIELDS
from littoral.web.templating import page_html
from littoral.web.uploads import Sent, Upload, read_upload


@dataclass(frozen=True, slots=True)
class PoolRow:
    """One keeper in the table under the picture, as it is shown."""

    keeper: str
    file: str
    value: str
    weight: str
    without: str
    design: str


async def show_pool(request: Request) -> Response:
    """The empty form."""
    return _page(request, values={})


async def pool_files(request: Request) -> Response:
    """Pool what was sent, and show the form again with the answer, or with everything that is wrong."""
    sent = await read_upload(request.headers, await request.body())
    if sent is None:  # a plain form, which a browser sends where no file can be chosen
        async with request.form(max_fields=MAX_POOL_FIELDS) as form:
            sent = Sent({name: str(value) for name, value in form.items()}, ())
    values = {name: value.strip()[:80] for name, value in sent.fields.items() if name != "token"}
    try:
        done = await asyncio.to_thread(_pooled, values, sent.files)
        picture = await asyncio.to_thread(drawn, lambda width_px: forest(done, width_px=width_px))
    except FaultsError as error:
        return _page(request, values=values, faults=error.faults, status=422)
    except LittoralError as error:
        return _page(request, values=values, faults=(Fault(str(error), "", "the files"),), status=422)
    return _page(request, values=values, done=done, picture=picture)


def _pooled(values: Mapping[str, str], files: Sequence[Upload]) -> PooledFiles:
    own = [file for file in files if file.field == "files"]
    if not own:
        raise FaultsError(
            [Fault("is missing.", "Choose the findings.json or data package of at least two keepers.", "a file")]
        )
    names = keeper_names([file.name for file in own])
    sources = [source_of(name, file.name or name, file.data) for name, file in zip(names, own, strict=True)]
    moderators = {
        values.get("moderator_name") or "moderator": read_moderator(file.data, where=file.name or "the CSV")
        for file in files
        if file.field == "moderator"
    }
    return pool_findings(
        sources,
        measure=values.get("measure", ""),
        scale=scale_of(values.get("scale", ""), where="Pool as"),
        smallest=margin_of(values.get("smallest", ""), where="Margin"),
        moderators=moderators,
        leave_out=values.get("leave_out") == "yes",
    )


def _page(
    request: Request,
    *,
    values: Mapping[str, str],
    done: PooledFiles | None = None,
    picture: Drawn | None = None,
    faults: Sequence[Fault] = (),
    status: int = 200,
) -> Response:
    more: dict[str, Any] = {"rows": (), "unit": ""}
    if done is not None:
        found = done.found
        more = {"rows": _rows(done), "unit": unit_text(found.measure, found.scale, "currency", difference=True)}
    text = page_html(
        "pool.html",
        token=form_token(request),
        measures=tuple(one for one in MEASURES.values() if one.compared == "difference"),
        values=values,
        done=done,
        picture=picture,
        faults=faults,
        **more,
    )
    return Response(text, status, media_type="text/html", headers={"cache-control": "no-store"})


def _rows(done: PooledFiles) -> tuple[PoolRow, ...]:
    found = done.found
    rows = []
    for place, (result, file, finding) in enumerate(
        zip(found.results, done.paired.files, done.paired.chosen, strict=True)
    ):
        rows.append(
            PoolRow(
                keeper=result.keeper,
                file=file.where,
                value=range_text(found.measure, found.scale, result.effect),
                weight="" if found.pooled is None else f"{100 * found.pooled.weight[place]:.0f} %",
                without=range_text(found.measure, found.scale, found.without[place]) if found.without else "",
                design=finding.design.partition(",")[0],
            )
        )
    return tuple(rows)


POOL_ROUTES = (
    Route("/pool", show_pool, methods=["GET"]),
    Route("/pool", pool_files, methods=["POST"]),
)
