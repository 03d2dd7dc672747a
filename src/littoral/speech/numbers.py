"""Numbers as the language in force writes them: its decimal sign, thousands parted by a thin space, a true minus.

English is left exactly as Python writes it. A thin space parts thousands elsewhere (ISO 80000-1, 7.3.1), because a
point or a comma there is read as a decimal sign by somebody else.
"""

from __future__ import annotations

import re
from functools import cache

from littoral.speech.manner import cldr_language

MINUS = "\u2212"
THIN = "\u202f"
_NUMERAL = re.compile(
    r"(?<![\w.,/^])[-−+]?(?:\d{1,3}(?:,\d{3})+(?=\.\d)|\d+)(?:\.\d+)?(?:e[-+]?\d+)?(?![\w.]*\d|\.?[^\W\d]|,\d|/[^\W\d])"
)


@cache
def decimal_sign(language: str) -> str:
    """Return a language's decimal sign, from the CLDR."""
    if language == "en":
        return "."
    from babel.numbers import get_decimal_symbol

    return str(get_decimal_symbol(language))


def numeral(text: str) -> str:
    """Return one number that Python wrote ("-1,234.5") as the language in force writes it."""
    language = cldr_language()
    if language == "en":
        return text
    whole, point, rest = text.partition(".")
    return f"{whole.replace(',', THIN)}{decimal_sign(language) if point else ''}{rest}".replace("-", MINUS)


def numerals(text: str) -> str:
    """Return a text with every decimal number in it written as the language in force does, however often it is asked.

    Dates, versions and names of files stay, and so does what already has a decimal comma.
    """
    if cldr_language() == "en":
        return text
    return _NUMERAL.sub(lambda found: numeral(found[0]), text)


def number(value: float, spec: str = "g") -> str:
    """Return a number formatted by Python's `spec`, written as the language in force does."""
    return numeral(format(value, spec))
