"""What each finding rests on and how it was found out, as lines for the terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from littoral.findings.model import Finding
from littoral.quantities.counting import counted
from littoral.quantities.runs import runs_words

WIDTH = 100


def explained(findings: Sequence[Finding]) -> Iterator[str]:
    """Yield why each may say it, what it rests on, what weakens it, tests beside it, what would change it, and how."""
    for finding in findings:
        yield ""
        yield from _put(finding.ask)
        for head, texts in _parts(finding):
            yield f"  {head}"
            for text in texts:
                yield from _put(text, first="  - ")


def _parts(finding: Finding) -> Iterator[tuple[str, list[str]]]:
    evidence = finding.evidence
    yield "Why it may say this much", [*([finding.detail] if finding.detail else []), finding.rule_text]
    if evidence.days:
        noted = counted(evidence.entries, "entry")
        rests = [
            f"Days {runs_words(evidence.days)}; {counted(evidence.photos, 'photo') if evidence.photos else noted}."
        ]
        rests += [f"Day {one.day}: {one.why}." for one in evidence.carrying]
        yield "What it rests on", rests
    if evidence.influence:
        yield "Left out one at a time", [one.text for one in evidence.influence]
    weakened = [*dict.fromkeys(evidence.disturbed_by.values()), *evidence.remarks]
    if weakened:
        yield "What weakens it", [f"{text[:1].upper()}{text[1:].rstrip('.')}." for text in weakened]
    if finding.beside:
        yield "Tests beside it", [f"{one.text} {one.source}." for one in finding.beside]
    yield "What would change this answer", [finding.next_step]
    yield "How this was found out", [" ".join(finding.plain_method), finding.cannot_show, finding.source]


def _put(text: str, *, first: str = "") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=" " * len(first))
