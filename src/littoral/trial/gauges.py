"""What else than nutrients is read off in a tank: temperature, pH, light and so on, each with its unit."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Gauge:
    """One quantity that a keeper reads off: `unit` is what it is kept in, `units` how it may be written, with factors.

    Temperatures and hardness are parsed by `quantities.amounts` instead. `low` and `high` bound what can be true.
    """

    key: str
    name: str
    unit: str
    units: dict[str, float]
    low: float
    high: float
    example: str


GAUGES: dict[str, Gauge] = {
    gauge.key: gauge
    for gauge in (
        Gauge("temperature", "temperature", "°C", {}, -2.0, 60.0, "24.5 °C"),
        Gauge("ph", "pH", "", {"": 1.0, "pH": 1.0}, 0.0, 14.0, "6.8"),
        Gauge(
            "conductivity", "conductivity", "µS/cm",
            {"µS/cm": 1.0, "uS/cm": 1.0, "mS/cm": 1000.0, "mS/m": 10.0, "S/m": 10_000.0}, 0.0, 100_000.0, "320 µS/cm",
        ),
        Gauge("kh", "KH", "dKH", {}, 0.0, 100.0, "4 dKH"),
        Gauge("gh", "GH", "dGH", {}, 0.0, 200.0, "8 dGH"),
        Gauge(
            "par", "PAR", "µmol/m²/s",
            {"µmol/m²/s": 1.0, "µmol/m2/s": 1.0, "umol/m2/s": 1.0, "PAR": 1.0, "PPFD": 1.0},
            0.0, 5000.0, "60 µmol/m²/s",
        ),
        Gauge(
            "co2 bubbles", "CO2 bubbles", "per min",
            {"per min": 1.0, "/min": 1.0, "per minute": 1.0, "per s": 60.0, "/s": 60.0, "per second": 60.0},
            0.0, 10_000.0, "60 per min",
        ),
        Gauge(
            "light", "light", "h", {"h": 1.0, "hours": 1.0, "hour": 1.0, "min": 1 / 60, "minutes": 1 / 60},
            0.0, 24.0, "8 h",
        ),
    )
}  # fmt: skip
"""Every gauge by the word that stands in the column `what`."""
