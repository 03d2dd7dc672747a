"""The pictograms of the Globally Harmonised System, drawn for Littoral: red frame, black symbol, on white."""

from __future__ import annotations

from functools import cache
from importlib import resources

PICTOGRAMS = ("GHS03", "GHS05", "GHS06", "GHS07", "GHS08", "GHS09")
"""Those that fertiliser salts come to; KeyError for another, so that none is ever left off a label unseen."""


@cache
def pictogram(code: str) -> str:
    """Return a pictogram as SVG text by its GHS number, such as "GHS07". Raises KeyError for one that is not drawn."""
    if code not in PICTOGRAMS:
        raise KeyError(code)
    folder = resources.files("littoral.publish.pdf").joinpath("pictograms")
    return folder.joinpath(f"{code}.svg").read_text(encoding="utf-8")
