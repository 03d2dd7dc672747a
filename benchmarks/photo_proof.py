"""Photo methods against known truth, as one table: method by phone, each over two draws that nothing was tuned on.

Every method sees the same photos, brought to the view alike, and is followed through the whole measuring: its own
thresholds, masks, heights, colours and algae. Only how the camera is taken out differs:

- as they came: nothing is taken out;
- grey world: gains that make the mean of the picture grey (Buchsbaum 1980, J Franklin Inst 310:1-26);
- white patch: gains that make the brightest part white (Land & McCann 1971, J Opt Soc Am 61:1-11), here the 99th
  percentile of each channel;
- card only: the camera's model fitted to the known card fields alone;
- card and stable places: ours.

Intervals are ours alone: no other method states any. Written to build/photo_proof.json.
"""

from __future__ import annotations

import json
import sys
import tempfile
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from photo_methods import METHODS, OURS, measured_view
from rows import Row, finish, row

from littoral.demo.scenario import TANKS, write_demo

DRAWS = {"plain": (304, 313), "contrasty": (300, 312), "soft": (301, 310)}
"""Two draws for each phone's character, the first of it from 300 on and the first from 310 on. None was tuned on: that
was done on draws under 300."""
DAYS, SIZE = 28, (1200, 900)
"""Smaller pictures are rendered with as much noise per pixel, and noisy ones of 800 x 600 often cannot be aligned."""
TRUTH = "truth of the renderer, measured on its clean pictures (littoral.demo.truth)"


@dataclass
class Found:
    """What one method got wrong on some draws: signed errors, and for ours whether stated 95 % intervals held."""

    cover: list[float] = field(default_factory=list)
    height: list[float] = field(default_factory=list)
    width: list[float] = field(default_factory=list)
    absolute: list[float] = field(default_factory=list)
    change: list[float] = field(default_factory=list)
    algae: list[float] = field(default_factory=list)
    iou: list[float] = field(default_factory=list)
    held: dict[str, list[float]] = field(default_factory=dict)

    def add(self, other: Found) -> None:
        """Take in what was found on another draw."""
        for name in ("cover", "height", "width", "absolute", "change", "algae", "iou"):
            getattr(self, name).extend(getattr(other, name))
        for what, some in other.held.items():
            self.held.setdefault(what, []).extend(some)


COLUMNS: tuple[tuple[str, str, str, float, bool], ...] = (
    ("cover", "cover", "points", 2.5, False),
    ("height", "height", "% of truth", 2.0, False),
    ("absolute", "colour, absolute", "ΔE00", 1.2, False),
    ("change", "colour, change over days", "ΔE00", 0.6, False),
    ("algae", "algae", "points", 4.0, False),
    ("iou", "stands found (IoU)", "share", 0.88, True),
)
"""Field, name, unit, aim, and whether more is better."""
HELD = ("absolute colour", "change of colour", "height", "width", "cover")


def of_draw(draw: int) -> tuple[str, dict[str, Found]]:
    """Render a draw, measure it by every method; return the phone's name and what each got wrong."""
    with tempfile.TemporaryDirectory() as temporary:
        files = Path(temporary)
        write_demo(files, seed=draw, days=DAYS, size=SIZE, workers=1)
        return errors_of(files, days=DAYS)


def errors_of(files: Path, *, days: int) -> tuple[str, dict[str, Found]]:
    """Return the phone's name of a rendered demo of so many days, and what each method got wrong on it."""
    truth = json.loads((files / "truth" / "truth.json").read_text())
    found = {method: Found() for method in METHODS}
    for tank in TANKS:
        measured = measured_view(files, truth, tank, days=days)
        for method in METHODS:
            _compare(found[method], measured[method], truth, tank, ours=method == OURS)
    return str(truth["phone"]["name"]), found


