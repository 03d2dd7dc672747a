"""The tables of a package besides entries: the design, what was measured on photos, and levels."""

from __future__ import annotations

from collections.abc import Mapping

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.publish.package.columns import Column, ForeignKey, TableSpec
from littoral.trial.measures import MEASURES


def _text(name: str, meaning: str, *, required: bool = False) -> Column:
    return Column(name, "string", meaning, required=required)


TANKS = TableSpec(
    "tanks", "Tanks", "The tanks: the experimental units.",
    (
        _text("tank", "short name of the tank", required=True),
        _text("name", "name shown"),
        _text("arm", "the arm that it is listed in"),
        Column("net_volume_l", "number", "litres of water really in the tank; empty where none is tracked", "L"),
        Column("evaporation_l_per_day", "number", "water lost to the air", "L/day"),
    ),
    ("tank",), (ForeignKey("arm", "arms", "arm"),),
)  # fmt: skip
ARMS = TableSpec(
    "arms", "Arms", "The levels of the factor. A finding is the second arm minus the first.",
    (
        _text("arm", "short name of the arm", required=True),
        _text("name", "name shown"),
        _text("regime", "regime from the end of the baseline on; empty where nothing is dosed"),
    ),
    ("arm",),
)  # fmt: skip
FED = TableSpec(
    "fed", "What each regime adds", "What a regime plans to add in a week, as a mean over the arm's tanks.",
    (
        _text("arm", "the arm", required=True),
        _text("nutrient", "what is added, as the ion: nitrate as NO3, phosphate as PO4", required=True),
        Column("mg_per_l_per_week", "number", "planned addition", "mg/L/week", required=True),
    ),
    ("arm", "nutrient"), (ForeignKey("arm", "arms", "arm"),),
)  # fmt: skip
QUESTIONS = TableSpec(
    "questions", "Questions", "What was asked before the start.",
    (
        _text("question", "short name of the question", required=True),
        _text("ask", "the question in words"),
        Column("measure", "string", "the measure that answers it", required=True, one_of=tuple(MEASURES)),
        _text("unit", "unit of the measure"),
        Column("of", "array", "stands or regions it is asked about; empty: all"),
        _text("expect_arm", "the arm of which something was expected"),
        Column("expect", "string", "what was expected of that arm", one_of=("higher", "lower")),
        Column("smallest", "number", "smallest difference that matters, in the measure's unit"),
        Column("primary", "boolean", "whether the trial was made for this question", required=True),
    ),
    ("question",),
)  # fmt: skip
STANDS = TableSpec(
    "stands", "Stands", "One kind of plant in one place.",
    (_text("stand", "short name", required=True), _text("name", "name shown")), ("stand",),
)  # fmt: skip
VIEWS = TableSpec(
    "views", "Views", "Fixed camera positions.",
    (
        _text("view", "short name", required=True),
        _text("name", "name shown"),
        Column("width_px", "integer", "width of the frame that regions are drawn on", "px"),
        Column("height_px", "integer", "height of that frame", "px"),
        Column("camera_locked", "boolean", "whether exposure and white balance were fixed"),
    ),
    ("view",),
)  # fmt: skip
BOTTLES = TableSpec(
    "bottles", "Bottles and dry salts", "What was dosed from.",
    (_text("bottle", "short name", required=True), _text("name", "name shown")), ("bottle",),
)  # fmt: skip
CONTENTS = TableSpec(
    "bottle_contents", "Contents of bottles", "What one mL of a bottle, or one g of a dry salt, holds.",
    (
        _text("bottle", "the bottle", required=True),
        Column("nutrient", "string", "as the ion: nitrate as NO3", required=True, one_of=tuple(NUTRIENTS)),
        Column("mg_per_ml", "number", "in one millilitre", "mg/mL"),
        Column("mg_per_g", "number", "in one gram of a dry salt", "mg/g"),
    ),
    ("bottle", "nutrient"), (ForeignKey("bottle", "bottles", "bottle"),),
)  # fmt: skip
GAUGE_TABLE = TableSpec(
    "gauges", "Gauges", "What is read off besides nutrients, and its unit.",
    (_text("gauge", "what is read", required=True), _text("name", "name shown"), _text("unit", "unit")), ("gauge",),
)  # fmt: skip
PHOTO_MEASURES = TableSpec(
    "photo_measures", "Measured photos", "One row for each photo in force: how well it could be corrected and aligned.",
    (
        _text("entry", "the photo's entry", required=True),
        _text("view", "the camera position", required=True),
        Column("day", "number", "days since day 0", "days", required=True),
        _text("correction", "which references its colours were corrected by"),
        Column("colour_residual", "number", "RMS colour difference left on the references", "dE00"),
        Column("align_residual_px", "number", "what is left on the frame after alignment", "px"),
        Column("flags", "array", "what is wrong with the photo"),
        _text("excluded", "why it was set aside; empty where it was not"),
        _text("picture", "the corrected and aligned picture within this package; empty where it was left out"),
    ),
    ("entry",), (ForeignKey("entry", "entries", "entry"), ForeignKey("view", "views", "view")),
)  # fmt: skip
REGION_WORDS: Mapping[str, tuple[str, str]] = {
    "cover": ("1", "share of the region's polygon covered by plant"),
    "height_px": ("px", "canopy height on the view's frame"),
    "height_cm": ("cm", "canopy height over the stand's base"),
    "width_cm": ("cm", "distance across"),
    "lightness": ("", "CIELAB L* (D65) of the mid-tones"),
    "a": ("", "CIELAB a* of the mid-tones"),
    "b": ("", "CIELAB b* of the mid-tones"),
    "colour_error": ("", "standard error of each of L*, a*, b*, the camera included"),
    "algae": ("1", "share of the region that has turned green since the first days"),
}
MEASURES_TABLE = TableSpec(
    "measures", "Measures", "What was measured in each region of each photo.",
    (
        _text("entry", "the photo's entry", required=True),
        _text("tank", "the tank shown", required=True),
        _text("region", "stand or other region", required=True),
        _text("region_kind", "stand, stone, wood, glass or card", required=True),
        *(Column(name, "number", meaning, unit) for name, (unit, meaning) in REGION_WORDS.items()),
        Column("flags", "array", "what is wrong with these numbers"),
    ),
    ("entry", "tank", "region"), (ForeignKey("entry", "photo_measures", "entry"), ForeignKey("tank", "tanks", "tank")),
)  # fmt: skip
LEVELS = TableSpec(
    "levels", "Levels", "Levels between readings as worked out from doses and changes; no measurement.",
    (
        _text("tank", "the tank", required=True),
        Column("day", "number", "days since day 0", "days", required=True),
        Column("nutrient", "string", "as the ion", required=True, one_of=tuple(NUTRIENTS)),
        Column("upper_mg_per_l", "number", "without any uptake", "mg/L", required=True),
        Column("likely_mg_per_l", "number", "with the uptake stated in the trial file", "mg/L"),
    ),
    ("tank", "day", "nutrient"), (ForeignKey("tank", "tanks", "tank"),),
)  # fmt: skip

DESIGN = (ARMS, TANKS, FED, QUESTIONS, STANDS, VIEWS, BOTTLES, CONTENTS, GAUGE_TABLE)
