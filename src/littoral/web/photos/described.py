"""The addresses of photos as OpenAPI describes them: paths and schemas, for `web.care.openapi`."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, get_args

from littoral.acts.photos.list_photos import PhotoState
from littoral.acts.photos.rows import STATES, ViewBy
from littoral.web.bodies import ANY_BYTES, IMAGES
from littoral.web.limits import MAX_INTAKE_BYTES

Schema = dict[str, Any]
TEXT: Schema = {"type": "string"}
MAYBE: Schema = {"type": ["string", "null"]}
MAYBE_MOMENT: Schema = {"type": ["string", "null"], "format": "date-time"}
TEXTS: Schema = {"type": "array", "items": TEXT}
TOLD = {
    "name": "the file's name, with its folders where they are known",
    "view": "the view's short name; without it, it is told by folders and look",
    "when": "when it was taken, by the person's word",
    "clock": 'how to put the camera\'s clock right, such as "+1 year"',
    "who": "who sends it",
    "note": "a remark",
}
"""What may stand in the address of a photo that is sent."""
DECISION = {
    "photos": "ids of the photos' entries, with spaces between them",
    "decision": 'one of "keep", "set aside", "other view"',
    "view": 'the view it shows, for "other view"',
    "reason": "why; needed to set one aside",
    "who": "who decides",
}
"""The texts of a decision."""


def photo_paths(
    key: Schema,
    read: Callable[..., Schema],
    write: Callable[..., Schema],
    answer: Callable[[str, str], Schema],
) -> Schema:
    """Return the paths; the callables are those of `web.care.openapi`."""
    words = "Take one photo of many in: its bytes are the body; 201 where it is in the logbook now, 200 where it is not"
    told = [
        {"name": name, "in": "query", "required": False, "schema": TEXT, "description": said}
        for name, said in TOLD.items()
    ]
    bytes_: Schema = {"type": "string", "format": "binary", "maxLength": MAX_INTAKE_BYTES}
    add = write("takePhotoIn", words, "Undo", [key, *told])
    add["requestBody"] = {"required": True, "content": {kind: {"schema": bytes_} for kind in (*IMAGES, ANY_BYTES)}}
    add["responses"] |= {
        "201": answer("In the logbook", "PhotoRow"),
        "200": answer("There already, asked about, or refused; `state` says which", "PhotoRow"),
    }
    sha256 = {
        "name": "sha256", "in": "path", "required": True, "description": "SHA-256 of the content", "schema": TEXT,
    }  # fmt: skip
    known = read("knownPhoto", "Whether a content is in the trial", "PhotoRow", [key, sha256], problems=(404,))
    known["responses"]["204"] = {"description": "It is not in the trial"}
    return {
        "/api/trials/{key}/photos": {
            "get": read("photos", "A trial's photos, with doubts and decisions", "PhotoList", [key], problems=(404,)),
            "post": add,
        },
        "/api/trials/{key}/photos/{sha256}": {"get": known},
        "/api/photos/decisions": {"post": write("decidePhotos", "Decide about photos", "Decision", [])},
    }


def photo_schemas() -> Schema:
    """Return the schemas of what these paths take and give."""
    row: Schema = {
        "file": TEXT,
        "state": {"type": "string", "enum": list(STATES)},
        "said": TEXT,
        "asks": {"type": "string", "enum": ["", "view", "date"]},
        "view": MAYBE,
        "view_by": {"type": "string", "enum": list(get_args(ViewBy))},
        "at": MAYBE_MOMENT,
        "photo": MAYBE,
        "doubts": TEXTS,
        "remarks": TEXTS,
        "choices": TEXTS,
        "propose_when": TEXT,
    }
    listed: Schema = {
        "photo": TEXT,
        "file": TEXT,
        "view": TEXT,
        "view_name": TEXT,
        "at": {"type": "string", "format": "date-time"},
        "local": TEXT,
        "day": {"type": "number"},
        "dated_by": {"type": "string", "enum": ["exif", "file name", "phone", "person"]},
        "camera": TEXT,
        "state": {"type": "string", "enum": list(get_args(PhotoState))},
        "doubts": TEXTS,
        "note": TEXT,
        "who": TEXT,
        "burst": {"type": ["integer", "null"]},
    }
    photos: Schema = {"type": "array", "items": {"$ref": "#/components/schemas/ListedPhoto"}}
    return {
        "PhotoRow": _object(row),
        "ListedPhoto": _object(listed),
        "PhotoList": _object({"trial": TEXT, "title": TEXT, "photos": photos}),
        "Decision": {
            "type": "object",
            "properties": {name: {"type": "string", "description": words} for name, words in DECISION.items()},
            "required": ["photos", "decision"],
            "additionalProperties": False,
        },
    }


def _object(properties: Schema) -> Schema:
    return {
        "type": "object", "properties": properties, "required": list(properties), "additionalProperties": False,
    }  # fmt: skip
