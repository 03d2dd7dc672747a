"""The JSON API: one address to record, problems that say where, and a description that is true."""

from __future__ import annotations

from typing import Any
from uuid import uuid4

import pytest
from jsonschema import Draft202012Validator
from jsonschema.exceptions import ValidationError

from littoral.trial.entries import Dose
from littoral.web.care.api import API_ROUTES
from littoral.web.care.openapi import document
from littoral.web.care.problems import KINDS
from littoral.web.care.recording import ACTS
from littoral.web.phone.pages import PHONE_ROUTES
from littoral.web.photos.pages import PHOTO_ROUTES

DOSE = {"act": "dose", "tank": "left", "what": "macro", "amount": "2 strokes"}
PLANNED = {"act": "planned", "item": "2026-03-08/left/dose macro"}


def schema(name: str) -> Draft202012Validator:
    return Draft202012Validator({"$ref": f"#/components/schemas/{name}", "components": document()["components"]})


def fits(name: str, value: Any) -> Any:
    schema(name).validate(value)
    return value


def test_recording_answers_201_then_200_for_the_same(bench):
    sent = {**DOSE, "id": str(uuid4())}
    first, again = bench.send("/api/entries", sent), bench.send("/api/entries", sent)
    assert (first.status_code, again.status_code) == (201, 200)
    assert fits("Recorded", first.json())["ids"] == again.json()["ids"] == [sent["id"]]
    assert again.json()["new"] == 0
    assert bench.entries()[0].payload == Dose(of="macro", ml=2.2)


def test_faults_come_with_their_fields(bench):
    answer = bench.send("/api/entries", {**DOSE, "tank": "middle", "amount": "2 spoons", "when": "never"})
    assert answer.status_code == 422
    assert answer.headers["content-type"] == "application/problem+json"
    told = fits("Problem", answer.json())
    assert {fault["where"] for fault in told["faults"]} == {"tank", "amount", "when"}
    assert not bench.entries()


@pytest.mark.parametrize(
    ("body", "where"),
    [
        ({"act": "dance"}, "act"),
        ({}, "act"),
        ({**DOSE, "colour": "red"}, "colour"),
        ({**DOSE, "amount": 5}, "amount"),
        ({**DOSE, "note": "\ud800"}, "note"),
        ({**PLANNED, "tank": "left"}, "tank"),
        ({**DOSE, "id": "17"}, "id"),
    ],
)
def test_what_is_not_taken_is_named(bench, body, where):
    import json

    answer = bench("POST", "/api/entries", content=json.dumps(body), headers={
        "x-littoral-token": bench.app.state.token, "content-type": "application/json"})  # fmt: skip
    assert answer.status_code == 422
    assert where in {fault["where"] for fault in fits("Problem", answer.json())["faults"]}


@pytest.mark.parametrize("body", [b"", b"{", b"[]", b'"x"', b"1", b"\xff", b"[" * 60_000])
def test_a_body_that_is_no_object_is_told(bench, body):
    headers = {"x-littoral-token": bench.app.state.token, "content-type": "application/json"}
    answer = bench("POST", "/api/entries", content=body, headers=headers)
    assert answer.status_code == 400
    assert fits("Problem", answer.json())["kind"] == "not json"


def test_each_conflict_shows_both_sides(bench):
    done = bench.send("/api/entries", PLANNED).json()["ids"][0]
    again = bench.send("/api/entries", {**PLANNED, "id": str(uuid4())})
    assert again.status_code == 409
    told = fits("Problem", again.json())
    assert (told["kind"], told["entry"], told["item"]) == ("answered already", done, PLANNED["item"])

    mine = {**DOSE, "id": done}
    taken = fits("Problem", bench.send("/api/entries", mine).json())
    assert taken["kind"] == "id taken"
    assert taken["there"]["id"] == taken["again"]["id"] == done

    assert bench.send(f"/api/entries/{done}/corrections", {"amount": "2 mL", "who": "Ada"}).status_code == 201
    late = bench.send(f"/api/entries/{done}/corrections", {"amount": "3 mL", "who": "Mika"})
    told = fits("Problem", late.json())
    assert (late.status_code, told["kind"]) == (409, "changed meanwhile")
    assert (told["ahead"]["who"], told["refused"]["who"]) == ("Ada", "Mika")


