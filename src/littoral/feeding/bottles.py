"""Bottles: what a keeper doses from, by the millilitre, stroke or drop, or a dry salt by the gram."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta


@dataclass(frozen=True, slots=True)
class Pack:
    """What is bought: `price` in the trial's currency for `content` of `unit`.

    For a ready bottle the unit is "ml"; for a salt that goes into a stock solution, or is dosed dry, it is "g".
    `currency` is a code such as "EUR", "" for the trial's own; `bought` and `keeps_days` say when it came and how long
    it keeps, None where nobody knows.
    """

    content: float
    unit: str
    price: float
    currency: str = ""
    bought: date | None = None
    keeps_days: int | None = None

    @property
    def spoils_on(self) -> date | None:
        """The first day it no longer keeps; None where that is not known."""
        if self.bought is None or self.keeps_days is None:
            return None
        return self.bought + timedelta(days=self.keeps_days)


@dataclass(frozen=True, slots=True)
class Recommended:
    """What the label recommends: `ml` per `per_l` litres of tank, every `days` days."""

    ml: float
    per_l: float
    days: float


@dataclass(frozen=True, slots=True)
class Bottle:
    """A bottle of fertiliser, bought or mixed; or a dry salt.

    `content_mg_per_ml` is the mass of each nutrient in one mL (`chemistry.nutrients` keys); for a dry salt
    `content_mg_per_g` holds it per gram and the other is empty. `salts_g` is what the stock was weighed from, made up
    to `made_up_to_ml`; `dry_formula` is the salt that is dosed dry ("": none is). `packs` holds what is bought, keyed
    by "bottle" or by salt formula. Of a stock, `made_on` is the day it was mixed, `keeps_days` how long its maker keeps
    it (None: as common practice says), `coldest_celsius` the coldest it is kept at, °C.
    """

    key: str
    name: str
    content_mg_per_ml: Mapping[str, float] = field(default_factory=dict)
    content_mg_per_g: Mapping[str, float] = field(default_factory=dict)
    salts_g: Mapping[str, float] = field(default_factory=dict)
    made_up_to_ml: float | None = None
    dry_formula: str = ""
    stroke_ml: float | None = None
    drop_ml: float | None = None
    recommended: Recommended | None = None
    packs: Mapping[str, Pack] = field(default_factory=dict)
    made_on: date | None = None
    keeps_days: int | None = None
    coldest_celsius: float | None = None

    def salts(self) -> tuple[str, ...]:
        """Return the formulas of the salts that are handled for this bottle, weighed in or dosed dry."""
        return (*self.salts_g, *([self.dry_formula] if self.dry_formula else []))
