"""What building water takes and gives."""

from __future__ import annotations

from dataclasses import dataclass

from littoral.acts.mix_and_feed.figures import Figure, Pairs
from littoral.acts.mix_and_feed.mix_form import WeighLine
from littoral.quantities.check_row import CheckRow
from littoral.quantities.derivation import Step

START_FROM = ("pure water", "this water", "mixture")


@dataclass(frozen=True, slots=True)
class WaterForm:
    """A source water's report, and the water wanted; text with units, empty where not known.

    `levels` are of the report, as the ion: ("nitrate", "12 mg/L"). `volume` is what to build, out of `start_from`:
    "pure water", "this water", or a "mixture" that holds `share` of this water (empty: as much as the target bears).
    `shelf` are salts to build with and the step each is measured in: ("CaSO4·2H2O", "0.1 g"); `purity` is of those
    that are not pure: ("KHCO3", "98 %"). An empty `target_gh` builds nothing. `target_ratio` is mg of calcium to one
    of magnesium.
    """

    levels: Pairs = (
        ("calcium", "60 mg/L"),
        ("magnesium", "8 mg/L"),
        ("potassium", "3 mg/L"),
        ("nitrate", "12 mg/L"),
        ("phosphate", "0.1 mg/L"),
    )
    hardness: str = ""
    alkalinity: str = "7 dKH"
    ph: str = "7.4"
    ph_error: str = "0.1"
    temperature: str = "24 °C"
    conductivity: str = ""
    altitude: str = "0 m"
    target_gh: str = "6 dGH"
    target_kh: str = "3 dKH"
    target_ratio: str = "3"
    volume: str = "20 L"
    start_from: str = "pure water"
    share: str = ""
    shelf: Pairs = (("CaSO4·2H2O", "0.1 g"), ("MgSO4·7H2O", "0.1 g"), ("KHCO3", "0.1 g"))
    purity: Pairs = ()


@dataclass(frozen=True, slots=True)
class UnitLine:
    """One quantity in one unit: hardness in German degrees, say."""

    unit: str
    figure: Figure


@dataclass(frozen=True, slots=True)
class IonLine:
    """One ion of a water: its level in mg/L, and its charge in meq/L and share of its side where a balance is known."""

    nutrient: str
    name: str
    level: Figure
    charge: Figure | None
    share: Figure | None
    trap: str


@dataclass(frozen=True, slots=True)
class GasLine:
    """A gas or pH of a water: `interval` is "" where none is known; `beside` a figure shown for comparison."""

    key: str
    name: str
    figure: Figure
    interval: str
    beside: str


@dataclass(frozen=True, slots=True)
class Water:
    """The picture of one water. Hardness and alkalinity are empty where the report leaves them open.

    `limit_steps` derive each limit in `limits`, by its name.
    """

    hardness: tuple[UnitLine, ...]
    alkalinity: tuple[UnitLine, ...]
    ratio: Figure | None
    ions: tuple[IonLine, ...]
    balance: Figure | None
    gases: tuple[GasLine, ...]
    checks: tuple[CheckRow, ...]
    limits: tuple[CheckRow, ...]
    limit_steps: tuple[Step, ...] = ()


@dataclass(frozen=True, slots=True)
class Blend:
    """How much of this water and of pure water make the volume with a hardness or alkalinity wanted, without any salt.

    `what` is "hardness" or "alkalinity", `wanted` and `holds` the target and this water's. `this_water` and
    `pure_water` are litres, None where no mixture has it: `why_not` says why. `other` is what the mixture has of the
    other of the two, named `other_what`; None where this water's is not known.
    """

    what: str
    wanted: Figure
    holds: Figure
    this_water: Figure | None
    pure_water: Figure | None
    other_what: str
    other: Figure | None
    why_not: str


@dataclass(frozen=True, slots=True)
class Built:
    """What to weigh into how much of which water, and what it makes. `mixing` is None where no waters are mixed."""

    volume: Figure
    mixing: Figure | None
    weigh_out: tuple[WeighLine, ...]
    water: Water
    checks: tuple[CheckRow, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BuiltWater:
    """The report made whole, and the water built; None where no target was given.

    `blends` are mixtures with pure water, for the hardness wanted and for the alkalinity, of what this water states.
    """

    source: Water
    built: Built | None
    cautions: tuple[str, ...]
    blends: tuple[Blend, ...] = ()
