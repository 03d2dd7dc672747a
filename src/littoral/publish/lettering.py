"""Lettering in pictures: a typeface that holds every character asked for, cut to a width."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from functools import lru_cache

from PIL import ImageFont

Font = ImageFont.FreeTypeFont
NOT_A_CHARACTER = "\uffff"
NO_BREAK = "\u00a0"
SYSTEM_FACES = ("LiberationSans-Regular.ttf", "DejaVuSans.ttf", "Arial.ttf", "arial.ttf", "Arial Unicode.ttf")
"""Tried, in this order, where the typeface that Pillow carries lacks a character (it has no accented letters)."""


class Lettering:
    """One typeface for all texts of a film: Pillow's own where it has every character, else one of the system's.

    Where neither has, accents are taken off, for a film without a letter's accent is better than one with a box.
    """

    def __init__(self, texts: Iterable[str]) -> None:
        characters = {character for text in texts for character in text if not character.isspace()}
        self._face = next((face for face in (None, *SYSTEM_FACES) if _holds(face, characters)), None)
        self._plain = not _holds(self._face, characters)

    def font(self, size_px: int) -> Font:
        """Return the typeface at a size in pixels."""
        font = _font(self._face, size_px)
        assert font is not None, "the face was found when it was chosen"
        return font

    def said(self, text: str) -> str:
        """Return `text` as it will be written: no-break spaces as spaces, accents only where the typeface has them."""
        text = text.replace(NO_BREAK, " ")
        if not self._plain:
            return text
        return "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))

    def cut(self, text: str, *, size_px: int, width_px: float) -> str:
        """Return `text`, with its end replaced by "..." where it is wider than `width_px`."""
        font = self.font(size_px)
        text = self.said(text)
        if font.getlength(text) <= width_px:
            return text
        while text and font.getlength(text + "...") > width_px:
            text = text[:-1]
        return text.rstrip(" ,;") + "..."

    def lines(self, text: str, *, size_px: int, width_px: float, most: int) -> list[str]:
        """Return `text` broken between words into at most `most` lines of `width_px`; the last one is cut."""
        font = self.font(size_px)
        words = [self.said(word) for word in text.split(" ")]  # not at no-break spaces
        lines: list[str] = []
        while words and len(lines) < most - 1:
            n = 1
            while n < len(words) and font.getlength(" ".join(words[: n + 1])) <= width_px:
                n += 1
            lines.append(self.cut(" ".join(words[:n]), size_px=size_px, width_px=width_px))
            words = words[n:]
        if words:
            lines.append(self.cut(" ".join(words), size_px=size_px, width_px=width_px))
        return lines


@lru_cache(maxsize=64)
def _font(face: str | None, size_px: int) -> Font | None:
    if face is None:
        font = ImageFont.load_default(size_px)
        return font if isinstance(font, ImageFont.FreeTypeFont) else None
    try:
        return ImageFont.truetype(face, size_px)
    except OSError:
        return None


def _holds(face: str | None, characters: Iterable[str]) -> bool:
    """Say whether a typeface is there and draws none of `characters` as the box for what it lacks."""
    font = _font(face, 40)
    if font is None:
        return False
    box = bytes(font.getmask(NOT_A_CHARACTER))
    return all(bytes(font.getmask(character)) != box for character in characters)
