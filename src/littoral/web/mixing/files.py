"""What leaves a sheet as a file: the weigh-out list, the bottle's label, the shopping list."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from littoral.web.mixing.opened import LABEL_SIZES, Opened
from littoral.web.mixing.pages import opened_by
from littoral.web.mixing.sheets import COSTS, MIX, WATER, Sheet
from littoral.web.mixing.working import worked

LONGEST_CODE = 200
"""Characters of an address in a label's code; a longer one is too fine to be read from paper, and is left out."""


@dataclass(frozen=True, slots=True)
class SheetFile:
    """One file of a sheet: its name, its type, and what makes its bytes of what the sheet's act found."""

    sheet: Sheet
    name: str
    media_type: str
    make: Callable[[Opened, str], bytes]


def _weigh_out(opened: Opened, _base: str) -> bytes:
    from littoral.acts.mix_and_feed.exports import NothingToPrintError, bottle_csv, weigh_out_csv

    found = opened.found.built if opened.sheet is WATER else opened.found
    if found is None or not found.weigh_out:
        raise NothingToPrintError("There is nothing to weigh: the dose is stopped, or no target is set.")
    text = bottle_csv(found) if opened.sheet is MIX else weigh_out_csv(found.weigh_out)
    return text.encode()


def _label(size: str) -> Callable[[Opened, str], bytes]:
    def make(opened: Opened, base: str) -> bytes:
        from littoral.acts.mix_and_feed.exports import bottle_label_pdf

        address = base + opened.address()
        found = opened.found
        if len(address) <= LONGEST_CODE:
            form = replace(opened.form, page_url=address)
            found = worked(MIX.work, form, overridden=opened.written.get("overridden"))
        return bottle_label_pdf(found, size)

    return make


def _shopping_pdf(opened: Opened, _base: str) -> bytes:
    from littoral.acts.mix_and_feed.exports import shopping_list_pdf

    return shopping_list_pdf(opened.found)


def _shopping_csv(opened: Opened, _base: str) -> bytes:
    from littoral.acts.mix_and_feed.exports import shopping_csv

    return shopping_csv(opened.found).encode()


CSV, PDF = "text/csv; charset=utf-8", "application/pdf"
FILES = (
    SheetFile(MIX, "weigh-out.csv", CSV, _weigh_out),
    *(SheetFile(MIX, f"label-{size}.pdf", PDF, _label(size)) for size in LABEL_SIZES),
    SheetFile(WATER, "weigh-out.csv", CSV, _weigh_out),
    SheetFile(COSTS, "shopping-list.pdf", PDF, _shopping_pdf),
    SheetFile(COSTS, "shopping-list.csv", CSV, _shopping_csv),
)


def _endpoint(file: SheetFile) -> Any:
    async def send(request: Request) -> Response:
        opened = await opened_by(request, file.sheet, dict(request.query_params))
        if opened.found is None:
            raise HTTPException(422, " ".join([opened.told, *opened.written.troubles.values()]))
        content = await asyncio.to_thread(file.make, opened, str(request.base_url).rstrip("/"))
        headers = {"content-disposition": f'attachment; filename="{file.name}"', "cache-control": "no-store"}
        return Response(content, media_type=file.media_type, headers=headers)

    return send


FILE_ROUTES = tuple(Route(f"{file.sheet.path}/{file.name}", _endpoint(file), methods=["GET"]) for file in FILES)
