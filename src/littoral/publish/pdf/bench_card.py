"""A card for the bench: what is planned in one tank for a fortnight, with boxes to tick and codes that open the pages.

One page for each tank, for A4 or Letter. It serves where no phone is at hand; what is ticked is written down later.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from io import BytesIO

from littoral.errors import extras_needed
from littoral.publish.pdf.papers import PAPERS, Paper
from littoral.publish.pdf.setting import set_pdf

DAYS = 14


@dataclass(frozen=True, slots=True)
class CardDay:
    """One date of a card: in words ("Mon 9 Mar"), the day of the trial, and what is planned ("18:00", words)."""

    date: str
    day: int
    tasks: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class CardCode:
    """A code to scan: what it opens in words, and the address."""

    words: str
    address: str


@dataclass(frozen=True, slots=True)
class BenchCard:
    """One tank's card. All text is ready to print; `codes` may be empty where no address is known."""

    tank: str
    arm: str
    title: str
    made_on: str
    span: str
    days: tuple[CardDay, ...]
    codes: tuple[CardCode, ...]


@extras_needed()
def bench_cards_pdf(cards: Sequence[BenchCard], paper: Paper) -> bytes:
    """Return the cards as a PDF, a page for each, the same bytes for the same cards; long plans go on over pages.

    Raises MissingExtraError without typst or segno.
    """
    import segno

    pictures: list[str] = []
    data = []
    for card in cards:
        numbers = []
        for code in card.codes:
            buffer = BytesIO()
            made = segno.make_qr(code.address, error="m", boost_error=False)
            made.save(buffer, kind="svg", border=4, xmldecl=False, nl=False)
            numbers.append({"words": code.words, "picture": len(pictures)})
            pictures.append(buffer.getvalue().decode())
        data.append({**asdict(card), "codes": numbers})
    return set_pdf(
        "bench_card.typ",
        {"paper": PAPERS[paper], "cards": data},
        what="the bench card does not fit",
        right="Shorten its names.",
        pictures=tuple(pictures),
    )
