"""Condition scores: what is judged by eye, on which ordinal steps, and in which words (`scales.toml`)."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Literal

TOP_STEP = 4
"""The steps are 0 to this one."""


@dataclass(frozen=True, slots=True)
class Scale:
    """One scale: `steps` are the words of the steps 0 to 4; `better` says which end is the good one.

    Steps are ranks and have no distances: compare medians and ranks, not means.
    """

    key: str
    name: str
    of: str
    better: Literal["higher", "lower"]
    steps: tuple[str, ...]

    def words(self, step: int) -> str:
        """Return the words of a step without its explanation: "a trace"."""
        return self.steps[step].partition(":")[0]


@cache
def scales() -> Mapping[str, Scale]:
    """Return every scale by its key."""
    data = tomllib.loads(resources.files("littoral.trial").joinpath("scales.toml").read_text(encoding="utf-8"))
    return MappingProxyType(
        {
            key: Scale(key=key, name=row["name"], of=row["of"], better=row["better"], steps=tuple(row["steps"]))
            for key, row in data.items()
        }
    )
