"""Every amount and number that a page shows, in the visitor's units and with the decimal sign of the language.

One pass over the finished HTML, so that no page and no sentence can be forgotten, and none is turned twice. What fields
hold is left as it is (it is sent back), and so is what somebody typed, names of a trial, sources, and code.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from html import escape
from typing import Any

from littoral.quantities.preferred import amounts
from littoral.speech.manner import PLAIN, manner
from littoral.speech.numbers import numerals
from littoral.trial.model import Trial

_PARTS = re.compile(
    r"(?P<left><!--.*?-->|<(script|style|textarea|select|datalist|code|kbd|pre|cite|q|title)\b.*?</\2\s*>)"
    r"|(?P<reckoned><span class=\"(?:formula|result)\">[^<]*</span>)|(?P<tag><[^<>]*>)",
    re.DOTALL | re.IGNORECASE,
)
_SAID_IN_TAGS = re.compile(r"(?<=\s)((?:aria-label|title|alt)=\")([^\"]*)")


def in_visitors_units(html: str, *, own: Iterable[str] = ()) -> str:
    """Return a page or a part of one as the visitor reads it; `own` are names that stay as somebody wrote them.

    A derivation ("why?") stays in the units it was reckoned in, so that its lines agree; only its numbers are written
    in the language's way.
    """
    if manner() == PLAIN:
        return html
    kept = [re.escape(escape(name)) for name in sorted(set(own), key=len, reverse=True) if amounts(name) != name]
    named = re.compile(f"({'|'.join(kept)})") if kept else None
    done, at = [], 0
    for part in _PARTS.finditer(html):
        done.append(_text(html[at : part.start()], named))
        done.append(_tag(part, named))
        at = part.end()
    return "".join((*done, _text(html[at:], named)))


def own_words(values: Iterable[Any]) -> Iterator[str]:
    """Yield the names that somebody gave, of the trials among what a page is filled with."""
    for value in values:
        trial = value if isinstance(value, Trial) else getattr(value, "trial", None)
        if isinstance(trial, Trial):
            yield from (trial.title, trial.factor)
            yield from (arm.name for arm in trial.arms)
            yield from (tank.name for tank in trial.tanks.values())
            yield from (bottle.name for bottle in trial.bottles.values())


def _text(text: str, named: re.Pattern[str] | None) -> str:
    if named is None:
        return amounts(text)
    return "".join(part if place % 2 else amounts(part) for place, part in enumerate(named.split(text)))


def _tag(part: re.Match[str], named: re.Pattern[str] | None) -> str:
    if part["left"]:
        return part[0]
    if part["reckoned"]:
        start, end = part[0].index(">") + 1, part[0].rindex("<")
        return f"{part[0][:start]}{numerals(part[0][start:end])}{part[0][end:]}"
    return _SAID_IN_TAGS.sub(lambda found: found[1] + _text(found[2], named), part[0])
