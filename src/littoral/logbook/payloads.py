"""Payloads of entries as JSON: each kind's name in the database, and back."""

from __future__ import annotations

import dataclasses
import json
import math
from functools import lru_cache

from littoral.errors import LittoralError
from littoral.trial.entries import (
    Care,
    Dose,
    Drawn,
    Equipment,
    GaugeReading,
    Living,
    Note,
    Overridden,
    Payload,
    Photo,
    Reading,
    Score,
    Skipped,
    Taught,
    TopUp,
    Trim,
    WaterChange,
    Withdrawn,
)

KINDS: dict[str, type[Payload]] = {
    "dose": Dose,
    "water change": WaterChange,
    "top-up": TopUp,
    "trim": Trim,
    "reading": Reading,
    "gauge reading": GaugeReading,
    "score": Score,
    "living": Living,
    "equipment": Equipment,
    "skipped": Skipped,
    "photo": Photo,
    "care": Care,
    "note": Note,
    "withdrawn": Withdrawn,
    "override": Overridden,
    "drawing": Drawn,
    "taught look": Taught,
}
_INFINITE = "inf"
_KIND_OF = {cls: kind for kind, cls in KINDS.items()}


class UnknownKindError(LittoralError):
    """The database holds an entry of a kind that this version does not know."""

    def __init__(self, kind: str) -> None:
        self.kind = kind
        super().__init__(
            f"the logbook holds an entry of kind {kind!r}, which this version of Littoral does not know; "
            f"it knows {', '.join(KINDS)}. Open the logbook with the version that wrote it, or a newer one."
        )


def kind_of(payload: Payload) -> str:
    """Return the kind's name for a payload."""
    return _KIND_OF[type(payload)]


def kind_of_class(cls: type[Payload]) -> str:
    """Return the kind's name for a class of payload."""
    return _KIND_OF[cls]


def to_json(payload: Payload) -> str:
    """Return a payload as JSON with sorted keys, so that equal payloads give equal text.

    A reading off its scale has an upper end of infinity, which JSON has no number for: it is written as "inf".
    """
    fields = dataclasses.asdict(payload)
    plain = {name: _INFINITE if value == math.inf else value for name, value in fields.items()}
    return json.dumps(plain, sort_keys=True, ensure_ascii=False, allow_nan=False)


def from_json(kind: str, text: str) -> Payload:
    """Return the payload that `to_json` wrote; UnknownKindError for a kind of a newer version."""
    if kind not in KINDS:
        raise UnknownKindError(kind)
    return _read(kind, text)


@lru_cache(maxsize=4096)
def _read(kind: str, text: str) -> Payload:
    """Read a payload; the same doses come again and again, and a payload is never changed."""
    cls, fields = KINDS[kind], json.loads(text)
    for name in ("high_mg_per_l", "high"):
        if fields.get(name) == _INFINITE:
            fields[name] = math.inf
    if "doubts" in fields:
        fields["doubts"] = tuple(fields["doubts"])
    return cls(**fields)
