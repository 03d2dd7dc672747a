"""findings.json holds what was found, follows its schema, and keeps its keys."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Sequence
from typing import get_args

import jsonschema
import pytest

from littoral.findings.model import Finding, Rule
from littoral.publish.findings_json import findings_json, findings_schema, findings_text
from littoral.trial.model import Trial


def test_the_schema_is_a_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(findings_schema())


def test_the_schema_knows_every_rule() -> None:
    assert set(findings_schema()["$defs"]["finding"]["properties"]["rule"]["enum"]) == set(get_args(Rule))


def test_what_is_written_follows_the_schema(trial: Trial, findings: Sequence[Finding]) -> None:
    read = json.loads(findings_text(trial, findings))
    jsonschema.validate(read, findings_schema(), cls=jsonschema.Draft202012Validator)
    first = read["findings"][0]
    assert first["effect"] == 0.0121
    assert first["interval"] == {"low": 0.0121 - 0.0055, "high": 0.0121 + 0.0055}
    assert first["primary"] is True
    assert first["evidence"]["disturbed_by"] == {"missed-1": "dose missed"}
    assert first["before"] == {"value": 0.001, "interval": {"low": -0.004, "high": 0.006}}
    assert first["parts"][0]["arms"][1]["tank"] == "left"
    assert first["evidence"]["series"]["left/red-stem"]["value"] == [6.0, None, 6.5]


def test_a_question_without_answer_says_why(trial: Trial, findings: Sequence[Finding]) -> None:
    algae = findings_json(trial, findings)["findings"][2]
    assert algae["effect"] is None
    assert algae["interval"] is None
    assert algae["missing"] == "no photo shows the stone"


def test_an_interval_open_to_one_side_has_a_null_there(trial: Trial, findings: Sequence[Finding]) -> None:
    open_above = dataclasses.replace(findings[0], high=float("inf"))
    read = json.loads(findings_text(trial, [open_above]))
    assert read["findings"][0]["interval"] == {"low": 0.0121 - 0.0055, "high": None}


def test_every_field_of_a_finding_is_written(trial: Trial, findings: Sequence[Finding]) -> None:
    written = set(findings_json(trial, findings)["findings"][0])
    fields = {field.name for field in dataclasses.fields(Finding)}
    assert fields - written == {"low", "high"}  # together they are "interval"


@pytest.mark.parametrize("key", ["schema", "software", "trial", "findings"])
def test_a_missing_key_is_refused(trial: Trial, findings: Sequence[Finding], key: str) -> None:
    whole = findings_json(trial, findings)
    del whole[key]
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(whole, findings_schema(), cls=jsonschema.Draft202012Validator)
