"""Photos that were measured elsewhere: a data package brought their measures and left the photos out.

Where a photo's original is here, it is measured here and this is not asked. Where it is not, what came with the package
stands, as long as the view is drawn as it was then: nobody can measure it anew.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from littoral.findings.measured import MeasuredPhoto
from littoral.imaging.results import RegionMeasure
from littoral.logbook.book import Logbook
from littoral.logbook.elsewhere import ElsewhereView, drawn_hash
from littoral.trial.days import day_of
from littoral.trial.entries import Entry, Photo
from littoral.trial.model import Trial

DRAWN_OTHERWISE = "the photo is not here, and its view is drawn otherwise than when it was measured"
"""Why a photo that came without its original tells nothing any more."""


class Elsewhere:
    """What a logbook holds of one trial that was measured elsewhere."""

    def __init__(self, book: Logbook, trial: Trial) -> None:
        self._book, self._trial = book, trial
        self._by_photo: dict[tuple[str, str], tuple[ElsewhereView, Mapping[str, Any]]] = {}
        for view in book.measured_elsewhere(trial.key):  # oldest first, so that the last stands
            for row in view.photos:
                self._by_photo[view.view, str(row["sha256"])] = view, row
        self._drawn = {key: drawn_hash(view) for key, view in trial.views.items()} if self._by_photo else {}
        self.methods: dict[str, None] = {}

    def photo(self, entry: Entry) -> MeasuredPhoto | None:
        """Return a photo's measures from elsewhere; None where there are none, or its original is here."""
        assert isinstance(entry.payload, Photo)
        found = self._by_photo.get((entry.payload.view, entry.payload.sha256))
        if found is None or self._book.has_original(entry.payload.sha256):
            return None
        view, row = found
        self.methods[view.method] = None
        same = self._drawn.get(view.view) == view.drawn
        excluded = str(row["excluded"]) if same else DRAWN_OTHERWISE
        picture = row.get("picture")
        return MeasuredPhoto(
            entry_id=entry.id,
            sha256=entry.payload.sha256,
            view=view.view,
            day=day_of(entry.at, self._trial),
            prepared=self._book.original(picture) if picture and same else None,
            colour_residual=row["colour_residual"],
            align_residual_px=row["align_residual_px"],
            correction=str(row["correction"]),
            flags=tuple(row["flags"]),
            regions=() if excluded else tuple(region_of(one) for one in row["regions"]),
            excluded=excluded,
            clarity=row.get("clarity"),
        )


def region_of(plain: Mapping[str, Any]) -> RegionMeasure:
    """Return a region's measures from plain data."""
    return RegionMeasure(**{**plain, "flags": tuple(plain["flags"])})
