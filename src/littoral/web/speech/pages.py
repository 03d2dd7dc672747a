"""The page on which a visitor, or whoever keeps the logbook, chooses language and units."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import cast

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from littoral.acts.choose_manner import choices_of, choose_manner
from littoral.logbook.spoken import has_manner
from littoral.speech.dates import weekday_name
from littoral.speech.manner import LANGUAGES, NAMES, PLAIN, changed, manner
from littoral.speech.say import later
from littoral.web.access.visitor import form_token, need, visitor_of
from littoral.web.speech.spoken import COOKIE, COOKIE_LASTS_S, cookie_of, cookie_text
from littoral.web.templating import page_html

LABELS = {
    "language": later("Language"),
    "volume": later("Water and tanks"),
    "dose": later("Doses"),
    "temperature": later("Temperature"),
    "length": later("Length"),
    "mass": later("Mass"),
    "hardness": later("Hardness"),
    "week_start": later("The week begins on"),
}
UNIT_NAMES = {
    "L": later("litres"),
    "gal": later("US gallons"),
    "imp gal": later("imperial gallons"),
    "mL": later("millilitres"),
    "fl oz": later("US fluid ounces"),
    "cm": later("centimetres"),
    "in": later("inches"),
    "g": later("grams"),
    "oz": later("ounces"),
    "dGH": later("degrees (dGH, dKH)"),
    "ppm CaCO3": later("ppm as CaCO3"),
    "mmol/L": later("mmol/L, alkalinity in meq/L"),
}


def _folder(request: Request) -> Path:
    return cast(Path, request.app.state.book_folder)


def _name_of(part: str, value: str) -> str:
    if part == "language":
        return LANGUAGES[value]
    if part == "week_start":
        return weekday_name({"monday": 0, "saturday": 5, "sunday": 6}[value])
    return UNIT_NAMES.get(value, value)


async def show(request: Request) -> Response:
    """The choices, with what holds now."""
    parts = [
        (part, LABELS[part], getattr(manner(), part), [(one, _name_of(part, one)) for one in choices_of(part)])
        for part in NAMES
    ]
    text = page_html(
        "speech/settings.html",
        token=form_token(request),
        parts=parts,
        own=cookie_of(request) is not None,
        of_logbook=has_manner(_folder(request)),
        may_write=visitor_of(request).may("design"),
    )
    return Response(text, media_type="text/html", headers={"cache-control": "no-store"})


async def choose(request: Request) -> Response:
    """Keep what was chosen: for the logbook, for this browser alone, or forget this browser's own."""
    async with request.form(max_fields=32) as form:
        said = {name: str(form[name]) for name in NAMES if name in form}
        where = str(form.get("for", "browser"))
    answer = RedirectResponse("/settings", 303)
    if where == "forget":
        answer.delete_cookie(COOKIE, path="/", httponly=True, samesite="strict")
    elif where == "logbook":
        need(request, "design")
        await asyncio.to_thread(choose_manner, _folder(request), said)
        answer.delete_cookie(COOKIE, path="/", httponly=True, samesite="strict")
    else:
        kept = cookie_text(changed(PLAIN, said))
        answer.set_cookie(COOKIE, kept, max_age=COOKIE_LASTS_S, path="/", httponly=True, samesite="strict")
    return answer


SPEECH_ROUTES = (
    Route("/settings", show, methods=["GET"]),
    Route("/settings", choose, methods=["POST"]),
)
