"""A label as it was written: its three numbers, how they count, and what else it declares."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from littoral.chemistry.label_grades import percent_of_grade
from littoral.chemistry.label_names import LabelError, chelated_name, declared_name


@dataclass(frozen=True, slots=True)
class LabelWritten:
    """A label of phosphorus or potassium as it was written: its grade and how that counts, or percent by declaration.

    `counting` is one of COUNTING, "" where no grade is given: then each name says what it counts. `by` is "mass", or
    "volume" where a percent is a gram in 100 mL.
    """

    name: str
    grade: str
    counting: str
    percent: Mapping[str, float]
    by: str = "mass"


def with_grade(grade: str, counting: str, percent: Mapping[str, float]) -> dict[str, float]:
    """Return the label's entries, in percent, with those of its grade. Raises LabelError where both name one."""
    if not grade:
        return dict(percent)
    of_grade = percent_of_grade(grade, counting="elements" if counting == "elements" else "oxides")
    both = sorted({declared_name(name) for name in percent if chelated_name(name) is None} & of_grade.keys())
    if both:
        reason = f"the grade {grade} says it already"
        raise LabelError(entry=", ".join(both), reason=reason, right="Give it once.")
    return {**of_grade, **percent}
