"""Net volume: what is left for water when substrate, stone and wood are in the glass."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

from littoral.errors import LittoralError


@dataclass(frozen=True, slots=True)
class Vessel:
    """A tank's glass, inside, and what stands in it. Lengths in cm, masses in kg, densities in kg per litre.

    `fill_cm` is the water's height over the bottom glass, so it includes the substrate. `net_l`, where given, was
    measured and overrides the geometry.
    """

    length_cm: float
    width_cm: float
    height_cm: float
    fill_cm: float
    substrate_cm: float = 0.0
    substrate_porosity: float = 0.4
    stone_kg: float = 0.0
    stone_density: float = 2.65
    wood_l: float = 0.0
    net_l: float | None = None


class VolumeError(LittoralError):
    """A tank's measures cannot be; `what` says which, `right` what would do."""

    def __init__(self, *, what: str, right: str) -> None:
        self.what = what
        self.right = right
        super().__init__(f"tank volume: {what}. {right}")


def net_volume_l(vessel: Vessel) -> float:
    """Return the litres of water in a tank: glass up to the fill, less what substrate, stone and wood displace.

    Substrate displaces its bulk volume times (1 - porosity), since its pores hold water; stone its mass over its
    density (2.65 kg/L is quartz); wood the litres stated. Stone and wood are taken to be under water and on top of the
    substrate, not buried in it. A measured `net_l` overrides all of it.
    Raises VolumeError where the measures contradict each other.
    """
    for field in fields(vessel):
        value = getattr(vessel, field.name)
        if value is not None and not (math.isfinite(value) and value >= 0):
            raise VolumeError(what=f"{field.name} is {value:g}", right="Give a measure of zero or more.")
    for name in ("length_cm", "width_cm", "height_cm", "fill_cm", "stone_density"):
        if getattr(vessel, name) == 0:
            raise VolumeError(what=f"{name} is 0", right="Measure it inside the glass.")
    if vessel.fill_cm > vessel.height_cm:
        what = f"filled to {vessel.fill_cm:g} cm, but the glass is {vessel.height_cm:g} cm high"
        raise VolumeError(what=what, right="Measure both from the inside of the bottom glass.")
    if vessel.substrate_cm > vessel.fill_cm:
        what = f"substrate of {vessel.substrate_cm:g} cm is higher than the water ({vessel.fill_cm:g} cm)"
        raise VolumeError(
            what=what, right="The fill height counts from the bottom glass, so it includes the substrate."
        )
    if vessel.substrate_porosity >= 1:
        what = f"substrate porosity {vessel.substrate_porosity:g}"
        raise VolumeError(what=what, right="It is the share of pores, below 1; sand and gravel have about 0.4.")
    base_l_per_cm = vessel.length_cm * vessel.width_cm / 1000.0
    filled_l = base_l_per_cm * vessel.fill_cm
    substrate_l = base_l_per_cm * vessel.substrate_cm * (1.0 - vessel.substrate_porosity)
    displaced_l = substrate_l + vessel.stone_kg / vessel.stone_density + vessel.wood_l
    net_l = filled_l - displaced_l if vessel.net_l is None else vessel.net_l
    if not 0 < net_l <= filled_l * (1 + 1e-9):
        if vessel.net_l is not None:
            what = f"a measured net volume of {net_l:g} L in glass that holds {filled_l:.4g} L up to the water"
            raise VolumeError(what=what, right="Look at the units of the measures.")
        what = f"substrate, stone and wood take {displaced_l:.4g} L of {filled_l:.4g} L"
        raise VolumeError(what=what, right="Look at the units of the measures.")
    return net_l
