"""What makes a person look twice at a photo: dark, blurred, something in front, another tank, mirrored.

Each rule compares with earlier photos of the same view, so that a black background or a soft lens is nobody's fault.
Thresholds were set on rendered photos and looked at on real series (tests/imaging/test_doubts.py); the person decides.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np

from littoral.imaging.likeness import Likeness, Look, likeness
from littoral.imaging.mirrored import MirrorFit

DARK = 20.0
"""A photo whose brightest parts stay below this grey of 255 is nearly black, whatever the view."""
DARK_SHARE = 0.4
"""Darker than this share of the view's usual brightest parts and of its usual middle grey: the light was off."""
OVEREXPOSED = 0.6
BLURRED_MORE = 0.12
"""So much more blurred than usual is what a Gaussian of about 1.3 px at 640 px width does: 8 px of a 12 MP photo."""
GAP = 0.06
"""A patch at the frame's edge of this share where nothing is found again."""
OTHER_VIEW = 0.05
"""Another view is meant where its photos are more alike by this much; twin tanks differed by 0.1 and more."""
UNLIKE_SHARE = 0.75
MIRROR_BETTER = 0.12
MIRROR_HINT = 0.02
"""A photo that is more alike by this much when it is turned over is tried both ways (`imaging.mirrored`)."""
ENOUGH_ALIKE = 0.6
"""A view is proposed for a photo where it is at least so alike."""


NO_PICTURE = ("nearly black", "much darker", "overexposed")
"""How the doubts begin with which nothing more can be told of a photo."""


@dataclass(frozen=True, slots=True)
class Resemblance:
    """How a photo is like a view: to the most alike of its earlier photos; `usual` is how alike those are."""

    best: Likeness
    usual: float


@dataclass(frozen=True, slots=True)
class Proposal:
    """The view that a photo shows by its look, None where that cannot be told; `order` is every view, likest first."""

    view: str | None
    order: tuple[str, ...]


def resemblance(look: Look, earlier: Sequence[Look]) -> Resemblance | None:
    """Compare a photo with some earlier ones of a view, in order of time; None without any."""
    if not earlier:
        return None
    found = max((likeness(look, one) for one in earlier), key=lambda one: one.score)
    among = [_neighbours(one, two) for one, two in pairwise(earlier)]
    return Resemblance(found, float(np.median(among)) if among else 0.8)


@lru_cache(maxsize=512)
def _neighbours(one: Look, two: Look) -> float:
    """How alike two earlier photos are; the same ones are asked for again and again."""
    return likeness(two, one).score


def propose(alike: Mapping[str, Resemblance | None]) -> Proposal:
    """Return the view a photo shows: clearly more alike than any other that has photos."""
    known = {view: one for view, one in alike.items() if one is not None}
    ranked = sorted(known, key=lambda view: -known[view].best.score)
    order = (*ranked, *(view for view in alike if view not in known))
    if not ranked:
        return Proposal(None, order)
    first = known[ranked[0]]
    second = known[ranked[1]].best.score if len(ranked) > 1 else 0.0
    # Where a view has no photo yet, the photo may be its first: then it must be as alike as the others are
    least = ENOUGH_ALIKE if len(known) == len(alike) else max(ENOUGH_ALIKE, first.usual - OTHER_VIEW)
    sure = first.best.score >= least and first.best.score - second >= OTHER_VIEW
    return Proposal(ranked[0] if sure else None, order)


def doubts(
    look: Look, view: str, earlier: Sequence[Look], alike: Mapping[str, Resemblance | None], names: Mapping[str, str]
) -> tuple[str, ...]:
    """Return what is to be looked at in a photo of `view`, as plain sentences without a full stop.

    `earlier` are photos of the view near in time, `alike` how it is like each view, `names` what those are called.
    """
    if (dark := _darkness(look, earlier)) is not None:
        return (dark,)
    if look.clipped > OVEREXPOSED:
        return ("overexposed: most of it is white",)
    found: list[str] = []
    usual_blur = float(np.median([one.blur for one in earlier])) if earlier else 1.0
    if look.blur > usual_blur + BLURRED_MORE:
        found.append("blurred: much softer than the photos before it")
    mine = alike.get(view)
    if mine is None:
        return tuple(found)
    if look.texture.shape[0] != earlier[0].texture.shape[0] and mine.best.score == 0:
        return (*found, "another shape than the photos before it (upright or lengthwise)")
    better = {
        other: one.best.score
        for other, one in alike.items()
        if one is not None and other != view and one.best.score > mine.best.score + OTHER_VIEW
    }
    turned = mine.best.mirrored
    if turned > mine.best.score + MIRROR_BETTER and turned > max(better.values(), default=0.0) + OTHER_VIEW:
        found.append("mirrored: left and right look swapped")  # tanks of a pair may be planted as mirror images
    elif better:
        likest = max(better, key=lambda other: better[other])
        found.append(f"looks like {names.get(likest, likest)} rather than {names.get(view, view)}")
    elif mine.best.score < UNLIKE_SHARE * mine.usual:
        found.append("does not look like the photos of this view before it: another tank, or planted anew?")
    elif mine.best.gap > GAP:
        found.append("something seems to be in front of the tank, such as a hand")
    return tuple(found)


def looks_mirrored(mine: Resemblance | None, found: Sequence[str]) -> bool:
    """Whether a photo with the doubts `found` is worth being tried turned over: not where it is of another view."""
    if mine is None or any(doubt.startswith(("looks like", *NO_PICTURE)) for doubt in found):
        return False
    return mine.best.mirrored > mine.best.score + MIRROR_HINT


def with_mirror(found: Sequence[str], fit: MirrorFit | None) -> tuple[str, ...]:
    """Return doubts with what trying a photo turned over gave: its reason takes the place of what the look said."""
    if fit is None or not fit.mirrored:
        return tuple(found)
    return (*(one for one in found if not one.startswith(("mirrored", "does not look", "something seems"))), fit.said())


def _darkness(look: Look, earlier: Sequence[Look]) -> str | None:
    if look.bright < DARK:
        return "nearly black: was the light off?"
    if not earlier:
        return None
    bright = float(np.median([one.bright for one in earlier]))
    level = float(np.median([one.level for one in earlier]))
    if look.bright < DARK_SHARE * bright and look.level <= DARK_SHARE * level:
        return "much darker than the photos before it: was the light off?"
    return None
