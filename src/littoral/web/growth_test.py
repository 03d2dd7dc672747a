"""The page of a growth test in vessels: a table comes in as a file or pasted, and is gone with the answer."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from littoral.acts.growth_test.give import EXAMPLE, give_growth_test
from littoral.acts.growth_test.rows import validity_table, versus_table, vessels_table
from littoral.errors import Fault, FaultsError, LittoralError
from littoral.findings.growth_test.model import Compared, GrowthTest, MeasuredGrowth
from littoral.publish.growth_test_charts import curves_chart, versus_chart
from littoral.publish.tables import Table
from littoral.web.access.visitor import form_token
from littoral.web.drawn import Drawn, drawn
from littoral.web.limits import MAX_UPLOAD_FIELDS
from littoral.web.templating import page_html

SHOWN_FAULTS = 50
MOST_DRAWN = 3
"""So many measured things are drawn; a table of more shows them as numbers."""


@dataclass(frozen=True, slots=True)
class ShownNumber:
    """One number of every vessel as it is shown: its comparison, its picture (None past the first few), its table."""

    of: Compared
    picture: Drawn | None
    table: Table


@dataclass(frozen=True, slots=True)
class ShownMeasure:
    """One measured thing as it is shown."""

    name: str
    curves: Drawn | None
    numbers: tuple[ShownNumber, ...]
    vessels: Table


async def show_form(request: Request) -> Response:
    """The empty form; with "example" in the address, filled with made-up counts."""
    pasted = EXAMPLE if "example" in request.query_params else ""
    return _page(request, values={"table": pasted})


async def answer(request: Request) -> Response:
    """Answer the table that was sent, and show the form again with it, or with everything that is wrong."""
    async with request.form(max_files=1, max_fields=MAX_UPLOAD_FIELDS) as form:
        file = form.get("file")
        name, data = (file.filename or "", await file.read()) if isinstance(file, UploadFile) else ("", b"")
        values = {key: str(value) for key, value in form.items() if key not in ("token", "file")}
    pasted = values.get("table", "")
    where = " ".join(name.replace("\\", "/").rpartition("/")[2].split())[-80:] if data else "the table"
    try:
        found = await asyncio.to_thread(_found, data or pasted.encode(), where, values)
        shown = await asyncio.to_thread(_shown, found)
    except FaultsError as error:
        return _page(request, values=values, faults=error.faults, status=422)
    except LittoralError as error:
        return _page(request, values=values, faults=(Fault(str(error), "", where),), status=422)
    return _page(request, values=values, found=found, shown=shown, name="" if not data else where)


def _found(data: bytes, where: str, values: Mapping[str, str]) -> GrowthTest:
    if not data.strip():
        raise FaultsError([Fault("is missing.", "Choose a file, or paste the cells.", "a table")])
    return give_growth_test(
        data,
        where=where,
        control=values.get("control", "")[:80],
        guideline=values.get("guideline", "")[:20],
        side=values.get("side", "")[:20],
        ask_williams=values.get("williams") == "yes",
    )


def _shown(found: GrowthTest) -> tuple[ShownMeasure, ...]:
    return tuple(_measure(found, result, draw=at < MOST_DRAWN) for at, result in enumerate(found.results))


def _measure(found: GrowthTest, result: MeasuredGrowth, *, draw: bool) -> ShownMeasure:
    return ShownMeasure(
        name=result.measured.name,
        curves=drawn(lambda width_px: curves_chart(found, result, width_px=width_px)) if draw else None,
        numbers=tuple(
            ShownNumber(
                of,
                drawn(lambda width_px, of=of: versus_chart(found, result, of, width_px=width_px)) if draw else None,  # type: ignore[misc]
                versus_table(found, result, of),
            )
            for of in (result.rate, result.grown)
        ),
        vessels=vessels_table(found, result),
    )


def _page(
    request: Request,
    *,
    values: Mapping[str, str],
    found: GrowthTest | None = None,
    shown: Sequence[ShownMeasure] = (),
    name: str = "",
    faults: Sequence[Fault] = (),
    status: int = 200,
) -> Response:
    text = page_html(
        "growth_test.html",
        token=form_token(request),
        values=values,
        found=found,
        shown=shown,
        name=name,
        validity=None if found is None or not found.validity else validity_table(found),
        faults=faults[:SHOWN_FAULTS],
        more_faults=max(0, len(faults) - SHOWN_FAULTS),
    )
    return Response(text, status, media_type="text/html", headers={"cache-control": "no-store"})


GROWTH_TEST_ROUTES = (
    Route("/growth-test", show_form, methods=["GET"]),
    Route("/growth-test", answer, methods=["POST"]),
)
