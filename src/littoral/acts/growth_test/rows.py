"""A growth test's numbers as rows of text, the same in the terminal and on the page."""

from __future__ import annotations

from littoral.findings.growth_test.model import Compared, GrowthTest, MeasuredGrowth, Versus
from littoral.findings.growth_test.words import number, p_words
from littoral.publish.tables import Table
from littoral.quantities.check_row import CheckRow

NONE = "–"


def validity_table(found: GrowthTest) -> Table:
    """Return the guideline's criteria, a row each."""
    rows = tuple(
        (row.what, _value(row.value), f"{row.operator} {row.limit:g}" if row.limit is not None else NONE,
         "" if row.unit == "1" else row.unit, row.verdict, row.comment)
        for row in found.validity
    )  # fmt: skip
    sources = "; ".join(dict.fromkeys(row.source for row in found.validity))
    return Table("Criteria of validity", ("Criterion", "Found", "Asked", "Unit", "Verdict", ""), ("",) * 6, rows,
                 note=f"Source: {sources}.", numbers=False)  # fmt: skip


def _value(value: float | None) -> str:
    return NONE if value is None else f"{value:.3g}"


def verdict_of(row: CheckRow) -> str:
    """Return a verdict as a class of the style sheet."""
    return row.verdict.replace(" ", "-")


def versus_table(found: GrowthTest, result: MeasuredGrowth, of: Compared) -> Table:
    """Return one number by dose: mean, spread, inhibition, tests."""
    williams = any(one.williams_t is not None for one in of.doses)
    columns = ["Dose" if found.table.ordered else "Treatment", "Vessels", "Mean", "SD", "Inhibition", "Dunnett t", "p"]
    units = [found.table.unit if found.table.ordered else "", "", of.unit, "", "%", "", ""]
    if williams:
        columns += ["Williams t", "critical", "p", "called"]
        units += [""] * 4
    rows = [_versus(one, control=place == 0, williams=williams) for place, one in enumerate((of.control, *of.doses))]
    normal = of.normality
    note = "" if normal is None else (
        f"{of.df} degrees of freedom. What is left about the groups' means: Shapiro and Wilk's W = {normal.w:.4f}, "
        f"{p_words(normal.p_value)}."
    )  # fmt: skip
    title = f"{of.of[:1].upper()}{of.of[1:]} of {result.measured.name}"
    return Table(title, tuple(columns), tuple(units), tuple(rows), note=note)


def _versus(one: Versus, *, control: bool, williams: bool) -> tuple[str, ...]:
    doubt = one.reach or one.spread or abs(one.mean or 0.0) or 1.0
    name = f"{one.group} (control)" if control and one.group.lower() != "control" else one.group
    cells = [
        name,
        str(one.vessels),
        NONE if one.mean is None else number(one.mean, doubt / 10),
        NONE if one.spread is None else number(one.spread, doubt / 10),
        NONE if one.inhibition_percent is None else number(one.inhibition_percent, 1),
        NONE if one.t is None else number(one.t, 0.1),
        NONE if one.p_value is None else p_words(one.p_value).removeprefix("p ").removeprefix("= "),
    ]
    if williams:
        cells += [
            NONE if one.williams_t is None else number(one.williams_t, 0.1),
            NONE if one.williams_critical is None else number(one.williams_critical, 0.01),
            NONE if one.williams_p is None else p_words(one.williams_p).removeprefix("p ").removeprefix("= "),
            NONE if one.williams_called is None else ("yes" if one.williams_called else "no"),
        ]
    return tuple(cells)


def vessels_table(found: GrowthTest, result: MeasuredGrowth) -> Table:
    """Return every vessel: start, end, rates from day to day, average rate, yield, doubling time."""
    spans = sorted({(part.from_day, part.to_day) for one in result.vessels for part in one.sections})
    several = len(spans) > 1
    unit = result.measured.unit
    columns = ["Vessel", "Dose" if found.table.ordered else "Treatment", "Start", "End"]
    columns += [f"Rate, day {a:g} to {b:g}" for a, b in spans] if several else []
    columns += ["Average rate", "Yield", "Doubling time"]
    units = ["", found.table.unit if found.table.ordered else "", unit, unit, *["per day"] * (len(spans) * several),
             "per day", unit, "days"]  # fmt: skip
    rows = []
    for one in result.vessels:
        by_span = {(part.from_day, part.to_day): part.rate for part in one.sections}
        rates = [by_span.get(span) for span in spans] if several else []
        rows.append(
            (
                one.vessel, one.group, f"{one.start:.4g}", f"{one.end:.4g}",
                *(NONE if rate is None else number(rate, 0.01) for rate in rates),
                NONE if one.rate is None else number(one.rate, 0.001), number(one.grown, abs(one.grown) / 20 or 1.0),
                NONE if one.doubling_days is None else number(one.doubling_days, 0.1),
            )
        )  # fmt: skip
    return Table(f"Each vessel, {result.measured.name}", tuple(columns), tuple(units), tuple(rows))
