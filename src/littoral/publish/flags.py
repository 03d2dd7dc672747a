"""Flags of photos: what is wrong with single photos is marked on them, what is wrong with most is said once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from littoral.findings.measured import MeasuredPhoto


def kind_of(flag: str) -> str:
    """Return what a flag is about, without its detail: "not aligned" of "not aligned: too little structure"."""
    return flag.split(":", 1)[0]


def usual_kinds(photos: Sequence[MeasuredPhoto]) -> frozenset[str]:
    """Return the kinds of flags that more than half of the photos of one view carry."""
    count = Counter(kind for photo in photos for kind in {kind_of(flag) for flag in photo.flags})
    return frozenset(kind for kind, many in count.items() if 2 * many > len(photos))


def single_flags(flags: Iterable[str], usual: frozenset[str]) -> tuple[str, ...]:
    """Return the flags of one photo that are not usual in its view."""
    return tuple(flag for flag in flags if kind_of(flag) not in usual)


def usual_words(photos: Iterable[MeasuredPhoto]) -> str:
    """Return a sentence on what is wrong with most photos of a view, empty where nothing is."""
    by_view: dict[str, list[MeasuredPhoto]] = {}
    for photo in photos:
        by_view.setdefault(photo.view, []).append(photo)
    kinds = sorted({kind for some in by_view.values() for kind in usual_kinds(some)})
    return f"Most photos here: {'; '.join(kinds)}." if kinds else ""
