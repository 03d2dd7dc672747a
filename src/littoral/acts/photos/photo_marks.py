"""What is wrong with single photos, and beyond which residual their colours are not trusted."""

from __future__ import annotations

from collections.abc import Mapping

from littoral.findings.measured import Measured
from littoral.publish.flags import single_flags, usual_kinds


def gate_de() -> float:
    """Return the residual on the references, ΔE00, beyond which a photo's colours are not trusted; it is kept."""
    from littoral.imaging.correct import FAR_OFF

    return FAR_OFF


def photo_marks(measured: Measured) -> Mapping[str, tuple[str, ...]]:
    """Return by entry id what is wrong with a photo and not with most of its view."""
    views = {photo.view for photo in measured.photos}
    usual = {view: usual_kinds([photo for photo in measured.photos if photo.view == view]) for view in views}
    return {photo.entry_id: single_flags(photo.flags, usual[photo.view]) for photo in measured.photos}
