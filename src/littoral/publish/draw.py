"""Drawing a chart's specification as SVG text or PNG bytes, without a browser and without the network."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from littoral.errors import LittoralError


class DrawError(LittoralError):
    """A specification could not be drawn; the message carries the renderer's own words."""

    def __init__(self, why: str) -> None:
        super().__init__(f"A chart could not be drawn: {why}. Its specification must be valid Vega-Lite.")


def to_svg(spec: Mapping[str, Any]) -> str:
    """Return the chart as SVG text in the specification's own pixels.

    Ids inside are numbered from 0 in each drawing: a page that holds several must give each its own prefix (see
    `inline_svg`). Raises DrawError where the specification is not Vega-Lite.
    """
    import vl_convert

    try:
        return str(vl_convert.vegalite_to_svg(dict(spec), allowed_base_urls=[]))
    except ValueError as error:
        raise DrawError(str(error).strip().splitlines()[0]) from error


def to_png(spec: Mapping[str, Any], scale: float = 2.0) -> bytes:
    """Return the chart as PNG bytes, `scale` device pixels to each pixel of the specification.

    Raises DrawError where the specification is not Vega-Lite.
    """
    import vl_convert

    try:
        return bytes(vl_convert.vegalite_to_png(dict(spec), scale=scale, allowed_base_urls=[]))
    except ValueError as error:
        raise DrawError(str(error).strip().splitlines()[0]) from error
