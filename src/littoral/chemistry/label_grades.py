"""The three numbers on a bag: N-P-K, which mostly means N-P2O5-K2O, and in some countries does not."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Literal

from littoral.chemistry.label_names import LabelError
from littoral.chemistry.weights import element_share
from littoral.quantities.derivation import Step

Counting = Literal["oxides", "elements"]
_GRADE = re.compile(r"\s*(\d+(?:[.,]\d+)?)\s*[-–:/]\s*(\d+(?:[.,]\d+)?)\s*[-–:/]\s*(\d+(?:[.,]\d+)?)\s*", re.ASCII)


def percent_of_grade(grade: str, *, counting: Counting) -> dict[str, float]:
    """Return the percentages of a grade such as "10-5-14", under the names of `labels.content_of_label`.

    `counting`: "oxides" (N-P2O5-K2O: the EU, the US and most countries) or "elements" (N-P-K: Norway, Sweden,
    Australia, New Zealand, South Africa, from memory). Its nitrogen is the total: the label says in which forms, and
    they must be given too. Raises LabelError.
    """
    match = _GRADE.fullmatch(grade)
    if match is None:
        right = "Write three numbers, such as 10-5-14."
        raise LabelError(entry="grade", reason=f'"{grade[:40]}" is no grade', right=right)
    n, p, k = (float(number.replace(",", ".")) for number in match.groups())
    if n + p + k > 100:
        reason = f"{n:g} + {p:g} + {k:g} = {n + p + k:g} %, which is over 100 %"
        raise LabelError(entry="grade", reason=reason, right="Look for a slipped decimal point.")
    names = ("N", "P2O5", "K2O") if counting == "oxides" else ("N", "P", "K")
    return {name: percent for name, percent in zip(names, (n, p, k), strict=True) if percent > 0}


def grade_both_ways(grade: str, *, counting: Counting) -> tuple[Step, ...]:
    """Return what a grade is in the other counting, line by line: the factor between them is 2.29 for P, 1.20 for K.

    Raises LabelError.
    """
    return label_both_ways(percent_of_grade(grade, counting=counting))


def label_both_ways(entries: Mapping[str, float]) -> tuple[Step, ...]:
    """Return what phosphorus and potassium of a label (percent by declaration) are in the other counting, line by line.

    Only "P", "P2O5", "K" and "K2O" have two countings that are taken for each other; other declarations have no line.
    """
    steps = []
    for name, percent in entries.items():
        oxide = {"P": "P2O5", "P2O5": "P2O5", "K": "K2O", "K2O": "K2O"}.get(name)
        if oxide is None:
            continue
        share = element_share(oxide, oxide[0])
        as_oxide = name == oxide
        other = f"{percent * share:.3g} % {oxide[0]}" if as_oxide else f"{percent / share:.3g} % {oxide}"
        sign = "×" if as_oxide else "/"
        steps.append(Step(f"{percent:g} % {name}", f"{percent:g} {sign} {share:.4f}", other, "standard atomic weights"))
    return tuple(steps)
