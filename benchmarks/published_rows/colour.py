"""Colour against published values: the sRGB curve, CIELAB of five colours, CIEDE2000 pairs."""

from __future__ import annotations

import numpy as np

from littoral.imaging.colour import ciede2000, linear_to_lab, srgb_to_linear

_SRGB = "IEC 61966-2-1:1999, evaluated by hand at 8 bits"
_LAB = "CIE 015:2018 with the D65 white of ASTM E308; the values scikit-image 0.26 gives"
_SHARMA = "Sharma, Wu, Dalal 2005, Color Res Appl 30:21-30, Table 1 (typed from memory, checked with two libraries)"

_LINEAR = {10: 0.00303527, 11: 0.00334654, 128: 0.21586050, 188: 0.50288646}
_COLOURS = {
    (34, 139, 34): (50.59, -49.59, 45.02),
    (85, 107, 47): (42.23, -18.83, 30.60),
    (0, 100, 0): (36.20, -43.37, 41.86),
    (0, 255, 0): (87.74, -86.18, 83.18),
    (255, 0, 0): (53.24, 80.09, 67.20),
}
_BLUE = (50.0, 0.0, -82.7485)
_RED = (50.0, 2.49, -0.001)
_YELLOW = (50.0, -0.001, 2.49)
_PALE = (50.0, 2.5, 0.0)
_PAIRS = (
    ((50, 2.6772, -79.7751), _BLUE, 2.0425),
    ((50, 3.1571, -77.2803), _BLUE, 2.8615),
    ((50, 2.8361, -74.0200), _BLUE, 3.4412),
    ((50, -1.3802, -84.2814), _BLUE, 1.0000),
    ((50, -1.1848, -84.8006), _BLUE, 1.0000),
    (_RED, (50, -2.49, 0.0009), 7.1792),
    (_RED, (50, -2.49, 0.0010), 7.1792),
    (_RED, (50, -2.49, 0.0011), 7.2195),
    (_RED, (50, -2.49, 0.0012), 7.2195),
    (_YELLOW, (50, 0.0009, -2.49), 4.8045),
    (_YELLOW, (50, 0.0010, -2.49), 4.8045),
    (_YELLOW, (50, 0.0011, -2.49), 4.7461),
    (_PALE, (50, 0.0, -2.5), 4.3065),
    (_PALE, (73, 25, -18), 27.1492),
    (_PALE, (61, -5, 29), 22.8977),
    (_PALE, (56, -27, -3), 31.9030),
    (_PALE, (58, 24, 15), 19.4535),
    ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
    ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
)


def _row(name: str, *, value: float, unit: str, reference: float, limit: float, source: str) -> dict[str, object]:
    difference = abs(value - reference)
    return {
        "name": name,
        "value": value,
        "unit": unit,
        "reference": reference,
        "difference": difference,
        "limit": limit,
        "holds": bool(difference <= limit),
        "source": source,
    }


def rows() -> list[dict[str, object]]:
    """One row per published value; each limit is half a unit in the last digit printed by the source."""
    out = [
        _row(
            f"linear light of the 8-bit sRGB value {byte}",
            value=float(srgb_to_linear(byte / 255)),
            unit="share of white",
            reference=linear,
            limit=5.001e-9,
            source=_SRGB,
        )
        for byte, linear in _LINEAR.items()
    ]
    for rgb, lab in _COLOURS.items():
        found = linear_to_lab(srgb_to_linear(np.array(rgb) / 255))
        out += [
            _row(
                f"{part} of sRGB {rgb}", value=float(value), unit="CIELAB", reference=printed, limit=0.005, source=_LAB
            )
            for part, value, printed in zip(("L*", "a*", "b*"), found, lab, strict=True)
        ]
    out += [
        _row(
            f"CIEDE2000 of {one} and {two}",
            value=float(ciede2000(one, two)),
            unit="ΔE00",
            reference=printed,
            limit=5.001e-5,
            source=_SHARMA,
        )
        for one, two, printed in _PAIRS
    ]
    return out
