"""Questions about waiting times, scores and yields, and photos for them, shared by the tests of each measure."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from littoral.findings.measured import Measured
from littoral.findings.model import Finding
from littoral.trial.model import Question
from littoral.trial.plan import Plan

Make = Callable[..., Any]
NOTHING = Measured((), "test")
ONSET = Question("onset", "When did algae come?", "algae onset", primary=True)
REGROWTH = Question("regrowth", "Did it grow back sooner?", "regrowth", ("red-stem",), primary=True)
CONDITION = Question("condition", "In better condition?", "condition", primary=True)
YIELD = Question("yield", "Which gave more?", "yield", primary=True)


def only(findings: tuple[Finding, ...]) -> Finding:
    assert len(findings) == 1
    return findings[0]


def algae_from(first: Mapping[str, int | None]) -> Callable[[int, str], dict[str, float]]:
    """Clean until a day, 8 % from it on."""
    return lambda day, tank: {"algae": 0.08 if (at := first[tank]) is not None and day >= at else 0.01}


def growing(doubling: Mapping[str, float], trims: Mapping[str, tuple[float, ...]]) -> Any:
    """Stems that double in so many days, cut to half at each trim."""

    def take(day: int, tank: str) -> dict[str, float]:
        at = day + 0.5
        cut = sum(at > trim for trim in trims[tank])
        return {"height_cm": 10 * 2 ** (at / doubling[tank]) * 0.5**cut, "cover": 0.3}

    return take


def shelves(count: int) -> Plan:
    keys = ("", *map(str, range(2, count + 1)))
    return Plan(blocks=tuple((f"shelf {key}", (f"left{key}", f"right{key}")) for key in keys))
