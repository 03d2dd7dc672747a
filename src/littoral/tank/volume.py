"""Net volume: what is left for water when substrate, stone and wood are in the glass."""

from __future__ import annotations

from dataclasses import dataclass


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
