"""Strokes as a person would draw them, made from a truth mask: short straight lines that stay on one side."""

from __future__ import annotations

import numpy as np


def lines_within(mask: np.ndarray, rng: np.random.Generator, *, count: int, longest: int = 25) -> list[np.ndarray]:
    """Up to `count` lines, each (2, 2) as x, y of its ends, inside a mask (height, width); shorter where it is thin."""
    rows, columns = np.nonzero(mask)
    found: list[np.ndarray] = []
    for _ in range(10 * count if len(rows) else 0):
        at = rng.integers(len(rows))
        start = np.array([columns[at], rows[at]])
        best = start
        for angle in rng.uniform(0, 2 * np.pi, 24):
            way = np.array([np.cos(angle), np.sin(angle)])
            points = np.round(start + way * np.arange(longest)[:, None]).astype(int)
            inside = ((points >= 0) & (points < mask.shape[::-1])).all(axis=1)
            good = inside & mask[np.where(inside, points[:, 1], 0), np.where(inside, points[:, 0], 0)]
            last = points[int(np.argmin(good)) - 1] if not good.all() else points[-1]
            if good[0] and np.abs(last - start).sum() > np.abs(best - start).sum():
                best = last
        if np.abs(best - start).max() >= 7:
            found.append(np.array([start, best], dtype=float))
        if len(found) == count:
            break
    return found


def overlap(one: np.ndarray, other: np.ndarray) -> float:
    """Intersection over union of two masks."""
    either = np.count_nonzero(one | other)
    return float(np.count_nonzero(one & other) / either) if either else 1.0
