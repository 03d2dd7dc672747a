"""A chart speaks the language in force: its words, the numbers in them, and those that Vega writes."""

from __future__ import annotations

from typing import Any

from littoral.publish.look import finished
from littoral.speech.manner import Manner, speaking


class _Real:
    rendered = True


def _spec() -> dict[str, Any]:
    axis = {"title": "a*, 0.5 a step", "values": [0.5, 1.5]}
    mark = {"mark": {"type": "text", "text": "p = 0.036"}, "encoding": {"x": {"field": "v1.5", "axis": axis}}}
    return finished(
        {"layer": [mark], "data": {"values": [{"v": 1.5}]}},
        title="A difference of 1.5",
        subtitle="0.5 to 1.5",
        alt="It is 1.5.",
        width_px=700,
        trial=_Real(),
    )


def test_english_charts_carry_no_locale() -> None:
    spec = _spec()
    assert "locale" not in spec["config"]
    assert spec["title"]["subtitle"] == ["Rendered demo, not a real tank. 0.5 to 1.5"]


def test_a_german_chart_has_decimal_commas_everywhere() -> None:
    with speaking(Manner(language="de")):
        spec = _spec()
    assert spec["config"]["locale"]["number"]["decimal"] == ","
    assert spec["title"] == {
        "text": ["A difference of 1,5"],
        "subtitle": ["Gezeichnete Demo, kein echtes Becken. 0,5 to 1,5"],
    }
    assert spec["description"] == "It is 1,5."
    layer = spec["layer"][0]
    assert layer["mark"]["text"] == "p = 0,036"
    assert layer["encoding"]["x"] == {"field": "v1.5", "axis": {"title": "a*, 0,5 a step", "values": [0.5, 1.5]}}
    assert spec["data"] == {"values": [{"v": 1.5}]}
