"""The description of the API, OpenAPI 3.1: made from the acts themselves, so that it names their very fields."""

from __future__ import annotations

from functools import cache
from typing import Any, get_args

from littoral import __version__
from littoral.acts.see_entries import MOST_DAYS
from littoral.acts.see_today import Running
from littoral.trial.due import Kind, State
from littoral.trial.written.payloads import KINDS as ROW_KINDS
from littoral.web.bodies import IMAGES
from littoral.web.care.problems import KINDS, PROBLEM
from littoral.web.care.recording import ACTS, TOLD
from littoral.web.limits import MAX_PHOTO_BYTES
from littoral.web.photos.described import photo_paths, photo_schemas

Schema = dict[str, Any]
TEXT: Schema = {"type": "string"}
MAYBE_TEXT: Schema = {"type": ["string", "null"]}
DAY: Schema = {"type": "string", "format": "date"}

FIELDS = {
    "item": "the name of a planned thing as /api/today gives it, such as 2026-03-08/left/dose macro",
    "amount": "with its unit, as typed: 5 mL, 2 strokes, 40 %, 12 min, 10 mg/L (7.5-15); a step 0 to 4 for a score",
    "tank": "the short name of a tank",
    "what": "the bottle, stand, nutrient, gauge, scale, animal, plant or piece of equipment",
    "trial": "the trial's key; needed only where the logbook holds several",
    "when": "left out or empty: now. Else 18:30, 2026-03-08, 2026-03-08 18:30 or with an offset 2026-03-08 18:30+01:00",
    "zone": "the IANA name of the zone whose clock `when` is by; the trial's unless given",
    "who": "who did it",
    "note": "free text",
    "id": "a UUID that the client makes; the same record sent twice with it is recorded once",
    "reason": "why it is undone",
}
CORRECTION = {name: FIELDS[name] for name in ("id", "what", "amount", "note", "when", "tank", "who")}
"""What a correction may say; what is left out stays."""
UNDO = {name: FIELDS[name] for name in ("reason", "who")}
"""What may be said with an undo."""


@cache
def document() -> dict[str, Any]:
    """Return the whole description."""
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "Littoral: care at the bench",
            "version": __version__,
            "description": "Every POST carries the header x-littoral-token (from /api/session) and the page's own "
            "Origin. Nothing is ever overwritten: corrections and undoings are entries of their own.",
            "license": {"name": "Apache-2.0", "identifier": "Apache-2.0"},
        },
        "paths": _paths(),
        "components": {
            "schemas": _schemas(),
            "securitySchemes": {"token": {"type": "apiKey", "in": "header", "name": "x-littoral-token"}},
        },
    }


def _paths() -> dict[str, Any]:
    key, identity = _in_path("key", "the trial's key"), _in_path("id", "an entry's id")
    trial = {**_asked("trial", TEXT), "description": "only this trial"}
    days: Schema = {"type": "integer", "minimum": 1, "maximum": MOST_DAYS, "default": 7}
    return {
        "/api/session": {"get": _read("session", "The token of this start", "Session", problems=())},
        "/api/today": {"get": _read("today", "What is due today", "Today", [trial, _asked("day", DAY)])},
        "/api/entries": {"post": _write("addEntry", "Record something", "Record", [])},
        "/api/photos": {"post": _photo()},
        "/api/entries/{id}": {"get": _read("entry", "One entry", "SeenEntry", [identity], problems=(404,))},
        "/api/entries/{id}/corrections": {
            "post": _write("correctEntry", "Correct an entry; what is left out stays", "Correction", [identity])
        },
        "/api/entries/{id}/undo": {"post": _write("undoEntry", "Undo an entry", "Undo", [identity])},
        "/api/trials/{key}/entries": {
            "get": _read(
                "entries", "Entries by day, with every version", "EntryStream",
                [key, _asked("last", DAY), _asked("days", days)],
            )
        },
        "/api/trials/{key}/audit": {
            "get": _read("audit", "Whether care was the same in both arms", "Audited", [key], problems=(404,))
        },
        **photo_paths(key, _read, _write, _answer),
        "/api/openapi.json": {"get": _read("openapi", "This description", "Described", problems=())},
    }  # fmt: skip


