"""Published limits: what the table's formulas give, against the figures their sources print for one water."""

from __future__ import annotations

from collections.abc import Iterator

from rows import Row
from rows import printed_row as _row

from littoral.chemistry.ammonia import unionised_share
from littoral.chemistry.limits import WaterConditions, limit_here, limits
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.weights import element_share
from littoral.quantities.hardness import hardness_mmol_per_l


def rows() -> list[Row]:
    return [*_formulas(), *_as_n_or_as_no3(), *_un_ionised()]


def _here(key: str, *, hardness: float | None = None, ph: float | None = None, doc: float | None = None) -> float:
    """A limit of the table at a hardness in mg CaCO3/L, in its own unit."""
    limit = next(one for one in limits() if one.key == key)
    mmol = None if hardness is None else hardness_mmol_per_l(hardness, unit="ppm CaCO3")
    value = limit_here(limit, WaterConditions(hardness_mmol_per_l=mmol, ph=ph, doc_mg_per_l=doc)).value
    assert value is not None, key
    return value


def _formulas() -> Iterator[Row]:
    ccme = "CCME, as in Statistics Canada 16-256-X; recomputed independently"
    for hardness, printed in ((100.0, "2.36"), (150.0, "3.34"), (50.0, "2"), (200.0, "4")):
        ours = _here("copper, CCME, long", hardness=hardness)
        yield _row(f"copper, CCME, hardness {hardness:g}", ours, "µg/L", printed, ccme)
    epa = "US EPA, national recommended criteria at a hardness of 100 mg CaCO3/L (from memory)"
    yield _row("copper, EPA acute, hardness 100", _here("copper, EPA, acute", hardness=100), "µg/L", "13", epa)
    yield _row("copper, EPA chronic, hardness 100", _here("copper, EPA, chronic", hardness=100), "µg/L", "9.0", epa)
    again = "40 CFR 131.36, recomputed independently"
    for hardness, acute, chronic in ((50.0, "6.99", "4.95"), (25.0, "3.64", "2.74")):
        for term, printed in (("acute", acute), ("chronic", chronic)):
            ours = _here(f"copper, EPA, {term}", hardness=hardness)
            yield _row(f"copper, EPA {term}, hardness {hardness:g}", ours, "µg/L", printed, again)
    ours = _here("zinc, EPA, acute", hardness=100)
    yield _row("zinc, EPA acute, hardness 100", ours, "µg/L", "117", "US EPA (from memory), published rounded to 120")
    zinc = "CCME 2018, hardness 50, pH 7.5, DOC 0.5 mg/L (from memory)"
    ours = _here("zinc, CCME, long", hardness=50, ph=7.5, doc=0.5)
    yield _row("zinc, CCME long", ours, "µg/L", "7.0", zinc)
    ours = _here("zinc, CCME, short", hardness=50, ph=7.5, doc=0.5)
    yield _row("zinc, CCME short", ours, "µg/L", "37", zinc)
    bc = "British Columbia's equations, recomputed independently at a hardness of 100 mg CaCO3/L"
    for term, printed in (("long", "1.045"), ("short", "1.642")):
        yield _row(f"manganese, BC {term}", _here(f"manganese, BC, {term}", hardness=100), "mg/L", printed, bc)


def _as_n_or_as_no3() -> Iterator[Row]:
    """The same guideline in its two forms: 13 mg NO3/L is 3 mg N/L; 13 mg N/L would be 58 mg NO3/L."""
    share = NUTRIENTS["nitrate"].element_share
    ours = _here("nitrate, CCME, long") * share
    yield _row("nitrate, CCME long, as N", ours, "mg N/L", "3", "British Columbia's independent 3.0 mg N/L (read)")
    ours = _here("nitrate, CCME, short") * share
    yield _row("nitrate, CCME short, as N", ours, "mg N/L", "124", "CCME 2012 (from memory)")
    share = NUTRIENTS["nitrite"].element_share
    ours = _here("nitrite, CCME, long") / share
    yield _row("nitrite, CCME, as NO2", ours, "mg NO2/L", "0.197", "CCME (from memory)")


def _un_ionised() -> Iterator[Row]:
    source = "CCME's 0.019 mg NH3/L as total ammonia, recomputed independently with Emerson et al. 1975"
    limit_n = _here("ammonia, CCME, un-ionised") * element_share("NH3", "N")
    yield _row("un-ionised ammonia, CCME, as N", limit_n, "mg N/L", "0.0156", source)
    for ph, printed in ((8.0, "0.290"), (7.0, "2.76")):
        ours = limit_n / unionised_share(ph=ph, temperature_c=25.0)
        yield _row(f"total ammonia at that limit, pH {ph:g}, 25 °C", ours, "mg N/L", printed, source)
