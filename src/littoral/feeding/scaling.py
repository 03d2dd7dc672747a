"""A regime for another tank: the same mg/L in more or less water, in steps that can be measured."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from littoral.feeding.regimes import PlannedDose, Regime, RegimeError
from littoral.feeding.tools import Measured, Tool, measurable
from littoral.quantities.derivation import Step


@dataclass(frozen=True, slots=True)
class ScaledRegime:
    """A regime for another volume; `measured` says per dose what the tool made of it, None where no tool was named."""

    regime: Regime
    measured: tuple[Measured | None, ...]
    steps: tuple[Step, ...]


def scale_regime(
    regime: Regime, *, from_l: float, to_l: float, tools: Mapping[str, Tool] | None = None
) -> ScaledRegime:
    """Return a regime that adds the same mg/L to `to_l` litres as it did to `from_l`.

    With a tool for a bottle the dose becomes the nearest whole steps. Water changes are shares and stay.
    Raises RegimeError for volumes not above zero, ToolError for a dose that its tool cannot give.
    """
    for name, litres in (("from", from_l), ("to", to_l)):
        if not (math.isfinite(litres) and litres > 0):
            raise RegimeError(what=f"scaled {name} {litres:g} L", right="Give net litres above zero.")
    factor = to_l / from_l
    doses, measured = [], []
    for dose in regime.doses:
        scaled, found = _scaled(dose, factor, (tools or {}).get(dose.of))
        doses.append(scaled)
        measured.append(found)
    step = Step("factor for every dose", f"{to_l:.4g} L / {from_l:.4g} L", f"{factor:.4g}", "the same mg/L")
    return ScaledRegime(replace(regime, doses=tuple(doses)), tuple(measured), (step,))


def _scaled(dose: PlannedDose, factor: float, tool: Tool | None) -> tuple[PlannedDose, Measured | None]:
    amount, unit = (dose.g, "g") if dose.g is not None else (dose.ml or 0.0, "mL")
    wanted = amount * factor
    if tool is None:
        written, found = f"{wanted:.4g} {unit}", None
    else:
        if tool.unit != unit:
            right = f"Name a tool that measures {unit}."
            raise RegimeError(what=f"{dose.of} is dosed in {unit}, its tool gives {tool.unit}", right=right)
        found = measurable(wanted, tool)
        wanted, written = found.amount, found.written
    ml, g = (None, wanted) if unit == "g" else (wanted, None)
    return replace(dose, ml=ml, g=g, written=written), found
