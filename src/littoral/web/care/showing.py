"""How the pages of care are sent, and how their forms are read."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from littoral.web.access.visitor import form_token, visitor_of
from littoral.web.limits import MAX_FIELDS
from littoral.web.templating import page_html


def html_page(request: Request, template: str, *, status: int = 200, **values: Any) -> Response:
    """Return one page; nothing of it is kept by caches."""
    only_looks = not visitor_of(request).may("record")
    text = page_html(template, token=form_token(request), only_looks=only_looks, **values)
    return Response(text, status, media_type="text/html", headers={"cache-control": "no-store"})


async def sent_form(request: Request) -> Mapping[str, str]:
    """Return the fields of a form as typed, without the token; of two alike the last."""
    async with request.form(max_fields=MAX_FIELDS) as form:
        return {name: str(value) for name, value in form.multi_items() if name != "token"}
