"""How somebody wants to be spoken to: the language, and the unit of each kind of amount.

The manner in force is a context variable: each request, command and thread has its own. Until somebody chooses, it is
English with metric units, which is also what files, packages and JSON for programs are always written in.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar, copy_context
from dataclasses import dataclass, fields, replace
from typing import ParamSpec, TypeVar

LANGUAGES: Mapping[str, str] = {"en": "English", "de": "Deutsch"}
"""The languages with a whole catalogue, each by its own name."""
PSEUDO = "bracketed"
"""A made-up language of the tests: English with ⟦brackets⟧ around all that went through a catalogue."""
UNITS: Mapping[str, tuple[str, ...]] = {
    "volume": ("L", "gal", "imp gal"),
    "dose": ("mL", "fl oz"),
    "temperature": ("°C", "°F"),
    "length": ("cm", "in"),
    "mass": ("g", "oz"),
    "hardness": ("dGH", "ppm CaCO3", "mmol/L"),
}
"""The units offered for each kind of amount; the first is what is used until somebody chooses."""
WEEK_STARTS = ("monday", "sunday", "saturday")
"""The days a week may begin on; Monday (ISO 8601) until somebody chooses."""

P = ParamSpec("P")
R = TypeVar("R")


@dataclass(frozen=True, slots=True)
class Manner:
    """A language (a key of LANGUAGES) and a unit of UNITS per kind; `week_start` is one of WEEK_STARTS."""

    language: str = "en"
    volume: str = "L"
    dose: str = "mL"
    temperature: str = "°C"
    length: str = "cm"
    mass: str = "g"
    hardness: str = "dGH"
    week_start: str = "monday"


PLAIN = Manner()
"""English and metric: the manner of files, packages and JSON."""
NAMES = tuple(one.name for one in fields(Manner))
_manner: ContextVar[Manner] = ContextVar("littoral_manner", default=PLAIN)


def manner() -> Manner:
    """Return the manner in force."""
    return _manner.get()


def cldr_language() -> str:
    """Return the language in force whose dates and numbers are written: English for one that is not of ours."""
    language = manner().language
    return language if language in LANGUAGES and language != PSEUDO else "en"


@contextmanager
def speaking(chosen: Manner) -> Iterator[None]:
    """Speak in a manner inside the `with`, and as before after it."""
    token = _manner.set(chosen)
    try:
        yield
    finally:
        _manner.reset(token)


def keeping_manner(work: Callable[P, R]) -> Callable[P, R]:
    """Return work that a thread of a pool does in the manner that is in force now."""
    context = copy_context()

    def done(*args: P.args, **kwargs: P.kwargs) -> R:
        return context.copy().run(work, *args, **kwargs)

    return done


def changed(before: Manner, said: Mapping[str, str]) -> Manner:
    """Return a manner with what is said put in; what is unknown, or no choice of its kind, is left as it was."""
    return replace(before, **{name: value for name, value in said.items() if is_choice(name, value)})


def is_choice(name: str, value: str) -> bool:
    """Tell whether a value is one that may be chosen for a part of the manner."""
    if name == "language":
        return value in LANGUAGES
    if name == "week_start":
        return value in WEEK_STARTS
    return value in UNITS.get(name, ())


def different(chosen: Manner, beside: Manner = PLAIN) -> dict[str, str]:
    """Return the parts of a manner that differ from another's, by name."""
    return {name: getattr(chosen, name) for name in NAMES if getattr(chosen, name) != getattr(beside, name)}


def language_of_header(accepted: str) -> str | None:
    """Return the language of ours that an Accept-Language header (RFC 9110, 12.5.4) likes best; None for none."""
    liked: list[tuple[float, int, str]] = []
    for place, part in enumerate(accepted[:400].split(",")):
        tag, _, rest = part.strip().partition(";")
        try:
            quality = float(rest.partition("=")[2]) if rest else 1.0
        except ValueError:
            continue
        language = tag.strip().lower().partition("-")[0]
        if language in LANGUAGES and 0 < quality <= 1:
            liked.append((-quality, place, language))
    return min(liked)[2] if liked else None
