"""What would tell plant from camera: how much of what stays open is the camera's, and what narrows it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import NormalDist

from littoral.findings.camera import REDNESS_ONE_FRAME, Camera, redness_camera
from littoral.findings.measured import Measured
from littoral.findings.model import Finding
from littoral.findings.wording import CLAIMS
from littoral.trial.bursts import bursts
from littoral.trial.entries import Entry
from littoral.trial.model import Trial, View

SOME_BURSTS = 5
"""Fewer days with repeat shots than this say little of what the camera does: common practice, no source."""


def what_would_settle(trial: Trial, measured: Measured, entries: Sequence[Entry], *, gate: float) -> tuple[str, ...]:
    """Return what would make the next answers about colour surer, what helps most first."""
    told: list[str] = []
    views = _views(trial)
    panes = [pane for view in views for pane in view.panes if pane.tank in _compared(trial)]
    if not all(any(region.kind == "card" for region in pane.regions) for pane in panes):
        told.append(
            "Stand a sealed grey or white card in the water of each tank, in every photo, and draw it in the view: "
            "only that tells the light from the plant. A card outside the tank makes it worse."
        )
    if len(views) > 1:
        told.append(
            "Take both tanks in one frame: they then share the camera, and a difference of "
            f"{REDNESS_ONE_FRAME.least:g} a* can be claimed instead of {_camera(trial).least:g} a*."
        )
    if not all(view.camera_locked for view in views):
        told.append("Lock exposure and white balance on the camera, and say so with the view.")
    own = {view.key for view in views}
    count = len([group for group in bursts(entries) if getattr(group[0].payload, "view", "") in own])
    if count < SOME_BURSTS:
        so_far = f"{count or 'none'} so far"
        told.append(
            f"Take three shots one after the other, once a week ({so_far}): they show what the camera alone does."
        )
    over = sum((one.colour_residual or 0.0) > gate for one in measured.photos if one.view in own)
    if over:
        told.append(f"Look at the photos over the gate ({over}), and take that day's again where you still can.")
    return tuple(told)


def _compared(trial: Trial) -> set[str]:
    return {tank for arm in trial.arms[:2] for tank in arm.tanks}


def left_open(trial: Trial, finding: Finding) -> str:
    """Return how much of what stays open the camera alone makes, and what narrows it; "" where something is claimed."""
    if finding.claim is None or not finding.absolute or finding.rule in (*CLAIMS, "no larger than"):
        return ""
    half = (finding.claim.high - finding.claim.low) / 2
    camera = NormalDist().inv_cdf((1 + finding.level) / 2) * _camera(trial).difference
    days = math.sqrt(max(half**2 - camera**2, 0.0))
    told = f"Of the ± {half:.1f} a* that stay open, the camera alone makes ± {min(camera, half):.1f} a*."
    if days > camera:
        return f"{told} What wanders from day to day makes more: more weeks help most."
    return f"{told} More photos of the same kind will not narrow it."


def _camera(trial: Trial) -> Camera:
    return redness_camera(trial, [view.key for view in _views(trial)], _compared(trial))


def _views(trial: Trial) -> list[View]:
    return [view for view in trial.views.values() if any(pane.tank in _compared(trial) for pane in view.panes)]
