"""Tables for the terminal, as text."""

from __future__ import annotations

import io
import shutil
from collections.abc import Sequence
from textwrap import fill
from typing import TYPE_CHECKING

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table

from littoral.findings.aims import value_text
from littoral.findings.pooled_showing import range_text, unit_text
from littoral.findings.several import several
from littoral.findings.showing import effect_said

if TYPE_CHECKING:
    from littoral.acts.pool_findings import PooledFiles
    from littoral.findings.decide import Decision
    from littoral.findings.history import History
    from littoral.findings.measured import Measured
    from littoral.findings.model import Finding
    from littoral.trial.model import Trial

WIDEST = 132


def findings_table(trial: Trial, findings: Sequence[Finding]) -> str:
    """Return the findings as a table: question, wording, effect with interval, tanks behind it."""
    table = Table(box=SIMPLE_HEAD, title=trial.title + (" (rendered demo)" if trial.rendered else ""))
    table.add_column("question", ratio=3)
    table.add_column("finding", ratio=6)
    table.add_column(f"{trial.arms[1].name} minus {trial.arms[0].name}", ratio=3)
    table.add_column("tanks per arm", justify="right", max_width=8)
    for finding in findings:
        table.add_row(
            finding.ask,
            finding.wording,
            effect_said(finding, currency=trial.currency) or "–",
            str(finding.tanks_per_arm),
        )
    together = several(findings).text
    if not together:
        return text_of(table)
    width = min(WIDEST, shutil.get_terminal_size((WIDEST, 40)).columns)
    return f"{text_of(table)}\n{fill(together, width=width)}"


def measures_table(measured: Measured) -> str:
    """Return how many photos of each view were measured, and the residuals of colour and alignment."""
    table = Table(box=SIMPLE_HEAD)
    for title in ("view", "photos", "set aside", "colour residual ΔE00", "alignment residual px"):
        table.add_column(title, justify="left" if title == "view" else "right")
    for view in dict.fromkeys(photo.view for photo in measured.photos):
        photos = [photo for photo in measured.photos if photo.view == view]
        table.add_row(
            view,
            str(len(photos)),
            str(sum(not photo.regions for photo in photos)),
            _median([photo.colour_residual for photo in photos]),
            _median([photo.align_residual_px for photo in photos]),
        )
    return text_of(table)


def pooled_table(done: PooledFiles) -> str:
    """Return each keeper's number, weight, design, and the average without them."""
    found = done.found
    table = Table(box=SIMPLE_HEAD)
    joined = "against" if found.scale == "ratio" else "minus"
    table.add_column("keeper", ratio=3)
    unit = unit_text(found.measure, found.scale, "currency", difference=True)
    table.add_column(f"{done.paired.arms[1]} {joined} {done.paired.arms[0]}, {unit}", ratio=3)
    table.add_column("weight", justify="right")
    table.add_column(f"average without, {unit}", ratio=3)
    table.add_column("design", ratio=3)
    for place, (result, finding) in enumerate(zip(found.results, done.paired.chosen, strict=True)):
        weight = "–" if found.pooled is None else f"{100 * found.pooled.weight[place]:.0f} %"
        without = found.without[place] if found.without else None
        table.add_row(
            result.keeper,
            range_text(found.measure, found.scale, result.effect),
            weight,
            "–" if without is None else range_text(found.measure, found.scale, without),
            finding.design.partition(",")[0],
        )
    return text_of(table)


def history_table(history: History) -> str:
    """Return the trials as rows and the measures as columns, differences with their intervals."""
    table = Table(box=SIMPLE_HEAD)
    table.add_column("trial", min_width=13, ratio=3)
    table.add_column("arms", ratio=3)
    for measure, unit in zip(history.measures, history.units, strict=True):
        table.add_column(f"{measure}, {unit}", ratio=3)
    for one in history.trials:
        cells = ["not asked" if cell is None else cell[0] or cell[1] for cell in one.cells]
        name = f"{one.title}{' (rendered demo)' if one.rendered else ''}"
        table.add_row(f"{name}\n{one.start} to {one.end}", one.arms, *cells)
    return text_of(table)


def decision_table(decision: Decision) -> str:
    """Return each aim with what the arms reached, and which is better."""
    of = decision.reached
    table = Table(box=SIMPLE_HEAD)
    table.add_column("aim")
    table.add_column("wanted")
    for name in of.arms:
        table.add_column(name, justify="right")
    table.add_column("better")
    for place, (aim, arm) in enumerate(zip(of.aims, decision.better, strict=True)):
        cells = [value_text(of.values[:, i, place]) for i in range(len(of.arms))]
        table.add_row(f"{aim.measure}, {aim.unit}", aim.better, *cells, arm or "no clear difference")
    return text_of(table)


def _median(values: Sequence[float | None]) -> str:
    known = sorted(value for value in values if value is not None)
    return f"{known[len(known) // 2]:.2f} (median)" if known else "not checked"


def text_of(table: Table) -> str:
    """Return a table as lines no wider than the terminal."""
    buffer = io.StringIO()
    width = min(WIDEST, shutil.get_terminal_size((WIDEST, 40)).columns)
    Console(file=buffer, width=width, color_system=None).print(table)
    return "\n".join(line.rstrip() for line in buffer.getvalue().rstrip().splitlines())
