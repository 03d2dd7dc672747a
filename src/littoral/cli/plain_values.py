"""Results of an act as JSON: every dataclass an object, every number a number, what has no end null."""

from __future__ import annotations

import math
from dataclasses import fields, is_dataclass
from datetime import date
from typing import Any


def plain_value(value: Any) -> Any:
    """Return a result's dataclasses, tuples and dates as what JSON knows; infinity and NaN become null."""
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain_value(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, (tuple, list)):
        return [plain_value(part) for part in value]
    if isinstance(value, dict):
        return {str(key): plain_value(part) for key, part in value.items()}
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value.isoformat() if isinstance(value, date) else value
