"""Every address and every role: who may do what. The table is made from the application's own routes."""

from __future__ import annotations

import json
import re
from uuid import uuid4

import pytest
from starlette.routing import Route

from littoral.acts.who_recorded import is_own
from littoral.logbook.book import Logbook
from littoral.logbook.devices import ROLES
from littoral.web.access.roles import RIGHTS, signature
from littoral.web.access.rules import RULES
from littoral.web.app import ROUTES

PAIRS = tuple(
    (method, route.path) for route in ROUTES for method in sorted(route.methods or ()) if method in ("GET", "POST")
)
CLOSED = {"keeper": set(), "helper": {"decide", "design", "publish", "invite"}}
CLOSED["reader"] = {*CLOSED["helper"], "record", "mend"}


def a_path(path: str) -> str:
    """An address that leads to this route."""
    return re.sub(r"\{(\w+)(:\w+)?\}", lambda found: "1" if found[2] == ":int" else "sparing-or-full", path)


def test_every_address_has_a_rule_and_every_rule_an_address():
    assert all(isinstance(route, Route) for route in ROUTES)
    assert {pair for pair in PAIRS if pair not in RULES} == set()
    assert {pair for pair in RULES if pair not in PAIRS} == set()


def test_a_role_holds_what_the_next_one_holds_and_more():
    assert RIGHTS["reader"] < RIGHTS["helper"] < RIGHTS["keeper"]
    assert set().union(*CLOSED.values()) | {"look"} == RIGHTS["keeper"]
    assert {role: RIGHTS["keeper"] - rights for role, rights in RIGHTS.items()} == CLOSED


@pytest.mark.parametrize("role", [*ROLES, None])
def test_each_address_lets_each_role_do_what_its_rule_says(shared, role):
    """The guard's answer for every address: 403 with its words where the right is missing, and never otherwise."""
    place = shared.phone() if role is None else shared.paired(f"a {role}", role=role)
    token = place.token("/pair")
    shared.app.router.routes[:] = [_answers(route) for route in shared.app.router.routes]
    for method, path in PAIRS:
        rule = RULES[method, path]
        sent = {"headers": {"origin": place.base, "x-littoral-token": token, "accept": "application/json"}}
        if method == "POST":
            sent |= {"data": {"token": token}}
            if path.startswith("/api/"):
                kind = "image/jpeg" if path.endswith("photos") else "application/json"
                sent = {"content": b"{}", "headers": {**sent["headers"], "content-type": kind}}
        answer = place(method, a_path(path), **sent)
        if rule == "anybody":
            expected = 299
        elif rule == "this computer" or (rule == "invite" and role is None):
            expected = 403
        elif role is None:
            expected = 401
        else:
            expected = 403 if rule in CLOSED[role] else 299
        assert answer.status_code == expected, (method, path, rule, answer.text)


def _answers(route):
    """The same address, with an end that only says that it was reached."""
    from starlette.responses import PlainTextResponse

    async def reached(_request):
        return PlainTextResponse("reached", 299)

    return Route(route.path, reached, methods=[method for method in route.methods if method != "HEAD"])


def test_at_this_computer_everything_is_open(shared):
    here = shared.here()
    assert here.get("/devices").status_code == 200
    assert "helper" in here.get("/devices").text


def send(place, path, body):
    headers = {"origin": place.base, "content-type": "application/json", "x-littoral-token": place.token("/pair")}
    return place("POST", path, content=json.dumps(body), headers=headers)


ADAS, BENS, NEW = (str(uuid4()) for _ in range(3))
NOTE = {"act": "note", "tank": "left", "note": "clear water", "when": "2026-03-08 18:30"}


def everything(folder):
    with Logbook.open(folder) as book:
        return {entry.id: entry for entry in book.all_entries("sparing-or-full")}