def _read(
    name: str, words: str, schema: str, parameters: list[Schema] | None = None, problems: tuple[int, ...] = (404, 422)
) -> Schema:
    answers = {"200": _answer(words, schema), **{str(status): _problem(status) for status in problems}}
    refusals = {str(status): _refusal(words_) for status, words_ in HEAD_REFUSALS.items()}
    if parameters or problems:
        answers["409"], answers["503"] = _problem(409), _problem(503)
    return {"operationId": name, "summary": words, "parameters": parameters or [], "responses": answers | refusals}


def _write(name: str, words: str, schema: str, parameters: list[Schema]) -> Schema:
    return {
        "operationId": name,
        "summary": words,
        "security": [{"token": []}],
        "parameters": parameters,
        "requestBody": {"required": True, "content": {"application/json": {"schema": _ref(schema)}}},
        "responses": {
            "201": _answer("Recorded", "Recorded"),
            "200": _answer("The very same had been recorded already; nothing was added", "Recorded"),
            **{str(status): _problem(status) for status in (400, 404, 409, 422, 503)},
            **{
                str(status): _refusal(words_, also_problem=status == 403)
                for status, words_ in (HEAD_REFUSALS | BODY_REFUSALS).items()
            },
        },
    }


def _photo() -> Schema:
    words = "Add a photo: its bytes are the body, all else stands in the address; the same photo of a view is one"
    view = {**_asked("view", TEXT), "required": True}
    told = [_asked(name, TEXT) for name in (*TOLD, "name")]
    whole = _write("addPhoto", words, "Record", [view, *told])
    bytes_: Schema = {"type": "string", "format": "binary", "maxLength": MAX_PHOTO_BYTES}
    return {**whole, "requestBody": {"required": True, "content": {kind: {"schema": bytes_} for kind in IMAGES}}}


HEAD_REFUSALS = {414: "the address is too long", 421: "another name or port than the page's own"}
BODY_REFUSALS = {
    403: "no token of this start, another page's Origin, or a role that does not allow it",
    413: "the body is too large",
    415: "neither JSON nor a form",
}


def _schemas() -> dict[str, Schema]:
    return {
        "Session": _object({"token": TEXT}),
        "Record": {
            "oneOf": [_ref(_name_of(act)) for act in ACTS],
            "discriminator": {
                "propertyName": "act",
                "mapping": {act: f"#/components/schemas/{_name_of(act)}" for act in ACTS},
            },
        },
        **{_name_of(act.name): _record(act.name) for act in ACTS.values()},
        "Correction": _texts(CORRECTION),
        "Undo": _texts(UNDO),
        "Recorded": _object(
            {"trial": TEXT, "ids": _many(TEXT), "new": {"type": "integer", "minimum": 0}, "words": _many(TEXT),
             "remarks": _many(TEXT), "doubts": _many(TEXT)}
        ),
        "Entry": _object(
            {"id": TEXT, "trial": TEXT, "at": {"type": "string", "format": "date-time"}, "zone": TEXT,
             "tank": MAYBE_TEXT, "kind": TEXT, "words": TEXT, "note": TEXT, "who": TEXT, "supersedes": MAYBE_TEXT}
        ),
        "Cells": _object({"kind": _one_of(tuple(ROW_KINDS)), "what": TEXT, "amount": TEXT, "text": TEXT}),
        "SeenEntry": _object({"entry": _ref("Entry"), "ahead": _or_null("Entry"), "cells": _or_null("Cells")}),
        "Versions": _object({"now": _ref("Entry"), "before": _many(_ref("Entry"))}),
        "EntryDay": _object({"date": DAY, "entries": _many(_ref("Versions"))}),
        "EntryStream": _object(
            {"trial": TEXT, "title": TEXT, "zone": TEXT, "first": DAY, "last": DAY,
             "earlier": {"type": ["string", "null"], "format": "date"},
             "later": {"type": ["string", "null"], "format": "date"}, "days": _many(_ref("EntryDay"))}
        ),
        "Task": _object(
            {"item": TEXT, "kind": _one_of(get_args(Kind)), "words": TEXT, "amount": TEXT, "clock": TEXT, "date": DAY,
             "state": _one_of(get_args(State)), "entries": _many(TEXT), "done": TEXT}
        ),
        "DoneThing": _object({"entry": TEXT, "clock": TEXT, "words": TEXT}),
        "TankToday": _object(
            {"tank": TEXT, "name": TEXT, "arm": TEXT, "tasks": _many(_ref("Task")),
             "open_before": _many(_ref("Task")), "besides": _many(_ref("DoneThing")),
             "care_minutes": {"type": "number", "minimum": 0}, "left": {"type": "integer", "minimum": 0}}
        ),
        "TrialToday": _object(
            {"trial": TEXT, "title": TEXT, "date": DAY, "day": {"type": "integer"}, "days": {"type": "integer"},
             "running": _one_of(get_args(Running)), "baseline_days": {"type": "integer", "minimum": 0},
             "tanks": _many(_ref("TankToday"))}
        ),
        "Today": _object({"trials": _many(_ref("TrialToday")), "remarks": _many(TEXT)}),
        "CheckRow": _object(
            {"what": TEXT, "value": {"type": ["number", "null"]}, "operator": TEXT,
             "limit": {"type": ["number", "null"]}, "unit": TEXT,
             "verdict": _one_of(("holds", "warns", "fails", "cannot tell")), "comment": TEXT, "source": TEXT}
        ),
        "CareItem": _object(
            {"key": TEXT, "row": _ref("CheckRow"), "low": {"type": ["number", "null"]},
             "high": {"type": ["number", "null"]}, "days": {"type": "integer"}}
        ),
        "Audited": _object(
            {"trial": TEXT, "title": TEXT, "arms": {**_many(TEXT), "minItems": 2, "maxItems": 2},
             "items": _many(_ref("CareItem")), "held_equal": _many(TEXT)}
        ),
        **photo_schemas(),
        "Described": {"type": "object", "required": ["openapi", "paths"]},
        "Fault": _object({"where": TEXT, "what": TEXT, "right": TEXT}),
        "Problem": {
            "type": "object",
            "properties": {
                "title": TEXT,
                "status": {"type": "integer"},
                "detail": TEXT,
                "kind": _one_of(tuple(KINDS)),
                "faults": _many(_ref("Fault")),
                "item": TEXT,
                "entry": {"oneOf": [TEXT, _ref("Entry")]},
                "refused": _ref("Entry"),
                "ahead": _ref("Entry"),
                "there": _ref("Entry"),
                "again": _ref("Entry"),
            },
            "required": ["title", "status", "detail", "kind"],
            "additionalProperties": False,
        },
    }  # fmt: skip


