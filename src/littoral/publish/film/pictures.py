"""The pictures a film shows of a tank: even or as the camera left them, whole or one part of them, blended in gaps."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PIL import Image

from littoral.findings.measured import MeasuredPhoto
from littoral.publish.film.options import FilmLook, FilmOptionError
from littoral.publish.panes import crop_box
from littoral.trial.model import Pane, View

Originals = Callable[[str], Path]
"""Gives the file of an original photo by its SHA-256, to be read only."""
AROUND = 0.16
"""Kept free around an enlarged region, as a share of its longer side."""
ZOOM_RATIO = (0.45, 1.3)
"""Narrower and wider regions than this are given more of what is around them."""
LEAST_WIDTH, MOST_WIDTH = 320, 6000
"""Of a decoded original, in pixels."""
Share = tuple[float, float, float, float]
"""A part of a tank's picture: left, upper, right, lower edge, as shares of its width and height."""
WHOLE: Share = (0.0, 0.0, 1.0, 1.0)


class PictureMaker:
    """Cuts a tank's picture out of a photo; keeps the last photos, for a held one is shown again."""

    def __init__(self, look: FilmLook = "even", originals: Originals | None = None) -> None:
        if look == "original" and originals is None:
            raise FilmOptionError("The originals' look needs the original photos, which only a logbook has.")
        self._look = look
        self._originals = originals
        self._kept: dict[tuple[str, str, Share, tuple[int, int]], Image.Image] = {}

    def cut(
        self, photo: MeasuredPhoto, view: View, pane: Pane, fit: tuple[int, int], part: Share = WHOLE
    ) -> Image.Image:
        """Return a part of a tank's picture in sRGB, as large as fits `fit` (width, height) pixels."""
        key = (photo.entry_id, pane.tank, part, fit)
        found = self._kept.pop(key, None)
        if found is None:
            found = self._cut(photo, view, pane, fit, part)
        self._kept[key] = found
        while len(self._kept) > 32:
            self._kept.pop(next(iter(self._kept)))
        return found

    def _cut(self, photo: MeasuredPhoto, view: View, pane: Pane, fit: tuple[int, int], part: Share) -> Image.Image:
        across = crop_box(view, pane, view.frame_px)
        shown = (across[2] - across[0]) / view.frame_px[0] * (part[2] - part[0])
        whole = self._whole(photo, round(fit[0] / shown))
        left, top, right, bottom = crop_box(view, pane, whole.size)
        wide, high = right - left, bottom - top
        box = (left + part[0] * wide, top + part[1] * high, left + part[2] * wide, top + part[3] * high)
        ratio = min(fit[0] / (box[2] - box[0]), fit[1] / (box[3] - box[1]))
        size = (max(1, round(ratio * (box[2] - box[0]))), max(1, round(ratio * (box[3] - box[1]))))
        # Hamming shrinks as sharply as bicubic at half the time, and must not enlarge (Pillow's handbook, Concepts).
        by = Image.Resampling.HAMMING if ratio < 1 else Image.Resampling.BICUBIC
        return whole.resize(size, by, box=box, reducing_gap=2.0)

    def _whole(self, photo: MeasuredPhoto, width_px: int) -> Image.Image:
        """Return the whole photo; an original is decoded about as wide as is needed, which is much quicker."""
        if self._look == "original" and self._originals is not None:
            from littoral.imaging.decode import decode_photo

            data = self._originals(photo.sha256).read_bytes()
            return Image.fromarray(decode_photo(data, width_px=min(MOST_WIDTH, max(LEAST_WIDTH, width_px))).image)
        if photo.prepared is None:
            raise ValueError(f"photo {photo.entry_id} has no prepared picture")
        with Image.open(photo.prepared) as whole:
            return whole.convert("RGB")


def blended(before: Image.Image, after: Image.Image, share: float) -> Image.Image:
    """Return a picture between two, of the size of `before`: `share` 0 is `before`, 1 is `after`."""
    if after.size != before.size:
        after = after.resize(before.size, Image.Resampling.BICUBIC)
    return Image.blend(before, after, share)


def zoom_part(view: View, pane: Pane, region_key: str) -> Share | None:
    """Return the part of a tank's picture around one of its regions; None where the region is not drawn there."""
    region = next((one for one in pane.regions if one.key == region_key), None)
    if region is None:
        return None
    left, top, right, bottom = crop_box(view, pane, view.frame_px)
    xs, ys = [x for x, _ in region.polygon_px], [y for _, y in region.polygon_px]
    around = AROUND * max(max(xs) - min(xs), max(ys) - min(ys))
    x0, x1, y0, y1 = min(xs) - around, max(xs) + around, min(ys) - around, max(ys) + around
    wide, high = x1 - x0, y1 - y0
    lowest, highest = ZOOM_RATIO
    more_wide, more_high = max(0.0, lowest * high - wide) / 2, max(0.0, wide / highest - high) / 2
    x0, x1, y0, y1 = x0 - more_wide, x1 + more_wide, y0 - more_high, y1 + more_high
    return (
        max(0.0, (x0 - left) / (right - left)),
        max(0.0, (y0 - top) / (bottom - top)),
        min(1.0, (x1 - left) / (right - left)),
        min(1.0, (y1 - top) / (bottom - top)),
    )
