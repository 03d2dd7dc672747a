"""The description against the running routes, by Schemathesis: requests made from it, good and bad, and every answer
held against it. A few of each address in `make test`, many in `make proof`."""

from __future__ import annotations

import pytest

pytest.importorskip("schemathesis", reason="Schemathesis is in the development requirements")
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from littoral.web.care.openapi import document

CHECKS = [not_a_server_error, status_code_conformance, content_type_conformance, response_schema_conformance]
OPERATIONS = [(path, method) for path, methods in document()["paths"].items() for method in methods]


def hold(bench, path: str, method: str, mode, *, examples: int) -> int:
    """Send what the description makes of one operation, and hold each answer against it; return how many were sent."""
    operation = schemathesis.openapi.from_dict(document())[path][method.upper()]
    token = {"x-littoral-token": bench.app.state.token}
    sent = 0

    @given(case=operation.as_strategy(generation_mode=mode))
    @settings(
        max_examples=examples, deadline=None, database=None, derandomize=True, phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    def try_it(case):
        nonlocal sent
        sent += 1
        asked = case.as_transport_kwargs(base_url="http://127.0.0.1:8765")
        asked = {name: asked[name] for name in ("params", "json", "data", "headers") if asked.get(name) is not None}
        if isinstance(asked.get("data"), bytes | str):
            asked["content"] = asked.pop("data")
        asked["headers"] = {**asked.get("headers", {}), **token}
        path = case.formatted_path
        answer = bench(method.upper(), path, accept="application/json", **asked)
        case.validate_response(answer, checks=CHECKS)

    try_it()
    return sent


@pytest.mark.parametrize(("path", "method"), OPERATIONS)
def test_answers_are_as_described(bench, path, method):
    assert hold(bench, path, method, GenerationMode.POSITIVE, examples=8)


@pytest.mark.slow
@pytest.mark.parametrize(("path", "method"), OPERATIONS)
def test_many_answers_are_as_described(bench, path, method):
    assert hold(bench, path, method, GenerationMode.POSITIVE, examples=300)


def may_be_wrong(path: str, method: str) -> bool:
    """Whether a request can break its description: any text will do as a key or an id."""
    described = document()["paths"][path][method]
    return "requestBody" in described or any(one["in"] == "query" for one in described["parameters"])


@pytest.mark.slow
@pytest.mark.parametrize(("path", "method"), [one for one in OPERATIONS if may_be_wrong(*one)])
def test_answers_to_wrong_requests_are_as_described(bench, path, method):
    assert hold(bench, path, method, GenerationMode.NEGATIVE, examples=300)
