"""What OECD 221 and 239 ask of a test's own control before the test may be believed, as check rows.

A home trial is no guideline test; the same questions show whether its plants grew well and evenly enough to compare.
"""

from __future__ import annotations

import numpy as np

from littoral.quantities.check_row import CheckRow, Verdict
from littoral.stats.oecd import average_specific_growth_rate, doubling_time_days
from littoral.stats.regression import TooFewPointsError
from littoral.stats.series import FloatArray

OECD_221 = "OECD 221 (2006), validity of the test; EU 761/2009 Annex VI (the limit itself from memory)"
OECD_239 = "OECD 239 (2014), validity of the test (from memory)"

MOST_DOUBLING_DAYS = 2.5
LEAST_GROWN = 2.0
MOST_CV_PERCENT = 35.0
LEAST_CONTROLS = 6
LEAST_PER_DOSE = 4
DAYS_239 = 14.0


def oecd_221_validity(*, fronds_start: FloatArray, fronds_end: FloatArray, days: float) -> tuple[CheckRow, ...]:
    """Return the check of a duckweed test by its control vessels' frond counts (n,), the first above 0, `days` apart.

    Held is the doubling time itself, under 2.5 days: the guideline's "about seven-fold in seven days" and "0.275 per
    day" are roundings of it that do not agree with each other.
    """
    start, end = float(np.mean(fronds_start)), float(np.mean(fronds_end))
    doubling = None
    if end > start:  # a control that died out has no rate at all
        doubling = doubling_time_days(average_specific_growth_rate(size_start=start, size_end=end, days=days))
    if doubling is None:
        verdict: Verdict = "fails"
        comment = "The control did not grow at all. Look at light, warmth and nutrients before comparing anything."
    elif doubling < MOST_DOUBLING_DAYS:
        verdict, comment = "holds", "The control grew as fast as the guideline asks."
    else:
        verdict = "fails"
        comment = "The control grew too slowly. Look at light, warmth and nutrients before comparing anything."
    return (
        CheckRow(
            "doubling time of the control's fronds",
            doubling,
            "<",
            MOST_DOUBLING_DAYS,
            "days",
            verdict,
            comment,
            OECD_221,
        ),
    )


def oecd_239_validity(
    *,
    length_start: FloatArray | None,
    length_end: FloatArray | None,
    weight_start: FloatArray | None,
    weight_end: FloatArray | None,
    days: float,
    vessels_per_dose: int | None = None,
) -> tuple[CheckRow, ...]:
    """Return the checks of a water-milfoil test by its control vessels' shoots, each array (n,) above 0, one unit each.

    Mean shoot length and mean fresh weight at least double (asked within 14 days: a shorter test is held to the same),
    and the yield of fresh weight varies by at most 35 %; at least 6 control vessels and 4 of each dose. What was not
    measured is None, and its rows cannot be told. Raises TooFewPointsError below 2 control vessels.
    """
    n = min((int(np.size(end)) for end in (length_end, weight_end) if end is not None), default=0)
    if n < 2:
        raise TooFewPointsError(points=n, needed=2, what="control vessels")
    rows = [
        _unmeasured(f"{name} of the control, end over start", ">=", LEAST_GROWN, "1", needs=name)
        if start is None or end is None
        else _at_least(
            f"{name} of the control, end over start",
            float(np.mean(end) / np.mean(start)),
            LEAST_GROWN,
            "1",
            good="The control at least doubled.",
            bad="The control did not double. Look at light, warmth and nutrients before comparing anything.",
        )
        for name, start, end in (
            ("shoot length", length_start, length_end),
            ("fresh weight", weight_start, weight_end),
        )
    ]
    rows.append(_evenness(weight_start, weight_end))
    rows.append(
        CheckRow(
            "length of the test",
            days,
            ">=",
            DAYS_239,
            "days",
            "holds" if days >= DAYS_239 else "warns",
            "As long as the guideline's test." if days >= DAYS_239 else "Shorter than the guideline's 14 days.",
            OECD_239,
        )
    )
    more = "More vessels make a difference easier to see."
    rows.append(_at_least("control vessels", n, LEAST_CONTROLS, "1", good="Enough.", bad=more, verdict="warns"))
    if vessels_per_dose is not None:
        rows.append(
            _at_least(
                "vessels of each dose", vessels_per_dose, LEAST_PER_DOSE, "1", good="Enough.", bad=more, verdict="warns"
            )
        )
    return tuple(rows)


def _evenness(start: FloatArray | None, end: FloatArray | None) -> CheckRow:
    what = "spread of the control's yield of fresh weight"
    if start is None or end is None:
        return _unmeasured(what, "<=", MOST_CV_PERCENT, "%", needs="fresh weight")
    yields = np.asarray(end, dtype=float) - np.asarray(start, dtype=float)
    mean = float(yields.mean())
    cv = float(yields.std(ddof=1)) / mean * 100 if mean > 0 else None
    even = cv is not None and cv <= MOST_CV_PERCENT
    comment = (
        "The control's vessels are even enough." if even else "The control's vessels grew too unevenly to compare."
    )
    return CheckRow(what, cv, "<=", MOST_CV_PERCENT, "%", "holds" if even else "fails", comment, OECD_239)


def _unmeasured(what: str, operator: str, limit: float, unit: str, *, needs: str) -> CheckRow:
    return CheckRow(what, None, operator, limit, unit, "cannot tell", f"The table holds no {needs}.", OECD_239)


def _at_least(
    what: str, value: float, limit: float, unit: str, *, good: str, bad: str, verdict: Verdict = "fails"
) -> CheckRow:
    holds = value >= limit
    return CheckRow(
        what, float(value), ">=", limit, unit, "holds" if holds else verdict, good if holds else bad, OECD_239
    )
