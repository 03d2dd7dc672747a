"""Give a card of neutral fields to print for the water."""

from __future__ import annotations

from pathlib import Path

from littoral.logbook.whole_files import write_whole
from littoral.publish.pdf.colour_card import colour_card_pdf
from littoral.publish.pdf.papers import paper_named


def give_colour_card(*, paper: str = "a4", out: Path | None = None) -> bytes:
    """Return the card's sheet as a PDF; with `out` it is written there as well.

    Raises FaultsError for a paper that is not there, UnwrittenFileError, MissingExtraError.
    """
    made = colour_card_pdf(paper_named(paper))
    if out is not None:
        write_whole(out, made)
    return made
