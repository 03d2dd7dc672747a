"""The style sheet: the published palette, and contrast by WCAG 2.2.

Source: W3C, Web Content Accessibility Guidelines 2.2, "relative luminance" and "contrast ratio", success criteria
1.4.3 (text, 4.5) and 1.4.11 (parts of controls and graphics, 3).
"""

from __future__ import annotations

import re
from importlib import resources
from pathlib import Path

import pytest

from littoral.acts.page_charts import WIDTHS_PX
from littoral.publish.look import ARM_LOOKS, DARK, LIGHT

WEB = resources.files("littoral.web")
SHEETS = {file.name: file.read_text() for file in (WEB / "static").iterdir() if file.name.endswith(".css")}
"""Every style sheet of the pages."""
COUNTED = re.compile(r"(?:arm|count|lanes|cols|columns|part|room|fits)-\d+|missed-dose|cannot-tell")
"""Names of classes that are put together from what they hold."""
SHEET = (resources.files("littoral.web") / "static" / "page.css").read_text()


def _roots() -> tuple[dict[str, str], dict[str, str]]:
    light, dark = (
        dict(re.findall(r"--([a-z0-9-]+):\s*(#[0-9a-f]{6})", block))
        for block in re.findall(r":root\s*{([^}]*)}", SHEET)
    )
    return light, light | dark


def _luminance(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    lighter, darker = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def test_the_formula_gives_the_ends_of_its_scale():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#777777") == 1


def test_the_colours_are_those_of_everything_published():
    light, dark = _roots()
    for name in ("paper", "ink", "soft", "line", "grid", "shade", "warning"):
        assert light[name] == getattr(LIGHT, name)
        assert dark[name] == getattr(DARK, name)
    for place, look in enumerate(ARM_LOOKS):
        assert light[f"arm-{place}"] == look.colour
        assert dark[f"arm-{place}"] == look.on_dark
        assert light[f"deep-arm-{place}"] == look.on_dark  # the twin view is dark in both themes


def test_the_room_for_a_chart_is_that_of_the_drawing_that_fits():
    assert sorted({int(px) for px in re.findall(r"@container[^{]*?>= (\d+)px", SHEET)}) == list(WIDTHS_PX[1:])
    assert sorted({int(px) for px in re.findall(r"\(width < (\d+)px\)", SHEET)}) == list(WIDTHS_PX[1:])


TEXT = [
    ("ink", "paper"), ("soft", "paper"), ("link", "paper"), ("warning", "paper"), ("ink", "shade"), ("paper", "link"),
    ("paper", "ink"), ("deep-ink", "deep"), ("deep-soft", "deep"), ("deep-warning", "deep"), ("deep-ink", "deep-rise"),
    ("deep", "deep-ink"), ("deep-warning", "deep-rise"), ("soft", "shade"), ("link", "shade"), ("warning", "shade"),
    ("paper", "warning"), ("deep-soft", "deep-rise"), *((f"arm-{place}", "paper") for place in range(4)),
]  # fmt: skip
PARTS = [
    ("line", "paper"), ("line", "shade"), ("focus", "paper"), ("focus", "shade"), ("done", "paper"), ("done", "shade"),
    *((f"arm-{place}", ground) for place in range(4) for ground in ("paper", "shade")),
    *((f"deep-arm-{place}", ground) for place in range(4) for ground in ("deep", "deep-rise")),
    ("deep-line", "deep"), ("deep-line", "deep-rise"), ("link", "shade"), ("link", "grid"),
]  # fmt: skip


@pytest.mark.parametrize("theme", [0, 1], ids=["light", "dark"])
def test_text_is_readable(theme):
    colours = _roots()[theme]
    low = {pair: round(contrast(colours[pair[0]], colours[pair[1]]), 2) for pair in TEXT}
    assert {pair: ratio for pair, ratio in low.items() if ratio < 4.5} == {}


@pytest.mark.parametrize("theme", [0, 1], ids=["light", "dark"])
def test_controls_and_marks_stand_out(theme):
    colours = _roots()[theme]
    low = {pair: round(contrast(colours[pair[0]], colours[pair[1]]), 2) for pair in PARTS}
    assert {pair: ratio for pair, ratio in low.items() if ratio < 3} == {}


def test_every_measure_and_colour_that_is_used_is_there() -> None:
    said = "\n".join(SHEETS.values())
    assert set(re.findall(r"var\((--[\w-]+)", said)) - set(re.findall(r"(--[\w-]+):", said)) == set()


def test_no_page_has_a_colour_of_its_own() -> None:
    """Colours stand in one place; those over photos (outlines, a shade behind words) are the drawing pages' own."""
    own = {
        name: sorted(set(re.findall(r"#[0-9a-f]{6}\b", text)))
        for name, text in SHEETS.items()
        if name not in ("page.css", "drawing.css", "gallery.css", "twin.css", "teach.css")
    }
    assert {name: found for name, found in own.items() if found} == {}


def test_no_style_is_left_that_nothing_wears() -> None:
    files = [one for one in Path(str(WEB)).rglob("*") if one.suffix in (".html", ".js", ".py")]
    worn = set(re.findall(r"[\w-]+", "\n".join(file.read_text() for file in files)))
    for name, text in SHEETS.items():
        classes = set(re.findall(r"\.([a-z][\w-]+)(?=[\s,{:.>\[)])", re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL)))
        assert {one for one in classes - worn if not COUNTED.fullmatch(one)} == set(), name
