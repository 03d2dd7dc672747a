from __future__ import annotations

import pytest

from littoral.quantities.counting import counted


@pytest.mark.parametrize(
    ("number", "noun", "said"),
    [
        (0, "photo", "0 photos"),
        (1, "question", "1 question"),
        (1, "entry", "1 entry"),
        (2, "entry", "2 entries"),
        (3, "day", "3 days"),
        (2, "new entry", "2 new entries"),
        (2, "finch", "2 finches"),
        (12_000, "row", "12,000 rows"),
        (["left"], "tank", "1 tank"),
        (("left", "right"), "tank", "2 tanks"),
    ],
)
def test_the_noun_fits_its_number(number, noun, said):
    assert counted(number, noun) == said
