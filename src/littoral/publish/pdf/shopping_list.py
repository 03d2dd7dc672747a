"""A shopping list on A4, with boxes to tick."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ShoppingRow:
    """One line: what, how much of it, at what price (""; no pack is known), to be bought by when, needed because."""

    what: str
    packs: str
    amount: str
    price: str
    buy_by: str
    runs_out: str
    overdue: bool


@dataclass(frozen=True, slots=True)
class ShoppingList:
    """A list for one bench: `title`, the day it was made (YYYY-MM-DD), for how long it reckons, and its lines."""

    title: str
    made_on: str
    covers: str
    rows: tuple[ShoppingRow, ...]
    total: str
    notes: tuple[str, ...]
