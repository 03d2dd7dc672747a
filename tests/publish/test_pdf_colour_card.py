"""The card to print: one page on each paper, with its fields' greys, what to do with it, and the same bytes again."""

from __future__ import annotations

from io import BytesIO

import numpy as np
import pytest
from pypdf import PdfReader
from skimage.color import rgb2xyz

from littoral.acts.give_colour_card import give_colour_card
from littoral.errors import FaultsError
from littoral.publish.pdf.colour_card import FIELDS, srgb_byte


@pytest.mark.parametrize(("paper", "size"), [("a4", (595, 842)), ("letter", (612, 792))])
def test_one_page_that_says_how_to_seal_place_and_describe_it(paper, size):
    made = give_colour_card(paper=paper)
    (page,) = PdfReader(BytesIO(made)).pages
    assert tuple(round(float(side)) for side in page.mediabox[2:]) == size
    text = " ".join(page.extract_text().split())
    for word in ("watertight", "not known", "reflects", "worse than no card", "animals", *(name for name, _ in FIELDS)):
        assert word in text, word
    assert give_colour_card(paper=paper) == made


@pytest.mark.parametrize(("name", "share"), FIELDS)
def test_each_field_is_the_grey_that_it_is_meant_to_be(name, share):
    """Against scikit-image's sRGB: relative luminance of the printed value, to half a step of 8 bits."""
    of = [float(rgb2xyz(np.full((1, 1, 3), (srgb_byte(share) + by) / 255))[0, 0, 1]) for by in (-0.5, 0, 0.5)]
    assert of[0] <= share + 1e-6
    assert of[2] >= share - 1e-3
    assert of[1] == pytest.approx(share, rel=0.03)


def test_another_paper_is_refused():
    with pytest.raises(FaultsError, match="a4 or letter"):
        give_colour_card(paper="a3")
