"""Pictures of the steps of each scale, drawn by code: a stem plant beside a stone, as it looks at that step.

Each is an SVG of its own without text, 160 x 120 units; the words stand beside it. Colours tell no step alone: what
changes is how much is covered, how many leaves there are and how they hang, so the steps are told apart in grey too.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from littoral.trial.scales import TOP_STEP, scales

WIDTH, HEIGHT = 160, 120
WATER, BED, BED_LINE = "#eef4f3", "#cbb994", "#8f7d57"
STONE, STONE_LINE = "#a9aba8", "#6d6f6c"
STEM, LEAF, LEAF_LINE, FRESH = "#3f6b34", "#62a04f", "#33572a", "#9fd07f"
PALE, BROWN, BROWN_LINE = "#c3b95a", "#94703c", "#5f4520"
ALGAE = "#23502f"
_BED_TOP = 98.0
_STONE = (126.0, 85.0, 27.0, 17.0)  # middle and half axes

_ALGAE_SHARE = (0.0, 0.03, 0.18, 0.40, 0.75)
"""Share of leaves and stone that is covered in the picture of each step; within what its words say."""


def scale_picture(scale: str, step: int) -> str:
    """Return the SVG of one step, 0 to 4, of a scale. KeyError for a scale that there is not, ValueError for a step."""
    known = scales()[scale]
    if not 0 <= step <= TOP_STEP:
        raise ValueError(f"step {step} of {scale}: the steps are 0 to {TOP_STEP}")
    parts = list(_algae(step) if scale == "algae" else _plants(step))
    title = f"{known.name}, step {step}: {known.words(step)}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-label="{title}">'
        f"<title>{title}</title>{''.join(parts)}</svg>"
    )


def _ground() -> Iterator[str]:
    yield f'<rect width="{WIDTH}" height="{HEIGHT}" rx="6" fill="{WATER}"/>'
    yield (
        f'<path d="M0 {_BED_TOP} Q40 {_BED_TOP - 4} 80 {_BED_TOP} T{WIDTH} {_BED_TOP - 1} V{HEIGHT - 6} '
        f'q0 6 -6 6 H6 q-6 0 -6 -6 Z" fill="{BED}" stroke="{BED_LINE}" stroke-width="1"/>'
    )


def _stone() -> str:
    x, y, across, down = _STONE
    return (
        f'<ellipse cx="{x}" cy="{y}" rx="{across}" ry="{down}" fill="{STONE}" stroke="{STONE_LINE}" '
        'stroke-width="1.5"/>'
    )


def _leaf(
    x: float, y: float, *, length: float, angle: float, fill: str, line: str, droop: float = 0.0, torn: bool = False
) -> str:
    """Return a leaf from its base; `angle` in degrees from the horizontal, up is negative, `droop` lowers its tip."""
    turn = math.radians(angle)
    tip_x, tip_y = x + length * math.cos(turn), y + length * math.sin(turn) + droop
    side_x, side_y = -0.24 * length * math.sin(turn), 0.24 * length * math.cos(turn)
    middle_x, middle_y = (x + tip_x) / 2, (y + tip_y) / 2 - droop / 3
    path = (
        f"M{x:.1f} {y:.1f} Q{middle_x + side_x:.1f} {middle_y + side_y:.1f} {tip_x:.1f} {tip_y:.1f} "
        f"Q{middle_x - side_x:.1f} {middle_y - side_y:.1f} {x:.1f} {y:.1f} Z"
    )
    leaf = f'<path d="{path}" fill="{fill}" stroke="{line}" stroke-width="1"/>'
    if torn:  # a hole through which the water shows
        hole = 0.085 * length
        leaf += f'<circle cx="{middle_x:.1f}" cy="{middle_y:.1f}" r="{hole:.1f}" fill="{WATER}" stroke="{line}"/>'
    return leaf


def _stem(x: float, top: float, *, colour: str, lean: float = 0.0) -> str:
    path = f"M{x} {_BED_TOP + 2} Q{x + lean / 3:.1f} {(top + _BED_TOP) / 2:.1f} {x + lean:.1f} {top}"
    return f'<path d="{path}" fill="none" stroke="{colour}" stroke-width="3" stroke-linecap="round"/>'


def _algae(step: int) -> Iterator[str]:
    """Draw a healthy plant and a stone, with a share of both covered in tufts."""
    yield from _ground()
    yield _stone()
    leaves: list[tuple[float, float, float]] = []
    for x, top in ((28.0, 34.0), (74.0, 20.0)):
        yield _stem(x, top, colour=STEM)
        for place, y in enumerate(np.linspace(_BED_TOP - 14, top + 4, 6)):
            length = 24 - 1.8 * place
            for side in (-1, 1):
                angle = -22.0 if side > 0 else 180 + 22.0
                yield _leaf(x, float(y), length=length, angle=angle, fill=LEAF, line=LEAF_LINE)
                leaves.append((x, float(y), side * length))
    yield from _tufts(leaves, _ALGAE_SHARE[step])


def _tufts(leaves: list[tuple[float, float, float]], share: float) -> Iterator[str]:
    """Draw algae: tufts of three threads, as many as the share asks for, in the same order at every step."""
    rng = np.random.default_rng(11)
    spots: list[tuple[float, float]] = []
    for x, y, length in leaves:
        spots += [(x + 0.93 * part * length, y - 0.37 * abs(part * length)) for part in rng.uniform(0.25, 0.95, 4)]
    x, y, across, down = _STONE
    turns, outs = rng.uniform(0.9 * math.pi, 2.1 * math.pi, 34), np.sqrt(rng.uniform(0.02, 1, 34))
    spots += [
        (x + out * across * math.cos(turn), y + out * down * math.sin(turn))
        for turn, out in zip(turns, outs, strict=True)
    ]
    order = rng.permutation(len(spots))
    for place in order[: math.ceil(share * len(spots))]:
        at_x, at_y = spots[place]
        size = 4.0 + 4.0 * share
        threads = "".join(
            f"M{at_x:.1f} {at_y:.1f} q{bend} {-size / 2:.1f} {2 * bend} {-size:.1f}" for bend in (-2, 0, 2)
        )
        yield f'<path d="{threads}" fill="none" stroke="{ALGAE}" stroke-width="1.8" stroke-linecap="round"/>'


def _plants(step: int) -> Iterator[str]:
    """Draw three stems: bare and bent at 0, full and upright at 4."""
    yield from _ground()
    whorls = (1, 3, 4, 5, 7)[step]
    for number, x in enumerate((38.0, 80.0, 122.0)):
        top = (66.0, 54.0, 42.0, 31.0, 20.0)[step] + (0, -4, 3)[number]
        lean = (20.0, 10.0, 3.0, 0.0, 0.0)[step] * (-1, 1, 1)[number]
        yield _stem(x, top, colour=BROWN if step == 0 else STEM, lean=lean)
        for place, part in enumerate(np.linspace(0.1, 1.0, whorls)):
            y = _BED_TOP - 6 + part * (top + 4 - _BED_TOP + 6)
            at_x = x + lean * part**2
            for side in (-1, 1):
                if (place * 2 + (side > 0) + number) % 3 == 0 and step <= 1:
                    continue  # lost
                yield _plant_leaf(step, at_x, float(y), side, place, number)
        if step >= 3:  # a fresh shoot tip
            length = 12.0 if step == TOP_STEP else 9.0
            for angle in (-120.0, -60.0, -90.0):
                yield _leaf(x + lean, top + 4, length=length, angle=angle, fill=FRESH, line=LEAF_LINE)
    if step == 0:
        for x in (24.0, 66.0, 100.0, 140.0):
            yield _leaf(x, _BED_TOP - 1, length=15, angle=4, fill=BROWN, line=BROWN_LINE)


def _plant_leaf(step: int, x: float, y: float, side: int, place: int, number: int) -> str:
    length = (13.0, 15.0, 17.0, 19.0, 20.0)[step]
    hurt = (place + number + (side > 0)) % 3 == 0
    fill, line = LEAF, LEAF_LINE
    if step == 0 or (step == 1 and hurt):
        fill, line = BROWN, BROWN_LINE
    elif step == 1 or (step == 2 and hurt):
        fill = PALE
    rise = (-2, 6, 14, 22, 26)[step]
    angle = -rise if side > 0 else 180 + rise
    droop = (16.0, 8.0, 2.0, 0.0, 0.0)[step]
    torn = (step == 1 and not hurt) or (step == 2 and hurt) or (step == 3 and place == 1 and number == 1 and side > 0)
    return _leaf(x, y, length=length, angle=float(angle), fill=fill, line=line, droop=droop, torn=torn)
