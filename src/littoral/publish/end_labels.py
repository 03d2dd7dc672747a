"""The arms' names where their lines end, moved apart where two would touch."""

from __future__ import annotations

from collections.abc import Sequence

from littoral.publish.arm_line import ArmLine, short
from littoral.publish.layers import Channel, Layer
from littoral.publish.look import arm_look
from littoral.publish.words import line_name
from littoral.trial.model import Trial

LABEL_FONT_PX = 12
LABEL_APART_PX = 14


def end_labels(trial: Trial, lines: Sequence[ArmLine], x: Channel, y: Channel, height_px: float) -> list[Layer]:
    """Write each arm's name where its line ends, moved apart where two would touch."""
    ends: dict[str, tuple[float, float]] = {}
    for line in lines:
        if not line.faint and line.value.size:
            ends.setdefault(line.arm, (float(line.day[-1]), float(line.value[-1])))
    low, high = y["scale"]["domain"]
    per_px = (high - low) / height_px
    placed = apart([value for _, value in ends.values()], least=LABEL_APART_PX * per_px, low=low, high=high)
    layers: list[Layer] = []
    for (arm, (day, value)), at in zip(ends.items(), placed, strict=True):
        look = arm_look(trial, arm)
        name = line_name(trial, arm)
        layers.append(
            {
                "data": {"values": [{"day": short(day), "value": short(value)}]},
                "mark": {"type": "point", "shape": look.shape, "size": 46, "filled": True, "opacity": 1,
                         "color": look.colour},
                "encoding": {"x": dict(x), "y": dict(y)},
            }
        )  # fmt: skip
        layers.append(
            {
                "data": {"values": [{"day": trial.length_days, "value": short(at)}]},
                "mark": {
                    "type": "text",
                    "text": name,
                    "align": "left",
                    "dx": 7,
                    "fontSize": LABEL_FONT_PX,
                    "fontWeight": "bold",
                    "color": look.colour,
                    "limit": label_px(trial),
                },
                "encoding": {"x": dict(x), "y": dict(y)},
            }
        )
    return layers


def apart(values: Sequence[float], *, least: float, low: float, high: float) -> list[float]:
    """Return `values` moved as little as needed (least squares) to be `least` apart, in their order, within bounds.

    Unit: any, the same for all. Pools neighbours that touch, as in isotonic regression (pool adjacent violators; Barlow
    et al. 1972, from memory). With more values than fit the bounds, the upper ones leave them.
    """
    order = sorted(range(len(values)), key=lambda i: values[i])
    pools: list[tuple[float, int]] = []  # mean and size, of the values less the room that those below them need
    for rank, i in enumerate(order):
        mean, size = values[i] - rank * least, 1
        while pools and pools[-1][0] > mean:
            below, count = pools.pop()
            mean, size = (mean * size + below * count) / (size + count), size + count
        pools.append((mean, size))
    top = max(low, high - (len(values) - 1) * least)
    flat = [min(max(mean, low), top) for mean, size in pools for _ in range(size)]
    placed = [0.0] * len(values)
    for rank, i in enumerate(order):
        placed[i] = flat[rank] + rank * least
    return placed


def label_px(trial: Trial) -> float:
    """Return the room, in pixels, that the longest arm's name needs beside a panel (at most 110: then it is cut)."""
    longest = max(len(line_name(trial, arm.key)) for arm in trial.arms)
    return min(110.0, 12 + 0.6 * LABEL_FONT_PX * longest)
