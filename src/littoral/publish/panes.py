"""A tank's picture, cut from the prepared photo of its view at the tank's corners."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from littoral.findings.measured import Measured, MeasuredPhoto
from littoral.trial.model import Pane, Trial, View

if TYPE_CHECKING:
    from PIL import Image


def pane_of(trial: Trial, tank: str) -> tuple[View, Pane] | None:
    """Return the first view that shows a tank, with its pane; None where no view does."""
    for view in trial.views.values():
        for pane in view.panes:
            if pane.tank == tank:
                return view, pane
    return None


def shown_tanks(trial: Trial) -> Sequence[str]:
    """Return one tank per arm, the first that a view shows, else its first; in the order in which the file names tanks.

    So the left tank stands on the left, whichever arm it drew.
    """
    chosen = {next((tank for tank in arm.tanks if pane_of(trial, tank)), arm.tanks[0]) for arm in trial.arms}
    return [tank for tank in trial.tanks if tank in chosen]


def photos_by_tank(trial: Trial, measured: Measured, tanks: Sequence[str]) -> Mapping[str, Sequence[MeasuredPhoto]]:
    """Return each tank's photos, by day, from the one view that shows it first."""
    found: dict[str, list[MeasuredPhoto]] = {tank: [] for tank in tanks}
    for tank in tanks:
        seen = pane_of(trial, tank)
        if seen is not None:
            found[tank] = sorted(
                (photo for photo in measured.photos if photo.view == seen[0].key),
                key=lambda photo: (photo.day, photo.entry_id),
            )
    return found


def crop_box(view: View, pane: Pane, size: tuple[int, int]) -> tuple[float, float, float, float]:
    """Return the pane's box (left, upper, right, lower) in pixels of a prepared picture of `size` (width, height)."""
    if pane.corners_px is None:
        return (0.0, 0.0, float(size[0]), float(size[1]))
    across, down = size[0] / view.frame_px[0], size[1] / view.frame_px[1]
    xs = [x * across for x, _ in pane.corners_px]
    ys = [y * down for _, y in pane.corners_px]
    return max(0.0, min(xs)), max(0.0, min(ys)), min(float(size[0]), max(xs)), min(float(size[1]), max(ys))


def picture(photo: MeasuredPhoto, view: View, pane: Pane, fit: tuple[int, int]) -> Image.Image:
    """Return a tank's picture in sRGB, as large as fits `fit` (width, height) pixels with its own proportions.

    Raises ValueError for a photo that was not prepared: it must not be shown.
    """
    from PIL import Image

    if photo.prepared is None:
        raise ValueError(f"photo {photo.entry_id} has no prepared picture")
    with Image.open(photo.prepared) as whole:
        image = whole.convert("RGB")
        box = crop_box(view, pane, image.size)
        ratio = min(fit[0] / (box[2] - box[0]), fit[1] / (box[3] - box[1]))
        size = (max(1, round(ratio * (box[2] - box[0]))), max(1, round(ratio * (box[3] - box[1]))))
        # Hamming shrinks as sharply as bicubic at half the time, and must not enlarge (Pillow's handbook, Concepts).
        by = Image.Resampling.HAMMING if ratio < 1 else Image.Resampling.BICUBIC
        return image.resize(size, by, box=box, reducing_gap=2.0)
