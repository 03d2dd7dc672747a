"""Ways to take the camera out, side by side on the same photos and masks of one demo; and how well stands are found.

A method sees the same photos: as they came; gains only; the whole model without any card; with a card of which nothing
is known; with a card whose fields are known. The plants' pixels are those that the last one finds, so that only colour
differs. Intersection over union is against the renderer's own labels of the clean picture.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from littoral.demo.layout import Frame, lay_out
from littoral.demo.picture import render_clean, set_stage
from littoral.demo.scenario import TANKS, photo_plans
from littoral.demo.story import Story, tell
from littoral.findings.view_series import shape_of
from littoral.imaging import segment
from littoral.imaging.align import align, warp
from littoral.imaging.anchors import anchors_of
from littoral.imaging.camera_model import identity
from littoral.imaging.camera_out import apply
from littoral.imaging.correct import correct
from littoral.imaging.decode import decode_photo
from littoral.imaging.frames import WORKING_WIDTH_PX
from littoral.imaging.frames import lay_out as frame_layout
from littoral.imaging.measure import mid_colour
from littoral.imaging.passes import pool, survey
from littoral.imaging.prepare import make_reference
from littoral.imaging.regions import RegionShape, ViewShape
from littoral.logbook.book import Logbook

METHODS = ("as they came", "gains only", "no card", "card, nothing known of it", "card with known fields")
PHOTOS = 14
Truth = dict[str, Any]


@dataclass(frozen=True)
class Compared:
    """`absolute` and `change` (ΔE00, by method), each (photos and stands,), and `iou` of stands' masks, 0 to 1."""

    absolute: dict[str, np.ndarray]
    change: dict[str, np.ndarray]
    iou: np.ndarray


def compared(files: Path, logbook: Path) -> Compared:
    """Compare the methods on photos of a demo that are spread evenly over its days."""
    from skimage.color import deltaE_ciede2000  # the outside reference; its own types are incomplete

    truth = json.loads((files / "truth" / "truth.json").read_text())
    with Logbook.open(logbook) as book:
        views = book.trial(book.trials()[0]).views
    found: dict[str, list[np.ndarray]] = {f"{kind} {method}": [] for kind in ("a", "c") for method in METHODS}
    overlaps: list[float] = []
    for tank in TANKS:
        names = sorted(name for name, photo in truth["photos"].items() if photo["view"] == tank)
        labs = _of_view(files, shape_of(views[tank]), names, truth, tank, overlaps)
        for method in METHODS:
            for key in labs[method]:
                ours, right = np.array(labs[method][key]), np.array(labs["truth"][key])
                found[f"a {method}"].append(deltaE_ciede2000(right, ours))  # type: ignore[no-untyped-call]
                moved = ours - (ours - right).mean(axis=0)
                found[f"c {method}"].append(deltaE_ciede2000(right, moved))  # type: ignore[no-untyped-call]
    return Compared(
        {method: np.concatenate(found[f"a {method}"]) for method in METHODS},
        {method: np.concatenate(found[f"c {method}"]) for method in METHODS},
        np.array(overlaps),
    )


def _of_view(
    files: Path, view: ViewShape, names: list[str], truth: Truth, tank: str, overlaps: list[float]
) -> dict[str, dict[str, list[Any]]]:
    data = {name: (files / name).read_bytes() for name in names}
    chosen = [names[i] for i in np.unique(np.linspace(0, len(names) - 1, PHOTOS).astype(int))]
    shapes = {
        "no card": _with_cards(view, None),
        "card, nothing known of it": _with_cards(view, "unknown"),
        "card with known fields": view,
    }
    references = {method: make_reference(data.values(), shape) for method, shape in shapes.items()}
    best = references["card with known fields"]
    layout, counts = best.layout, []
    images: dict[str, dict[str, Any]] = {}
    for name in chosen:
        decoded = decode_photo(data[name], width_px=min(WORKING_WIDTH_PX, view.frame_px[0]))
        at = align(decoded.image, best.features)
        if at.residual_px is None:
            continue
        raw = warp(decoded.image, at.matrix, layout.size_px)
        photo_px = (decoded.image.shape[1], decoded.image.shape[0])
        images[name] = {"as they came": raw}
        for method, reference in references.items():
            model = correct(
                anchors_of(raw, reference.layout, to_frame=at.matrix, photo_px=photo_px), reference.target
            ).model
            images[name][method] = apply(raw, model, at.matrix, photo_px)
        plain = replace(best.target, fading=0.0)
        gains = correct(anchors_of(raw, layout, to_frame=at.matrix, photo_px=photo_px), plain, aligned=False).model
        images[name]["gains only"] = apply(raw, replace(identity(plain.bumps.shape[1]), gain=gains.gain))
        counts.append(survey(images[name]["card with known fields"], layout, {}))
    rules = pool(layout, {}, counts)
    story = tell(truth["seed"], days=int(max(photo["day"] for photo in truth["photos"].values())) + 1)
    labels = labels_of(story, truth, tank, set(images))
    labs: dict[str, dict[str, list[Any]]] = {method: {} for method in (*METHODS, "truth")}
    for name, by_method in images.items():
        for place, region in enumerate(layout.regions):
            if place not in rules.thresholds:
                continue
            mask = segment.plant_mask(by_method["card with known fields"], region.cut, rules.thresholds[place])
            if region.hidden is not None:
                mask &= ~region.hidden
            key = region.shape.key
            right = labels[name][key]
            right = right[region.cut.rows, region.cut.columns] & region.cut.mask
            overlaps.append(float((mask & right).sum() / max(1, (mask | right).sum())))
            if mask.sum() < 50:
                continue
            labs["truth"].setdefault(key, []).append(truth["photos"][name]["regions"][key]["lab_mid"])
            for method in METHODS:
                labs[method].setdefault(key, []).append(mid_colour(by_method[method], region.cut, mask))
    return labs


def _with_cards(view: ViewShape, cards: str | None) -> ViewShape:
    """A view without its card, or with one of which nothing is known."""

    def seen(region: RegionShape) -> RegionShape:
        return replace(region, reflects=None) if region.kind == "card" else region

    panes = tuple(
        replace(pane, regions=tuple(seen(one) for one in pane.regions if cards or one.kind != "card"))
        for pane in view.panes
    )
    return replace(view, panes=panes)


def labels_of(story: Story, truth: Truth, tank: str, wanted: set[str]) -> dict[str, dict[str, np.ndarray]]:
    """Whose pixel each is on the clean picture, at working size: for each photo and stand a mask."""
    import cv2

    size = tuple(truth["frame_px"])
    stage = set_stage(story, lay_out(story, tank), Frame(size))
    working = frame_layout(ViewShape(size, ()), size).size_px
    found = {}
    for plan in photo_plans(story, tank):
        name = f"photos/{tank}/{plan.file_name}"
        if name not in wanted:
            continue
        rng = np.random.default_rng([story.seed, 8, TANKS.index(tank), plan.number])
        label = render_clean(stage, plan.day, rng).label
        found[name] = {
            key: cv2.resize((label == number).astype(np.float32), working, interpolation=cv2.INTER_AREA) > 0.5
            for key, number in stage.labels.items()
        }
    return found
