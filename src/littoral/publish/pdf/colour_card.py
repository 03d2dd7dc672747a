"""A card of three neutral fields to print, seal and stand in the water, several to a sheet with instructions."""

from __future__ import annotations

from littoral.publish.pdf.papers import PAPERS, Paper
from littoral.publish.pdf.setting import set_pdf

FIELDS = (("dark", 0.044), ("grey", 0.18), ("white", 1.0))
"""The fields and the share of light each is meant to reflect: far apart on a phone's tone curve; 18 % is the usual
photographic grey (common practice, no source). What a printer makes of them is its own."""


def colour_card_pdf(paper: Paper) -> bytes:
    """Return the sheet as a PDF, the same bytes for the same paper. MissingExtraError without typst."""
    fields = [{"name": name, "fill": srgb_hex(share), "rgb": str(srgb_byte(share))} for name, share in FIELDS]
    data = {"paper": PAPERS[paper], "fields": fields}
    return set_pdf("colour_card.typ", data, what="the card does not fit", right="Print it on A4 or Letter.")


def srgb_byte(share: float) -> int:
    """Return the sRGB value (0 to 255) of a neutral that reflects `share` (0 to 1) of the light, IEC 61966-2-1."""
    coded = 12.92 * share if share <= 0.0031308 else 1.055 * share ** (1 / 2.4) - 0.055
    return round(255 * coded)


def srgb_hex(share: float) -> str:
    """Return that neutral as "#rrggbb"."""
    return "#" + f"{srgb_byte(share):02x}" * 3
