"""Pages of what other programs read and write: the API by its OpenAPI description, and every JSON schema."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from littoral.publish.findings_json import schema_text
from littoral.web.care.openapi import document

Schema = Mapping[str, Any]


def openapi_text() -> str:
    """Return the API's description as JSON, as /api/openapi.json gives it."""
    return json.dumps(document(), indent=1, ensure_ascii=False) + "\n"


def api_page() -> str:
    """Return the page of the API: every address, its parameters and answers, then every schema."""
    api = document()
    lines = [
        "# The API",
        "",
        f"Made from the description that the page serves at `/api/openapi.json` (OpenAPI {api['openapi']}; "
        "[the file](../tables/openapi.json)). " + api["info"]["description"],
        "",
        "What is refused comes as problem details (RFC 9457): the field, what is wrong there, and what would do.",
        "",
        "## Addresses",
        "",
    ]
    for path, methods in api["paths"].items():
        for method, act in methods.items():
            lines += [f"### {method.upper()} {_plain(path)}", "", f"{_plain(act['summary'])}.", ""]
            asked = [
                (f"`{one['name']}`", one["in"], _plain(one.get("description", ""))) for one in act.get("parameters", ())
            ]
            if asked:
                lines += [
                    "| Parameter | Where | Meaning |",
                    "|---|---|---|",
                    *(f"| {' | '.join(row)} |" for row in asked),
                    "",
                ]
            body = _media(act.get("requestBody", {}))
            if body:
                lines += [f"Body: {body}.", ""]
            lines += [
                "Answers: " + "; ".join(_answer(code, one) for code, one in sorted(act["responses"].items())) + ".",
                "",
            ]
    lines += ["## Schemas", ""]
    for name, schema in api["components"]["schemas"].items():
        lines += [f"### {name}", "", *fields(schema)]
    return "\n".join(lines)


def findings_schema_page() -> str:
    """Return the page of the findings' schema: every key of the file, and of every named part of it."""
    schema = json.loads(schema_text())
    lines = [
        "# The findings' schema",
        "",
        f"{schema['description']} Made from `publish/schemas/findings.schema.json` (JSON Schema 2020-12; "
        "[the file](../tables/findings.schema.json)). What the keys mean is told in [findings](findings.md).",
        "",
        "## The file",
        "",
        *fields(schema),
    ]
    for name, part in schema.get("$defs", {}).items():
        lines += [f"## {name}", "", *fields(part)]
    return "\n".join(lines)


def fields(schema: Schema) -> list[str]:
    """Return the keys of an object as the lines of a Markdown table; of anything else its type."""
    said = [_plain(schema["description"]), ""] if "description" in schema else []
    rows = list(_rows(schema, ""))
    if not rows:
        return [*said, f"{_type(schema)}.", ""]
    return [*said, "| Key | Type | Meaning |", "|---|---|---|", *rows, ""]


def _rows(schema: Schema, above: str) -> list[str]:
    rows: list[str] = []
    needed = schema.get("required", ())
    for name, one in schema.get("properties", {}).items():
        meaning = _plain(one.get("description", "")) + ("" if name in needed else " May be missing.")
        rows.append(f"| `{above}{name}` | {_type(one)} | {meaning.strip()} |")
        inner = one.get("items", one) if one.get("type") == "array" else one
        if "properties" in inner:
            rows += _rows(inner, f"{above}{name}{'[]' if inner is not one else ''}.")
    return rows


def _type(one: Schema) -> str:
    if "$ref" in one:
        return _plain(one["$ref"].rsplit("/", 1)[-1])
    if "const" in one:
        return f"`{json.dumps(one['const'], ensure_ascii=False)}`"
    if "enum" in one:
        return ", ".join(f"`{_plain(json.dumps(value, ensure_ascii=False))}`" for value in one["enum"])
    for several in ("oneOf", "anyOf", "allOf"):
        if several in one:
            return " or ".join(dict.fromkeys(_type(each) for each in one[several]))
    kind = one.get("type", "anything")
    if isinstance(kind, list):
        return " or ".join(kind)
    if kind == "array":
        return f"list of {_type(one['items'])}" if "items" in one else "list"
    return f"{kind} ({one['format']})" if "format" in one else str(kind)


def _media(body: Schema) -> str:
    content: Mapping[str, Any] = body.get("content", {})
    return ", ".join(f"`{kind}`{_of(media.get('schema', {}))}" for kind, media in content.items())


def _of(schema: Schema) -> str:
    return f" with {_type(schema)}" if "$ref" in schema else ""


def _answer(code: str, answer: Schema) -> str:
    if "$ref" in answer:
        return f"{code} {_plain(answer['$ref'].rsplit('/', 1)[-1])}"
    return f"{code} {_plain(answer.get('description', ''))}".strip().rstrip(".")


def _plain(text: str) -> str:
    return " ".join(text.split()).replace("|", "\\|").replace("<", "&lt;").replace("{", "\\{")
