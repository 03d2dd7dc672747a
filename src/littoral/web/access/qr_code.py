"""QR codes (ISO/IEC 18004) for the page and the terminal, where segno is installed; nothing without it."""

from __future__ import annotations

import io
from importlib.util import find_spec

HAS_SEGNO = find_spec("segno") is not None
"""It comes with the extra `print`; without it an address can be typed as well."""


def qr_svg(text: str) -> str:
    """Return a QR code as an SVG element, dark on white in either theme; "" without segno or for an empty text."""
    if not text or not HAS_SEGNO:
        return ""
    import segno

    return segno.make(text, error="m", micro=False).svg_inline(
        scale=6, border=4, dark="#000", light="#fff", svgclass="qr", lineclass=None, omitsize=True
    )


def qr_lines(text: str) -> str:
    """Return a QR code of block characters for a terminal; "" without segno."""
    if not text or not HAS_SEGNO:
        return ""
    import segno

    out = io.StringIO()
    segno.make(text, error="l", micro=False).terminal(out, compact=True, border=2)
    return out.getvalue()
