"""Invented keepers' files, built by code, and the BCG trials as if thirteen keepers had found them."""

from __future__ import annotations

import importlib.util
import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from types import ModuleType
from typing import Any

from littoral.feeding.bottles import Bottle
from littoral.feeding.regimes import PlannedDose, Regime
from littoral.findings.model import ArmValue, Evidence, Finding
from littoral.publish.findings_json import findings_json
from littoral.tank.volume import Vessel
from littoral.trial.model import Arm, Question, Tank, Trial

NORMAL_95 = 1.959964


def keeper_trial(*, title: str = "Sparing or full", start: str = "2026-03-02", ml: float = 4.0) -> Trial:
    vessel = Vessel(60, 30, 30, 27)
    return Trial(
        key="sparing-or-full",
        title=title,
        factor="feeding regime",
        start=date.fromisoformat(start),
        zone="Europe/Berlin",
        baseline_days=14,
        length_days=56,
        arms=(Arm("sparing", "sparing", ("right",), "sparing"), Arm("full", "full", ("left",), "full")),
        questions=(Question("growth", "Did they grow faster?", "height growth", primary=True),),
        tanks={key: Tank(key, f"{key} tank", vessel) for key in ("left", "right")},
        stands={},
        views={},
        bottles={"macro": Bottle("macro", "macro stock", content_mg_per_ml={"nitrate": 40.0})},
        regimes={
            "sparing": Regime("sparing", "sparing", (PlannedDose("macro", (2,), ml=1.0, written="1 mL"),), ()),
            "full": Regime("full", "full", (PlannedDose("macro", (1, 3, 5), ml=ml, written="4 mL"),), ()),
        },
    )


def keeper_finding(
    first: tuple[float, float],
    second: tuple[float, float],
    *,
    measure: str = "height growth",
    unit: str = "per day",
    error: float | None = None,
    **more: Any,
) -> Finding:
    """Return a finding of two arms, each (value, standard error); their difference's error is that of independents."""
    own = math.hypot(first[1], second[1]) if error is None else error
    effect = second[0] - first[0]
    values = tuple(
        ArmValue(arm, tank, value, value - NORMAL_95 * one, value + NORMAL_95 * one, 30)
        for arm, tank, (value, one) in (("sparing", "right", first), ("full", "left", second))
    )
    made = Finding(
        question="growth",
        ask="Did they grow faster?",
        measure=measure,
        unit=unit,
        arms=values,
        effect=effect,
        low=effect - NORMAL_95 * own,
        high=effect + NORMAL_95 * own,
        relative_percent=None,
        tanks_per_arm=1,
        design="one tank per arm, drawn by lot",
        rule="these two tanks differ",
        wording="The plants of the left tank grew faster.",
        rule_text="",
        next_step="",
        method="",
        source="",
        evidence=Evidence((), (), (), {}, {}),
        primary=True,
    )
    return replace(made, **more)


def keeper_file(finding: Finding, trial: Trial | None = None, **changed: Any) -> bytes:
    """Return one keeper's findings.json; `changed` are keys of its trial."""
    document = findings_json(trial or keeper_trial(), [finding])
    document["trial"] |= changed
    return json.dumps(document).encode()


def growths(ratios: Sequence[float], *, error: float = 0.05) -> dict[str, bytes]:
    """Return one file for each ln(second / first), with arms of 0.03 a day and its share of `error` in each."""
    found = {}
    for place, ratio in enumerate(ratios, start=1):
        second = 0.03 * math.exp(ratio)
        share = error / math.sqrt(2)
        found[f"home {place}"] = keeper_file(keeper_finding((0.03, 0.03 * share), (second, second * share)))
    return found


def written(folder: Path, files: Mapping[str, bytes]) -> list[str]:
    for keeper, data in files.items():
        (folder / f"{keeper}.json").write_bytes(data)
    return [str(folder / f"{keeper}.json") for keeper in files]


def published_pooling() -> ModuleType:
    """Return the rows of published pooling, which hold the BCG trials and their sources."""
    file = Path(__file__).parents[1] / "benchmarks" / "published_rows" / "pooling.py"
    spec = importlib.util.spec_from_file_location("published_rows_pooling", file)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def bcg() -> tuple[dict[str, bytes], dict[str, float]]:
    """Return the 13 trials (Colditz et al. 1994, JAMA 271:698-702) as keepers' files, and the latitude of each.

    Each is two independent arms, 1 and the risk ratio, whose relative errors give the published variance.
    """
    module = published_pooling()
    files, latitude = {}, {}
    for place, (y, v, degrees) in enumerate(zip(*module.risk_ratios(), module.TRIALS[:, 4], strict=True), start=1):
        share = math.sqrt(v / 2)
        second = math.exp(y)
        finding = keeper_finding((1.0, share), (second, share * second), measure="trimmed mass", unit="g per week")
        files[f"trial {place}"] = keeper_file(finding, start=f"2026-03-{place:02d}")
        latitude[f"trial {place}"] = float(degrees)
    return files, latitude
