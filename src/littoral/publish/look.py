"""How everything published looks: one palette from water and leaves, one typeface, light and dark.

Arms are told apart by hue, by the shape of their points and by their name at the line's end, never by hue alone. All
lines are solid: a gap always means that something is missing. The hues stay apart under the three colour-vision
deficiencies (tests/published/test_arm_hues.py) and read as text on the paper (contrast 4.5 and more).
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Protocol

from littoral.speech.manner import cldr_language
from littoral.speech.numbers import MINUS, THIN, decimal_sign, numerals
from littoral.speech.say import say
from littoral.trial.model import Trial

FONT = "Liberation Sans, Arial, Helvetica, sans-serif"
"""Liberation Sans comes with the chart renderer, and Arial and Helvetica have the same widths."""


@dataclass(frozen=True, slots=True)
class ArmLook:
    """How one arm is drawn: colour on light and on dark paper, shape of its points."""

    colour: str
    on_dark: str
    shape: str


ARM_LOOKS = (
    ArmLook("#1a72aa", "#62b2e4", "circle"),  # open water
    ArmLook("#aa6000", "#e2a040", "square"),  # fallen leaf
    ArmLook("#2c5212", "#c3e39c", "triangle-up"),  # moss
    ArmLook("#64225a", "#f0c6e4", "diamond"),  # root
)


@dataclass(frozen=True, slots=True)
class Paper:
    """One set of colours a page or chart is drawn with: `soft` is for second-rank text, `line` for axes and rules."""

    paper: str
    ink: str
    soft: str
    line: str
    grid: str
    shade: str
    warning: str


LIGHT = Paper("#fbfcf9", "#1d2a27", "#53625d", "#7a8983", "#e1e7e2", "#e9efe9", "#98291c")
DARK = Paper("#101816", "#e4ebe6", "#a9b7b1", "#72817b", "#25312d", "#1c2724", "#ff9c8a")


def arm_look(trial: Trial, arm_key: str) -> ArmLook:
    """Return how an arm is drawn, by its place in the trial; looks repeat after the fourth arm."""
    keys = [arm.key for arm in trial.arms]
    return ARM_LOOKS[keys.index(arm_key) % len(ARM_LOOKS)]


def on_dark() -> dict[str, str]:
    """Return, for each colour a chart is drawn with, its colour on dark paper (both "#rrggbb")."""
    papers = {getattr(LIGHT, name): getattr(DARK, name) for name in Paper.__slots__}
    return papers | {look.colour: look.on_dark for look in ARM_LOOKS}


def for_dark_paper(drawing: str) -> str:
    """Return a chart's drawing (SVG text) or specification (JSON text) in its colours for dark paper."""
    swap = on_dark()
    return re.sub(r'"(#[0-9a-f]{6})"', lambda found: f'"{swap.get(found[1], found[1])}"', drawing)


def dark_css(selector: str) -> str:
    """Return CSS rules that give an inline SVG chart inside `selector` its colours for dark paper.

    A chart is one specification drawn with the light colours; each of them is swapped by what the SVG says it is.
    """
    return "\n".join(
        f'{selector} [fill="{light}"]{{fill:{dark}}}{selector} [stroke="{light}"]{{stroke:{dark}}}'
        for light, dark in on_dark().items()
    )


def vega_config() -> dict[str, Any]:
    """Return the Vega-Lite configuration that every chart carries within its specification."""
    label = {"labelFont": FONT, "labelFontSize": 12, "labelColor": LIGHT.soft}
    title = {"titleFont": FONT, "titleFontSize": 12, "titleFontWeight": "normal", "titleColor": LIGHT.soft}
    return {
        "font": FONT,
        "view": {"stroke": None},
        "axis": {
            **label,
            **title,
            "domainColor": LIGHT.line,
            "tickColor": LIGHT.line,
            "gridColor": LIGHT.grid,
            "tickSize": 4,
            "titlePadding": 6,
            "labelPadding": 3,
        },
        "title": {
            "font": FONT,
            "fontSize": 17,
            "color": LIGHT.ink,
            "anchor": "start",
            "subtitleFont": FONT,
            "subtitleFontSize": 12.5,
            "subtitleColor": LIGHT.soft,
            "subtitleLineHeight": 17,
            "subtitlePadding": 5,
            "offset": 14,
        },
        "text": {"font": FONT, "fontSize": 12, "color": LIGHT.ink},
        "concat": {"spacing": 18},
    }


def wrapped(text: str, *, width_px: float, font_px: float = 12.5) -> list[str]:
    """Break `text` into lines that fit `width_px`, at an average glyph width of half the font size (Arial widths)."""
    return textwrap.wrap(text, max(24, int(width_px / (0.5 * font_px)))) or [""]


class Shown(Protocol):
    """What a chart is of, such as a trial: it must say whether its photos are rendered."""

    @property
    def rendered(self) -> bool:
        """True where no real tank stands behind it."""


def finished(
    body: Mapping[str, Any], *, title: str, subtitle: str, alt: str, width_px: float, trial: Shown
) -> dict[str, Any]:
    """Return a whole specification: `body` with title, subtitle, alt text, configuration, and the demo's mark."""
    said = f"{say('Rendered demo, not a real tank.')} {subtitle}" if trial.rendered else subtitle
    spec = {
        "$schema": "https://vega.github.io/schema/vega-lite/v6.json",
        "description": alt,
        "background": LIGHT.paper,
        "padding": 8,
        "title": {
            "text": wrapped(title, width_px=width_px, font_px=18),
            "subtitle": wrapped(said, width_px=width_px),
        },
        "config": vega_config() | vega_locale(),
        **body,
    }
    return {key: _with_numerals(value, key) for key, value in spec.items()}


TEXTS = frozenset({"description", "text", "subtitle", "title"})
"""The properties of a specification that a person reads; numbers among them are numbers, and stay."""


def vega_locale() -> dict[str, Any]:
    """Return the part of the configuration that makes Vega write numbers as the language in force does."""
    if (sign := decimal_sign(cldr_language())) == ".":
        return {}
    number = {"decimal": sign, "thousands": THIN, "grouping": [3], "currency": ["", ""], "minus": MINUS}
    return {"locale": {"number": number}}


def _with_numerals(spec: Any, name: str = "") -> Any:
    """Return a specification whose texts have their numbers written as the language in force does."""
    if cldr_language() == "en":
        return spec
    if isinstance(spec, Mapping):
        return {key: _with_numerals(value, key) for key, value in spec.items()}
    if isinstance(spec, list):
        return [_with_numerals(value, name) for value in spec]
    return numerals(spec) if isinstance(spec, str) and name in TEXTS else spec
