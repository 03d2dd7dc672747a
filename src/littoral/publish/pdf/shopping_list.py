"""A shopping list on A4, with boxes to tick."""

from __future__ import annotations

from dataclasses import asdict, dataclass

from littoral.publish.pdf.setting import set_pdf


@dataclass(frozen=True, slots=True)
class ShoppingRow:
    """One line: what, how many packs, how much is needed, at what price ("": none known), by when, and why then."""

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


def shopping_pdf(shopping: ShoppingList) -> bytes:
    """Return the list as a PDF on A4, the same bytes for the same list; long ones go on over pages.

    Raises MissingExtraError without typst.
    """
    return set_pdf("shopping_list.typ", asdict(shopping), what="the list does not fit", right="Shorten its names.")
