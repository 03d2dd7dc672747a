"""A question, photos of two tanks, and the one finding that is looked at."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from littoral.findings.model import Finding
from littoral.trial.model import Question

Noise = Callable[[int, str, float], float]


Make = Callable[..., Any]


GROWTH = Question("growth", "Did the stems grow faster?", "height growth", ("red-stem",), primary=True)


def heights(noise: Noise, rates: dict[str, float], *, before: float = 0.02) -> Callable[[int, str], dict[str, float]]:
    """Stems of 10 cm that grow at `before` for 14 days and at their tank's rate after that."""

    def take(day: int, tank: str) -> dict[str, float]:
        log = before * min(day, 14) + rates[tank] * max(day - 14, 0) + noise(day, tank, 0.02)
        return {"height_cm": 10 * float(np.exp(log)), "cover": 0.3}

    return take


def only(findings: tuple[Finding, ...]) -> Finding:
    assert len(findings) == 1
    return findings[0]


def redness(
    noise: Noise, *, later: float, offset: float = 0.0, error: float = 0.6
) -> Callable[[int, str], dict[str, float]]:
    def take(day: int, tank: str) -> dict[str, float]:
        a = 20 + noise(day, tank, 0.5) + (offset + later * (day >= 14) if tank == "right" else 0.0)
        return {"a": a, "colour_error": error, "cover": 0.3}

    return take
