"""The pages of access: codes and devices for keepers, and pairing for everybody else."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, cast

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.routing import Route

from littoral.acts.keep_devices import LONGEST_NAME, Paired, list_devices, pair_device, revoke_device
from littoral.acts.machine_zone import machine_zone
from littoral.errors import FaultsError
from littoral.logbook.devices import ROLES
from littoral.web.access.codes import Code, Codes, TooManyTriesError, WrongCodeError
from littoral.web.access.doors import Doors
from littoral.web.access.limits import COOKIE_LASTS_S
from littoral.web.access.qr_code import qr_svg
from littoral.web.access.roles import ROLE_WORDS
from littoral.web.access.visitor import HERE_COOKIE, device_cookie, form_token, visitor_of
from littoral.web.access.words import moment_words, protected_words
from littoral.web.refusal_page import refusal_page
from littoral.web.templating import page_html


def _codes(request: Request) -> Codes:
    return cast(Codes, request.app.state.codes)


def _doors(request: Request) -> Doors:
    return cast(Doors, request.app.state.doors)


def _folder(request: Request) -> Path:
    return cast(Path, request.app.state.book_folder)


def _html(request: Request, template: str, *, status: int = 200, **values: Any) -> Response:
    text = page_html(template, token=form_token(request), **values)
    return Response(text, status, media_type="text/html", headers={"cache-control": "no-store"})


def pairing_address(doors: Doors, code: Code) -> str:
    """Return what a phone opens to pair itself with a code; "" where it could not get here."""
    origin = doors.pairing_origin
    return "" if origin is None else f"{origin}/pair?code={code.text}"


async def devices(request: Request) -> Response:
    """The devices that are let in, the open codes, and what all this protects. Only for keepers."""
    doors, codes = _doors(request), _codes(request)
    found = await asyncio.to_thread(list_devices, _folder(request))
    zone = machine_zone()
    shown = [
        (code, pairing_address(doors, code), Markup(qr_svg(pairing_address(doors, code))), codes.seconds_left(code))
        for code in codes.open()
    ]
    return _html(
        request,
        "access/devices.html",
        let_in=[(one, moment_words(one.paired_at, zone)) for one in found if one.revoked_at is None],
        let_go=[(one, moment_words(one.revoked_at, zone)) for one in found if one.revoked_at is not None],
        codes=shown,
        origins=sorted(set(doors.shared.values())),
        proxied=doors.behind_proxy,
        protected=protected_words(doors),
        roles=ROLE_WORDS,
        at_this_computer=visitor_of(request).kind == "here",
    )


async def show_code(request: Request) -> Response:
    """Open a code and show it."""
    async with request.form() as form:
        asked = str(form.get("role", ""))
    if _doors(request).pairing_origin is not None:
        _codes(request).make(role=next((role for role in ROLES if role == asked), "reader"))
    return RedirectResponse("/devices#codes", 303)


async def revoke(request: Request) -> Response:
    """Let a device in no more."""
    async with request.form() as form:
        asked = str(form.get("device", ""))
    await asyncio.to_thread(revoke_device, _folder(request), asked, now=datetime.now(UTC))
    return RedirectResponse("/devices", 303)


async def pair(request: Request) -> Response:
    """The form that pairs this device. Opening it uses no code up: a preview of the link must not."""
    code = request.query_params.get("code", "")[:40]
    return _pair_form(request, {"code": code, "name": ""})


async def paired(request: Request) -> Response:
    """Pair this device with an open code; shows the form again, with what is wrong, where something is."""
    async with request.form() as form:
        values = {field: str(form.get(field, ""))[:200] for field in ("code", "name")}
    codes, doors = _codes(request), _doors(request)
    # Behind a proxy every request comes from one address; what it says of others is not believed
    address = request.client.host if request.client else ""
    try:
        code = codes.find(values["code"], address=address)
        done = await asyncio.to_thread(_pair, request, codes, code, values["name"])
    except TooManyTriesError as error:
        answer = _pair_form(request, values, wrong=(str(error),), status=429)
        answer.headers["retry-after"] = str(error.wait_s)
        return answer
    except WrongCodeError as error:
        return _pair_form(request, values, wrong=(str(error),), status=403)
    except FaultsError as error:
        said = tuple(f"The name {fault.what} {fault.right}" for fault in error.faults)
        return _pair_form(request, values, wrong=said, status=422)
    answer = RedirectResponse("/", 303)
    answer.set_cookie(
        device_cookie(doors),
        f"{done.device.id}.{done.key}",
        max_age=COOKIE_LASTS_S,
        path="/",
        httponly=True,
        samesite="strict",
        secure=doors.behind_proxy,
    )
    return answer


def _pair(request: Request, codes: Codes, code: Code, name: str) -> Paired:
    """Pair, and use the code up just before the device is written: a name that is refused costs no code."""
    return pair_device(_folder(request), name, role=code.role, now=datetime.now(UTC), sure=lambda: codes.spend(code))


def _pair_form(
    request: Request, values: Mapping[str, str], *, wrong: tuple[str, ...] = (), status: int = 200
) -> Response:
    return _html(
        request,
        "access/pair.html",
        values=values,
        wrong=wrong,
        longest=LONGEST_NAME,
        visitor=visitor_of(request),
        roles=ROLE_WORDS,
        status=status,
    )


async def here(request: Request) -> Response:
    """Show, behind a proxy, that a browser runs on this computer: the printed address carries the key of this start."""
    doors = _doors(request)
    if not doors.is_here_key(request.query_params.get("key", "")):
        what, right = "This key is not of the running page.", "Open the address that littoral printed."
        if "text/html" in request.headers.get("accept", ""):
            return refusal_page(403, what, right=right)
        return PlainTextResponse(f"Refused (403). {what}\n{right}\n", 403)
    answer = RedirectResponse("/devices", 303)
    answer.set_cookie(HERE_COOKIE, doors.here_key, path="/", httponly=True, samesite="strict")
    return answer


ACCESS_ROUTES = (
    Route("/devices", devices, methods=["GET"]),
    Route("/devices/code", show_code, methods=["POST"]),
    Route("/devices/revoke", revoke, methods=["POST"]),
    Route("/pair", pair, methods=["GET"]),
    Route("/pair", paired, methods=["POST"]),
    Route("/here", here, methods=["GET"]),
)
