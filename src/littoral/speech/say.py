"""Saying a sentence in the language in force: gettext with whole sentences as keys, the English ones.

`say("{name} was watered", name=…)` is found by `make words` and stands in the catalogue as it is written here. Numbers
among what is put in are written in the language's manner. Where a catalogue lacks a sentence, it is said in English.
"""

from __future__ import annotations

import gettext
from collections.abc import Sized
from functools import cache
from importlib.resources import files
from string import Formatter
from typing import Any, Protocol

from littoral.speech.manner import PSEUDO, manner
from littoral.speech.numbers import numeral


class Catalogue(Protocol):
    """What a language's sentences are looked up in."""

    def gettext(self, message: str) -> str:
        """Return a sentence in the catalogue's language."""
        ...

    def ngettext(self, one: str, many: str, n: int) -> str:
        """Return the form of a sentence that goes with a number."""
        ...


class _Bracketed:
    def gettext(self, message: str) -> str:
        return f"⟦{message}⟧"

    def ngettext(self, one: str, many: str, n: int) -> str:
        return f"⟦{one if n == 1 else many}⟧"


class _Localised(Formatter):
    """Puts values into a sentence; a number with the decimal sign of the language in force."""

    def format_field(self, value: Any, format_spec: str) -> Any:
        text = super().format_field(value, format_spec)
        return numeral(text) if isinstance(value, int | float) and not isinstance(value, bool) else text


_PUT_IN = _Localised()


@cache
def _catalogue(language: str) -> Catalogue:
    if language == PSEUDO:
        return _Bracketed()
    compiled = files(__package__).joinpath("catalogues", f"{language}.mo")
    if not compiled.is_file():
        return gettext.NullTranslations()
    with compiled.open("rb") as file:
        return gettext.GNUTranslations(file)


def translated(message: str) -> str:
    """Return a sentence in the language in force, with its {names} as they are; "" stays ""."""
    return _catalogue(manner().language).gettext(message) if message else ""


def translated_n(one: str, many: str, n: int) -> str:
    """Return the form of a sentence that goes with `n`, in the language in force, with its {names} as they are."""
    return _catalogue(manner().language).ngettext(one, many, n)


def say(sentence: str, /, **names: Any) -> str:
    """Return a whole sentence in the language in force, with `names` put in.

    KeyError where a name is missing. Without names nothing is put in, so braces stand for themselves.
    """
    found = translated(sentence)
    return _PUT_IN.vformat(found, (), names) if names else found


def say_n(one: str, many: str, /, n: int, **names: Any) -> str:
    """Return the one of two sentences that goes with the number `n`, which is put in as {n}."""
    return _PUT_IN.vformat(translated_n(one, many, n), (), {"n": n, **names})


def later(sentence: str) -> str:
    """Return a sentence as it is, and mark it for the catalogue: it is said later, where the language is known."""
    return sentence


def counted(number: int | Sized, noun: str) -> str:
    """Return a count and its noun, which is given in the English singular: "1 entry", "2 entries", "0 photos".

    For things that have a length, that is the count. English makes regular plurals only; other languages look the noun
    up, which must stand here as a literal to be found.
    """
    many = number if isinstance(number, int) else len(number)
    return _PUT_IN.vformat(translated_n(*forms_of(noun), many), (), {"n": Thousands(many)})


class Thousands(int):
    """A count that is written with its thousands parted."""

    def __format__(self, spec: str) -> str:
        return super().__format__(spec or ",")


def forms_of(noun: str) -> tuple[str, str]:
    """Return the two English messages that count a noun: "{n} entry" and "{n} entries"."""
    if noun.endswith("y") and noun[-2:-1] not in "aeiou":
        return f"{{n}} {noun}", f"{{n}} {noun[:-1]}ies"
    return f"{{n}} {noun}", f"{{n}} {noun}{'es' if noun.endswith(('s', 'x', 'ch', 'sh')) else 's'}"