def _record(name: str) -> Schema:
    act = ACTS[name]
    takes = {field: FIELDS[field] for field in (*act.takes, *TOLD)}
    schema = _texts(takes)
    schema["properties"] = {"act": {"const": name, "description": act.words}, **schema["properties"]}
    schema["required"] = ["act", *act.needs]
    for field in act.needs:
        schema["properties"][field] = {**schema["properties"][field], "minLength": 1}
    return schema


def _name_of(act: str) -> str:
    return "Record" + act.title().replace("-", "")


def _texts(fields: dict[str, str]) -> Schema:
    properties = {
        name: {"type": "string", "description": words, **({"format": "uuid"} if name == "id" else {})}
        for name, words in fields.items()
    }
    return {"type": "object", "properties": properties, "additionalProperties": False}


def _object(properties: dict[str, Schema]) -> Schema:
    return {
        "type": "object", "properties": properties, "required": list(properties), "additionalProperties": False,
    }  # fmt: skip


def _many(of: Schema) -> Schema:
    return {"type": "array", "items": of}


def _one_of(names: tuple[str, ...]) -> Schema:
    return {"type": "string", "enum": list(names)}


def _or_null(name: str) -> Schema:
    return {"oneOf": [_ref(name), {"type": "null"}]}


def _ref(name: str) -> Schema:
    return {"$ref": f"#/components/schemas/{name}"}


def _asked(name: str, schema: Schema) -> Schema:
    return {"name": name, "in": "query", "required": False, "schema": schema}


def _in_path(name: str, words: str) -> Schema:
    return {"name": name, "in": "path", "required": True, "description": words, "schema": {"type": "string"}}


def _answer(words: str, schema: str) -> Schema:
    return {"description": words, "content": {"application/json": {"schema": _ref(schema)}}}


def _problem(status: int) -> Schema:
    kinds = [kind for kind, of in KINDS.items() if of == status]
    return {"description": ", ".join(kinds), "content": {PROBLEM: {"schema": _ref("Problem")}}}


def _refusal(words: str, *, also_problem: bool = False) -> Schema:
    content: Schema = {"text/plain": {"schema": {"type": "string"}}}
    if also_problem:
        content[PROBLEM] = {"schema": _ref("Problem")}
    return {"description": words, "content": content}
