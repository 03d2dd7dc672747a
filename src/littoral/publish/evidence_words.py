"""What a finding rests on and what weakened it, in words: days as runs, and each disturbance named once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from littoral.findings.model import Finding
from littoral.quantities.counting import counted
from littoral.quantities.runs import runs_words


def disturbances(findings: Sequence[Finding]) -> dict[str, str]:
    """Return what weakened any of the findings, by its reason in words, each with its number in the one list of them.

    The texts follow the order in which the findings name them, so that number n is the n-th.
    """
    reasons = dict.fromkeys(reason for one in findings for reason in one.evidence.disturbed_by.values())
    return {reason: f"{reason[:1].upper()}{reason[1:]}." for reason in reasons}


def evidence_words(finding: Finding, weakened: Mapping[str, str]) -> str:
    """Return what a finding rests on: its days, how many photos and entries, and which of `weakened` bear on it."""
    evidence = finding.evidence
    parts = [f"day{'' if len(evidence.days) == 1 else 's'} {runs_words(evidence.days)}"] if evidence.days else []
    parts += [counted(one, noun) for one, noun in ((evidence.photos, "photo"), (evidence.entries, "entry")) if one]
    said = "; ".join(parts) or "none"
    numbers = [place for place, reason in enumerate(weakened, start=1) if reason in evidence.disturbed_by.values()]
    words = f"{said[:1].upper()}{said[1:]}."
    return f"{words} Weakened by {runs_words(numbers)} in the list below." if numbers else words
