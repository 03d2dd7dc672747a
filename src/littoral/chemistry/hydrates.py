"""Swapping one hydrate for another: the same salt, another mass."""

from __future__ import annotations

import math

from littoral.chemistry.salts import Salt, salt, salts
from littoral.chemistry.solubility import anhydrous_of
from littoral.errors import LittoralError
from littoral.quantities.derivation import Step


class HydrateError(LittoralError):
    """One salt cannot take the place of the other."""

    def __init__(self, *, what: str, right: str) -> None:
        self.what = what
        self.right = right
        super().__init__(f"hydrate swap: {what}. {right}")


def hydrate_swap(mass_g: float, *, from_: str, to: str) -> float:
    """Return the mass in g of one hydrate that brings as much as `mass_g` of another hydrate of the same salt.

    "MgSO4·7H2O" to "MgSO4 anhydrous": times 0.4884. Raises UnknownSaltError (a bare "MgSO4" is asked about);
    HydrateError for another salt or a mass that cannot be.
    """
    given, wanted = _pair(mass_g, from_, to)
    return mass_g * wanted.weight / given.weight


def hydrate_swap_steps(mass_g: float, *, from_: str, to: str) -> tuple[Step, ...]:
    """Return how `hydrate_swap` came about. Raises the same."""
    given, wanted = _pair(mass_g, from_, to)
    formula = f"{mass_g:g} g × {wanted.weight:.3f} / {given.weight:.3f} g/mol"
    result = f"{mass_g * wanted.weight / given.weight:.4g} g {wanted.key}"
    return (Step(f"{wanted.key} for {given.key}", formula, result, "standard atomic weights"),)


def hydrates_of(text: str) -> tuple[Salt, ...]:
    """Return every form of a salt that the table knows, itself included. Raises UnknownSaltError."""
    bare = anhydrous_of(salt(text).formula)
    return tuple(one for one in salts().values() if anhydrous_of(one.formula) == bare)


def _pair(mass_g: float, from_: str, to: str) -> tuple[Salt, Salt]:
    if not (math.isfinite(mass_g) and mass_g >= 0):
        raise HydrateError(what=f"{mass_g:g} g", right="Give a mass of zero or more.")
    given, wanted = salt(from_), salt(to)
    if anhydrous_of(given.formula) != anhydrous_of(wanted.formula):
        what = f"{given.key} and {wanted.key} are not hydrates of one salt"
        raise HydrateError(what=what, right="To replace one salt by another, weigh out for a target instead.")
    return given, wanted
