"""How far what was measured on the demo's photos is from its stored truth, photo by photo and region by region."""

from __future__ import annotations

import json
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from littoral.findings.measuring import measure_photos
from littoral.logbook.book import Logbook
from littoral.trial.entries import Photo


@dataclass(frozen=True)
class Errors:
    """Signed errors of every photo, each a flat array: heights in percent of truth, cover and algae in points.

    `colour_de00` is the difference to the true colour; `colour_change_de00` that after each stand's mean difference is
    taken out, which is what matters for change over days. `change_covered` is the share of L*, a* and b* whose change
    lies within the stated 95 % interval, `absolute_covered` that of the values themselves, with what the whole series
    may be off by besides.
    """

    height_percent: np.ndarray
    cover_points: np.ndarray
    algae_points: np.ndarray
    colour_de00: np.ndarray
    colour_change_de00: np.ndarray
    change_covered: float
    absolute_covered: float
    photos: int
    excluded: int


def errors(files: Path, logbook: Path) -> Errors:
    """Compare a demo's logbook with truth/truth.json in its files."""
    from skimage.color import deltaE_ciede2000  # the outside reference; its own types are incomplete

    truth = json.loads((files / "truth" / "truth.json").read_text())["photos"]
    by_name = {Path(name).name: photo["regions"] for name, photo in truth.items()}
    height, cover, algae = [], [], []
    lab: dict[tuple[str, str], list[tuple[list[float | None], list[float], tuple[float | None, ...]]]] = {}
    with Logbook.open(logbook) as book:
        key = book.trials()[0]
        names = {entry.id: entry.payload.file_name for entry in book.entries(key) if isinstance(entry.payload, Photo)}
        measured = measure_photos(book, book.trial(key))
    for photo in measured.photos:
        true = by_name[names[photo.entry_id]]
        for region in photo.regions:
            known = true.get(region.region)
            if known is None:
                continue
            if region.kind == "stand":
                if region.cover is not None:
                    cover.append(100 * (region.cover - known["cover"]))
                if region.height_cm is not None:
                    height.append(100 * (region.height_cm / known["height_cm"] - 1))
                if region.lightness is not None:
                    common = (region.lightness_scale_error, region.scale_error, region.scale_error)
                    stated = (region.colour_error, *common)
                    pair = ([region.lightness, region.a, region.b], known["lab_mid"], stated)
                    lab.setdefault((photo.view, region.region), []).append(pair)
            elif region.algae is not None:
                algae.append(100 * (region.algae - known["algae_of_visible"]))
    plain, change, moved, there = [], [], [], []
    for pairs in lab.values():
        found, right = np.array([one for one, _, _ in pairs], dtype=float), np.array([one for _, one, _ in pairs])
        said = np.array([[np.nan if one is None else one for one in stated] for _, _, stated in pairs])
        error, scale = said[:, :1], said[:, 1:]
        off = found - right
        moved.append(np.abs(off - off.mean(axis=0)) <= 1.96 * error)
        there.append(np.abs(off) <= 1.96 * np.hypot(error, scale))
        plain.append(deltaE_ciede2000(right, found))  # type: ignore[no-untyped-call]
        change.append(deltaE_ciede2000(right, found - (found - right).mean(axis=0)))  # type: ignore[no-untyped-call]
    return Errors(
        np.array(height),
        np.array(cover),
        np.array(algae),
        np.concatenate(plain),
        np.concatenate(change),
        float(np.concatenate(moved).mean()),
        float(np.concatenate(there).mean()),
        len(measured.photos),
        sum(bool(photo.excluded) for photo in measured.photos),
    )


@dataclass(frozen=True)
class RednessOff:
    """How far mean a* since the regimes began is off: of each stand, of each tank's mean over its stands, and of right
    minus left of each stand and of those means. A question may be about one stand or about all of them."""

    places: np.ndarray
    tanks: np.ndarray
    stand_differences: np.ndarray
    difference: float


def redness_off(files: Path, logbook: Path) -> RednessOff:
    """Compare a demo's mean redness with truth/truth.json in its files: what `findings.camera` is calibrated by."""
    truth = json.loads((files / "truth" / "truth.json").read_text())["photos"]
    by_name = {Path(name).name: photo["regions"] for name, photo in truth.items()}
    off: dict[str, dict[str, list[float]]] = {}
    with Logbook.open(logbook) as book:
        trial = book.trial(book.trials()[0])
        names = {one.id: one.payload.file_name for one in book.entries(trial.key) if isinstance(one.payload, Photo)}
        measured = measure_photos(book, trial)
    for photo in measured.photos:
        for region in photo.regions:
            if photo.day >= trial.baseline_days and region.kind == "stand" and region.a is not None:
                known = by_name[names[photo.entry_id]][region.region]["lab_mid"][1]
                off.setdefault(photo.view, {}).setdefault(region.region, []).append(region.a - known)
    means = {view: {key: float(np.mean(some)) for key, some in off[view].items()} for view in sorted(off)}
    first, *_, last = means.values()
    tanks = np.array([np.mean(list(stands.values())) for stands in means.values()])
    return RednessOff(
        np.array([value for stands in means.values() for value in stands.values()]),
        tanks,
        np.array([last[key] - first[key] for key in first if key in last]),
        float(tanks[-1] - tanks[0]),
    )


def main(folders: list[str]) -> None:
    """Print the root mean square errors of redness over demo folders that hold a `logbook`."""
    found = [redness_off(Path(folder), Path(folder) / "logbook") for folder in folders]
    parts = {
        "place": np.concatenate([one.places for one in found]),
        "tank": np.concatenate([one.tanks for one in found]),
        "difference of a stand": np.concatenate([one.stand_differences for one in found]),
        "difference of tanks": np.array([one.difference for one in found]),
    }
    for what, values in parts.items():
        print(f"{what}: {np.sqrt(np.mean(values**2)):.2f} a* over {values.size}, worst {np.abs(values).max():.2f}")


if __name__ == "__main__":
    main(sys.argv[1:])
