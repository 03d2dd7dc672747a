"""Drawing a chart's specification as SVG, PNG or PDF, without a browser and without the network."""

from __future__ import annotations

import html
import io
import re
from collections.abc import Mapping
from types import ModuleType
from typing import Any

from littoral.errors import LittoralError, extras_needed


class DrawError(LittoralError):
    """A specification could not be drawn; the message carries the renderer's own words."""

    def __init__(self, why: str) -> None:
        super().__init__(f"A chart could not be drawn: {why}. Its specification must be valid Vega-Lite.")


def to_svg(spec: Mapping[str, Any]) -> str:
    """Return the chart as SVG text in the specification's own pixels; the same specification gives the same text.

    Ids inside are numbered from 0 in each drawing: a page that holds several must give each its own prefix (see
    `inline_svg`). Raises DrawError where the specification is not Vega-Lite, MissingExtraError without the library.
    """
    vl_convert = _renderer()
    try:
        return _renumbered(str(vl_convert.vegalite_to_svg(dict(spec), allowed_base_urls=[])), "part")
    except ValueError as error:
        raise DrawError(str(error).strip().splitlines()[0]) from error


def to_png(spec: Mapping[str, Any], scale: float = 2.0) -> bytes:
    """Return the chart as PNG bytes, `scale` device pixels to each pixel of the specification.

    Raises DrawError where the specification is not Vega-Lite, MissingExtraError without the library.
    """
    vl_convert = _renderer()
    try:
        return bytes(vl_convert.vegalite_to_png(dict(spec), scale=scale, allowed_base_urls=[]))
    except ValueError as error:
        raise DrawError(str(error).strip().splitlines()[0]) from error


def png_of_svg(svg: str, *, scale: float) -> bytes:
    """Return an SVG drawing of `to_svg` as PNG bytes, `scale` device pixels to each of its own. DrawError."""
    vl_convert = _renderer()
    try:
        return bytes(vl_convert.svg_to_png(svg, scale=scale))
    except ValueError as error:
        raise DrawError(str(error).strip().splitlines()[0]) from error


@extras_needed()
def svg_to_pdf(svg: str) -> bytes:
    """Return a drawing of `to_svg` as a PDF of one page: lines and text, its fonts within. MissingExtraError.

    The renderer writes objects and names of resources in any order; written anew in one, the same drawing gives the
    same bytes.
    """
    from pypdf import PdfReader, PdfWriter

    page = PdfReader(io.BytesIO(_renderer().svg_to_pdf(svg))).pages[0]
    _sort_resources(page)
    writer = PdfWriter()
    writer.add_page(page)
    buffer = io.BytesIO()
    writer.write(buffer)
    return buffer.getvalue()


def _sort_resources(of: Any) -> None:
    """Sort the names of a page's or a form's resources, and those of the forms among them."""
    for named in of.get("/Resources", {}).values():
        named = named.get_object()
        if not isinstance(named, dict):
            continue
        kept = sorted(named.items())
        named.clear()
        named.update(kept)
        for one in named.values():
            if isinstance(form := one.get_object(), dict) and "/Resources" in form:
                _sort_resources(form)


def _renderer() -> ModuleType:
    with extras_needed():
        import vl_convert
    return vl_convert


def inline_svg(svg: str, *, prefix: str, alt: str) -> str:
    """Return an SVG drawing ready to stand inside a page: ids of its own, `alt` as its name, free to shrink."""
    head, body = _renumbered(svg, prefix).split(">", 1)
    box = re.search(r'viewBox="[^"]+"', head)
    assert box is not None, "the renderer always writes a viewBox"
    name = html.escape(alt)
    return f'<svg xmlns="http://www.w3.org/2000/svg" {box.group()} role="img" aria-label="{name}">{body}'


def _renumbered(svg: str, prefix: str) -> str:
    """Return the drawing with its ids numbered from 0; the renderer numbers them on from call to call."""
    for place, name in enumerate(dict.fromkeys(re.findall(r'\bid="([^"]+)"', svg))):
        svg = svg.replace(f'id="{name}"', f'id="{prefix}-{place}"').replace(f"url(#{name})", f"url(#{prefix}-{place})")
    return svg
