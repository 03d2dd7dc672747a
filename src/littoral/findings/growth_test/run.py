"""A growth test from its table to its answer."""

from __future__ import annotations

from littoral.findings.growth_test.compare import compared
from littoral.findings.growth_test.growth import guideline_for, validity, vessel_growth
from littoral.findings.growth_test.model import (
    Compared,
    GrowthTable,
    GrowthTest,
    Guideline,
    Measured,
    MeasuredGrowth,
    Rule,
)
from littoral.findings.growth_test.words import NORMALITY, RULES, SOURCES, WILLIAMS, lead_of, validity_words
from littoral.stats.many_to_one import Side

NOT_NORMAL = 0.05
MOST_WILLIAMS = 12
"""Doses up to which Williams' chances are worked out: the time grows with the square of their number."""


def growth_test(
    table: GrowthTable,
    *,
    guideline: Guideline | None = None,
    side: Side | None = None,
    ask_williams: bool = False,
) -> GrowthTest:
    """Return everything that follows from a table of sizes; `guideline` is chosen by what was measured unless given.

    Dunnett's test is two-sided unless a `side` is given ("less" where a dose is expected to lower growth); Williams' is
    one-sided, "less" unless said otherwise. It needs doses with numbers; without them it is left out and said so.
    """
    by = guideline_for(table.measured) if guideline is None else guideline
    rows = validity(table, by)
    valid = all(row.verdict != "fails" for row in rows)
    factor = "dose" if table.ordered else "treatment"
    williams_fits = table.ordered and len(table.groups) - 1 <= MOST_WILLIAMS
    results = tuple(
        _measured(table, one, factor=factor, side=side, ask_williams=ask_williams and williams_fits, valid=valid)
        for one in table.measured
    )
    used: list[Rule] = list(dict.fromkeys(one.rule for result in results for one in result.rate.doses))
    rules = [RULES[rule] for rule in used]
    if ask_williams and not williams_fits:
        rules.append(
            f"Williams' test was asked for and left out: it needs doses that are numbers, at most {MOST_WILLIAMS}."
        )
    tested = sum(one.df is not None for result in results for one in (result.rate, result.grown))
    if tested > 1:
        rules.append(f"{tested} numbers of each vessel were tested, each at 5 %; nothing is held back for that.")
    rules += [
        f"{result.measured.name.capitalize()}, {one.of}: what is left about the groups' means does not look normal "
        f"(p = {one.normality.p_value:.2g}), which Dunnett's test leans on."
        for result in results
        for one in (result.rate, result.grown)
        if one.normality is not None and one.normality.p_value < NOT_NORMAL
    ]
    williams_ran = any(one.williams_t is not None for result in results for one in result.rate.doses)
    looked_at = any(one.normality is not None for result in results for one in (result.rate, result.grown))
    sources = (
        *(SOURCES if tested else SOURCES[:1]),
        *((WILLIAMS,) if williams_ran else ()),
        *((NORMALITY,) if looked_at else ()),
    )
    lead = lead_of(by, rows, results)
    return GrowthTest(table, by, rows, validity_words(by, rows), results, lead, tuple(rules), sources)


def _measured(
    table: GrowthTable, measured: Measured, *, factor: str, side: Side | None, ask_williams: bool, valid: bool
) -> MeasuredGrowth:
    own = [vessel for vessel in table.vessels if measured.name in vessel.sizes]
    grown = tuple(vessel_growth(vessel, vessel.sizes[measured.name]) for vessel in own)
    days = own[0].sizes[measured.name].day
    unit = measured.unit or ("fronds" if measured.name == "frond count" else measured.name)

    def of(what: str, of_unit: str) -> Compared:
        return compared(
            grown,
            table.groups,
            of=what,
            unit=of_unit,
            factor=factor,
            side=side,
            ask_williams=ask_williams,
            valid=valid,
            dose_unit=table.unit if table.ordered else "",
        )

    return MeasuredGrowth(measured, float(days[-1] - days[0]), grown, of("growth rate", "per day"), of("yield", unit))