def test_undo_and_undo_of_it(bench):
    identity = bench.send("/api/entries", DOSE).json()["ids"][0]
    gone = bench.send(f"/api/entries/{identity}/undo", {"reason": "wrong tank"})
    assert gone.status_code == 201
    assert not bench.entries()
    seen = fits("SeenEntry", bench.json(f"/api/entries/{identity}"))
    assert seen["ahead"]["id"] == gone.json()["ids"][0]
    assert seen["cells"]["amount"] == "2 strokes"
    assert fits("SeenEntry", bench.json(f"/api/entries/{gone.json()['ids'][0]}"))["cells"] is None
    bench.send(f"/api/entries/{gone.json()['ids'][0]}/undo", {})
    assert bench.entries()[0].payload == Dose(of="macro", ml=2.2)


def test_what_is_not_there_is_404(bench):
    for path in ("/api/entries/nothing", "/api/trials/nothing/entries", "/api/trials/nothing/audit", "/api/nothing",
                 "/api/today?trial=nothing"):  # fmt: skip
        answer = bench("GET", path, accept="application/json")
        assert answer.status_code == 404, path
        assert fits("Problem", answer.json())["kind"] == "not there"


def test_a_wrong_address_is_422(bench):
    for path in ("/api/today?day=soon", "/api/trials/sparing-or-full/entries?days=400"):
        answer = bench("GET", path, accept="application/json")
        assert answer.status_code == 422
        fits("Problem", answer.json())


def test_several_trials_need_a_name(two_trials):
    answer = two_trials.send("/api/entries", DOSE)
    assert answer.status_code == 422
    assert answer.json()["faults"][0]["where"] == "trial"
    assert two_trials.send("/api/entries", {**DOSE, "trial": "second"}).status_code == 201


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({}, 403),
        ({"x-littoral-token": "x"}, 403),
        ({"content-type": "text/plain"}, 415),
        ({"origin": "http://elsewhere.example"}, 403),
        ({"sec-fetch-site": "cross-site"}, 403),
        ({"host": "rebound.example:8765"}, 421),
    ],
)
def test_the_guard_stands_before_the_api(bench, headers, status):
    token = {} if status == 403 and "origin" not in headers else {"x-littoral-token": bench.app.state.token}
    answer = bench(
        "POST", "/api/entries", content=b"{}", headers={"content-type": "application/json", **token, **headers}
    )
    assert answer.status_code == status
    assert not bench.entries()


def test_the_session_gives_the_token_to_this_page_only(bench):
    answer = bench("GET", "/api/session", accept="application/json")
    assert fits("Session", answer.json())["token"] == bench.app.state.token
    assert answer.headers["cache-control"] == "no-store"
    assert "access-control-allow-origin" not in answer.headers


def test_what_is_read_fits_its_description(bench):
    bench.send("/api/entries", DOSE)
    bench.send("/api/entries", PLANNED)
    bench.later(days=1)
    assert fits("Today", bench.json("/api/today"))["trials"][0]["tanks"]
    assert fits("EntryStream", bench.json("/api/trials/sparing-or-full/entries"))["days"]
    assert fits("Audited", bench.json("/api/trials/sparing-or-full/audit"))["items"]


def test_the_description_names_every_route_and_every_act(bench):
    described = bench.json("/api/openapi.json")
    assert described == document()
    others = (*PHONE_ROUTES, *PHOTO_ROUTES)
    routes = (*API_ROUTES, *(route for route in others if route.path.startswith("/api/")))
    methods: dict[str, set[str]] = {}
    for route in routes:
        methods.setdefault(route.path, set()).update(method.lower() for method in route.methods or set())
    assert {path: set(acts) for path, acts in described["paths"].items()} == {
        path: those - {"head"} for path, those in methods.items()
    }
    assert set(described["components"]["schemas"]["Record"]["discriminator"]["mapping"]) == set(ACTS)
    Draft202012Validator.check_schema({"$defs": described["components"]["schemas"]})


def test_the_description_refuses_what_the_acts_refuse():
    record = schema("Record")
    record.validate({**DOSE, "note": "x"})
    for wrong in ({"act": "dose", "tank": "left"}, {**PLANNED, "tank": "left"}, {**DOSE, "act": "dance"}):
        with pytest.raises(ValidationError):
            record.validate(wrong)


def test_every_kind_of_problem_has_one_status():
    assert set(KINDS.values()) == {400, 403, 404, 409, 422, 503}