def test_a_helper_mends_only_what_it_recorded(shared):
    helper, other = shared.paired("Ben", role="helper"), shared.paired("Ada", role="keeper")
    assert send(other, "/api/entries", {**NOTE, "id": ADAS}).status_code == 201
    assert send(helper, "/api/entries", {**NOTE, "id": BENS}).status_code == 201
    for path in (f"/api/entries/{ADAS}/undo", f"/api/entries/{ADAS}/corrections"):
        answer = send(helper, path, {"note": "wrong"} if path.endswith("corrections") else {})
        assert answer.status_code == 403
        assert answer.json()["kind"] == "not allowed"
        assert "recorded by Ada" in answer.json()["detail"]
    for path, fields in ((f"/entry/{ADAS}/undo", {}), ("/today", {"act": "undo", "entry": ADAS})):
        answer = helper.post(path, fields)
        assert answer.status_code in (403, 409)
        assert "recorded by Ada" in answer.text
    assert set(everything(shared.folder)) == {ADAS, BENS}
    answer = send(helper, f"/api/entries/{BENS}/corrections", {"note": "cloudy", "when": "18:31", "id": NEW})
    assert answer.status_code == 201, answer.text
    assert send(other, f"/api/entries/{NEW}/undo", {}).status_code == 201
    assert {entry.who for entry in everything(shared.folder).values()} == {"Ada", "Ben"}


@pytest.mark.parametrize(
    ("role", "given", "who"),
    [
        ("helper", "", "Tablet"), ("helper", "Mo", "Mo (Tablet)"), ("helper", "Tablet", "Tablet"),
        ("helper", "Mo (Tablet)", "Mo (Tablet)"), ("keeper", "", "Tablet"), ("keeper", "Mo", "Mo"),
    ],
)  # fmt: skip
def test_who_did_it_is_written_in_each_entry(role, given, who):
    assert signature("Tablet", role, given) == who
    assert signature("", role, given) == given
    assert is_own("Tablet", who) == (who != "Mo")


def test_a_role_that_is_not_one_lets_nobody_in(shared):
    phone = shared.paired("phone", role="helper")
    (file,) = (shared.folder / "devices").glob("*.json")
    file.write_text(file.read_text().replace('"helper"', '"owner"'))
    assert phone.get("/today").status_code == 303


def test_a_device_of_before_roles_gets_no_more_than_it_had(shared):
    phone = shared.paired("phone", role="reader")
    (file,) = (shared.folder / "devices").glob("*.json")
    for written, posts, invites in (("true", 201, 403), ("false", 403, 403)):
        said = json.loads(file.read_text())
        said.pop("role", None)
        file.write_text(json.dumps({**said, "may_write": written == "true"}))
        assert send(phone, "/api/entries", {**NOTE, "id": str(uuid4())}).status_code == posts
        assert phone.get("/devices").status_code == invites


def test_a_keeper_invites_from_its_device(shared):
    keeper = shared.paired("Ada", role="keeper")
    assert keeper.get("/devices").status_code == 200
    assert keeper.post("/devices/code", {"role": "helper"}, token=keeper.token("/devices")).status_code == 303
    (code,) = shared.codes.open()
    assert code.role == "helper"


def test_a_reader_is_told_so_and_offered_nothing_to_press(shared):
    reader = shared.paired("phone", role="reader").get("/today").text
    assert '<div class="bench only-looks">' in reader
    assert "This device only looks" in reader
    helper = shared.paired("tablet", role="helper", address="192.168.1.31").get("/today").text
    assert "only-looks" not in helper


def test_only_the_newest_code_is_open_to_a_camera(shared):
    keeper = shared.here()
    for role in ("keeper", "reader"):
        shared.codes.make(role=role)
    text = keeper.get("/devices").text
    newest, older = text.split('<details class="older-codes">')
    assert "For a <strong>reader</strong>" in newest
    assert "For a <strong>keeper</strong>" in older.split("</details>")[0]


def test_the_command_invites_to_the_page_that_runs(shared, monkeypatch):
    from typer.testing import CliRunner

    from littoral.cli.main import app
    from littoral.web.access.codes import Codes

    said = CliRunner().invoke(app, ["devices", str(shared.folder), "--invite", "helper"])
    assert said.exit_code == 0, said.output
    code = said.stdout.splitlines()[0]
    shared.app.state.codes = Codes(shared.clock, folder=shared.folder)
    phone, late = shared.phone(), shared.phone()
    assert phone.pair(code, "Ben").status_code == 303
    assert late.pair(code, "Eve").status_code == 403  # used up
    assert phone.get("/devices").status_code == 403
    assert phone.get("/trial/sparing-or-full/import").status_code == 200
    assert code.replace(" ", "") not in "".join(
        path.read_text() for path in (shared.folder / "devices").rglob("*.json")
    )
