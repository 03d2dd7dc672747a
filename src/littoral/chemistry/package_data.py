"""The tables of this room: TOML files beside the code."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources
from typing import Any


@cache
def table(name: str) -> dict[str, Any]:
    """Return one of this room's TOML files, read once. Do not change what is returned."""
    text = resources.files("littoral.chemistry").joinpath(f"{name}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)