def _compare(found: Found, rows: Sequence[Any], truth: dict[str, Any], tank: str, *, ours: bool) -> None:
    from skimage.color import deltaE_ciede2000  # the outside reference; its own types are incomplete

    from littoral.stats.scatter import scatter
    from littoral.stats.series import Series

    for key in dict.fromkeys(one.region for one in rows):
        mine = [one for one in rows if one.region == key]
        right = [truth["photos"][one.photo]["regions"][key] for one in mine]
        if mine[0].kind != "stand":
            pairs = zip(mine, right, strict=True)
            found.algae += [100 * (one.algae - is_["algae_of_visible"]) for one, is_ in pairs if one.algae is not None]
            continue
        found.iou += [one.iou for one in mine]
        trims = [one["day"] for one in truth["parameters"][tank][key]["trims"]]
        day = np.array([one.day for one in mine])
        sizes: tuple[tuple[str, list[float], list[float], float], ...] = (
            ("height", [one.height_cm for one in mine], [one["height_cm"] for one in right], mine[0].common[0]),
            ("width", [one.width_cm for one in mine], [one.true_width_cm for one in mine], mine[0].common[1]),
            ("cover", [one.cover for one in mine], [one["cover"] for one in right], mine[0].common[2]),
        )
        for name, values, known, common in sizes:
            value, true = np.array(values), np.array(known)
            off = 100 * (value - true) if name == "cover" else 100 * (value / np.maximum(true, 1e-9) - 1)
            getattr(found, name).extend(off.tolist())
            spread = scatter(Series(key, "", "level", day, value), trims) if ours else None
            if spread is not None:
                held = np.abs(value - true) <= 1.96 * np.hypot(spread.near, common)
                found.held.setdefault(name, []).extend(held.astype(float).tolist())
        seen = [(one, is_) for one, is_ in zip(mine, right, strict=True) if one.lab is not None]
        lab, known_lab = np.array([one.lab for one, _ in seen]), np.array([is_["lab_mid"] for _, is_ in seen])
        off = lab - known_lab
        found.absolute += deltaE_ciede2000(known_lab, lab).tolist()  # type: ignore[no-untyped-call]
        found.change += deltaE_ciede2000(known_lab, lab - off.mean(axis=0)).tolist()  # type: ignore[no-untyped-call]
        if ours:
            error, scale = np.array([one.error for one, _ in seen])[:, None], np.array(seen[0][0].scale)
            held_there = np.abs(off) <= 1.96 * np.hypot(error, scale)
            held_moved = np.abs(off - off.mean(axis=0)) <= 1.96 * error
            found.held.setdefault("absolute colour", []).extend(held_there.ravel().astype(float).tolist())
            found.held.setdefault("change of colour", []).extend(held_moved.ravel().astype(float).tolist())


def rows_of(phone: str, draws: str, method: str, found: Found) -> list[Row]:
    """Return the rows of one method on one phone's draws."""
    made = []
    ours = method == OURS
    for name, called, unit, aim, more in COLUMNS:
        values = np.abs(getattr(found, name))
        mean = float(values.mean())
        wanted = f"at {'least' if more else 'most'} {aim:g}" if ours else "for comparison"
        tail = 5 if more else 95
        made.append(row(
            f"{phone} phone, {draws}, {method}: {called}", mean, unit, reference=TRUTH, aim=True,
            holds=not ours or (mean >= aim if more else mean <= aim),
            limit=f"{wanted}; {tail}th percentile {np.percentile(values, tail):.2f}",
            source=f"{values.size} regions on photos of {DAYS} days at {SIZE[0]} x {SIZE[1]}", difference=mean,
        ))  # fmt: skip
    for what in found.held if ours else ():
        share = float(np.mean(found.held[what]))
        made.append(row(
            f"{phone} phone, {draws}, {method}: stated 95 % intervals of {what} hold the truth", share, "share",
            reference=TRUTH, aim=True, holds=share >= 0.93, limit="at least 0.93", difference=share - 0.95,
            source=f"{len(found.held[what])} values",
        ))  # fmt: skip
    return made


def table(by_phone: dict[str, dict[str, Found]]) -> str:
    """Return the table as Markdown: a line for each phone and method."""
    heads = [f"{called}, {unit}" for _, called, unit, _, _ in COLUMNS]
    lines = ["| phone | method | " + " | ".join(heads) + " | 95 % intervals hold: " + ", ".join(HELD) + " |"]
    lines.append("|---|---|" + "---:|" * len(COLUMNS) + "---|")
    for phone, methods in by_phone.items():
        for method, found in methods.items():
            cells = [f"{np.mean(np.abs(getattr(found, name))):.2f}" for name, *_ in COLUMNS]
            shares = (f"{np.mean(found.held[what]):.2f}" if what in found.held else "too few" for what in HELD)
            held = ", ".join(shares) if found.held else "states none"
            lines.append(f"| {phone} | {method} | " + " | ".join(cells) + f" | {held} |")
    return "\n".join(lines)


def main() -> int:
    """Measure every draw, print the table, write the rows."""
    began = time.monotonic()
    every = [draws[at] for at in (0, 1) for draws in DRAWS.values()]
    by_phone = {phone: {method: Found() for method in METHODS} for phone in DRAWS}
    rows: list[Row] = []
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        for draw, (phone, found) in zip(every, pool.map(of_draw, every), strict=True):
            for method, some in found.items():
                by_phone[phone][method].add(some)
                rows += rows_of(phone, f"draw {draw}", method, some)
            print(f"draw {draw} after {time.monotonic() - began:.0f} s\n{table({phone: found})}\n", flush=True)
    for phone, methods in by_phone.items():
        for method, some in methods.items():
            rows += rows_of(phone, "both draws", method, some)
    done = finish("photo_proof", rows)
    print(table(by_phone))
    return done


if __name__ == "__main__":
    sys.exit(main())
