"""What a reading looks like, for a field that is still empty."""

from __future__ import annotations

from littoral.trial.gauges import GAUGES


def reading_example(item: str) -> str:
    """Return an example for the name of a planned test: "24.5 °C" for a temperature, "10 mg/L" for a nutrient."""
    of = item.partition("/test ")[2].partition("/")[0]
    return GAUGES[of].example if of in GAUGES else "10 mg/L"
