"""Signs on leaves that a keeper noted: an entry of free text that begins with "leaf signs:"."""

from __future__ import annotations

import re
from collections.abc import Sequence

from littoral.chemistry.symptoms import signs
from littoral.trial.days import day_of
from littoral.trial.entries import Entry, Note
from littoral.trial.model import Trial

RECENT_DAYS = 21.0
"""Older leaves tell of older water: signs noted before that are left out (common practice, no source)."""
_BEGINS = re.compile(r"\s*leaf signs?\s*:\s*(.+)", re.I | re.S)


def signs_noted(
    trial: Trial, entries: Sequence[Entry], tank: str, *, now_day: float
) -> tuple[frozenset[str], tuple[str, ...]]:
    """Return the keys of the signs noted of a tank in the last three weeks, and the words that name no sign.

    A note reads "leaf signs: old-yellow, stunted"; keys or the words of `chemistry.symptoms`, parted by commas or
    semicolons.
    """
    known = {key: key for key in signs()} | {sign.words.casefold(): key for key, sign in signs().items()}
    found: set[str] = set()
    strange: list[str] = []
    for entry in entries:
        if entry.tank != tank or not isinstance(entry.payload, Note):
            continue
        match = _BEGINS.fullmatch(entry.payload.text)
        if match is None or not now_day - RECENT_DAYS <= day_of(entry.at, trial) <= now_day:
            continue
        text = match[1].strip().rstrip(".").casefold()
        for words in sorted(known, key=len, reverse=True):  # words of a sign may hold a comma themselves
            if "," in words and words in text:
                found.add(known[words])
                text = text.replace(words, "")
        for part in re.split(r"[,;\n]", text):
            word = " ".join(part.split()).rstrip(".")
            if word in known:
                found.add(known[word])
            elif word:
                strange.append(word[:60])
    return frozenset(found), tuple(dict.fromkeys(strange))
