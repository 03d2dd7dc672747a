"""The demo's trial file, written from the same facts that the pictures and entries are made from."""

from __future__ import annotations

from itertools import count

import numpy as np

from littoral.demo.doses import CHANGE_SHARE
from littoral.demo.layout import CARD_REFLECTS, Frame, Layout, corners_px, polygon_px
from littoral.demo.recipes import MADE_UP_TO_ML, MICRO_PACK, SALT_PACKS, SALTS_G, SOURCE_NITRATE_MG_PER_L
from littoral.demo.story import BASELINE_DAYS, START, ZONE, Story
from littoral.trial.design import draw_arms

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")

HEAD = """\
# The trial of the demo: an invented school club, photos rendered from known truth.
# Every line can be changed; `littoral check trial.toml` says what is wrong.
format = 1

[trial]
key = "sparing-or-full"
title = "Sparing or full feeding in two 54-litre tanks"
factor = "feeding regime"
start = {start}                # day 0
zone = "{zone}"
length = "{days} days"
baseline = {{ length = "{baseline} days", regime = "sparing" }}
draw = {{ how = "the {full} tank gets the full regime", seed = {seed} }}
held_equal = [
  "light 8 h a day",
  "water change {change:.0f} % on Saturdays",
  "same stands, planted the same day",
  "stems cut to the same height",
  "the marked strip of front glass is never wiped",
]
currency = "EUR"
photos_are = "rendered demo"

[source]
name = "tap water, report of 2026"
nitrate = "{source:g} mg/L"
phosphate = "0.1 mg/L"
potassium = "3 mg/L"
calcium = "60 mg/L"
magnesium = "8 mg/L"
iron = "0.01 mg/L"

[design]                          # settled before the start
kind = "parallel"
stopping = "if animals gasp at the surface or a tank leaks, the trial ends for both tanks"
trimming = "on Saturdays, a stand that has grown up to its mark is cut back to its own height, the same in both tanks"

[schedule]                        # what the members had on their list besides doses and changes
doses_at = "13:30"
changes_at = "10:30"
tests = [{{ of = ["nitrate"], on = ["Sat"], at = "13:20" }}]
photos = [{{ on = "every day" }}]

[bands]                           # where levels should stay; the members' own aims
nitrate = {{ floor = "5 mg/L", ceiling = "25 mg/L" }}
phosphate = {{ floor = "0.2 mg/L", ceiling = "2 mg/L" }}
potassium = {{ floor = "5 mg/L" }}

[methods.card]                    # how nitrate is tested, and what the card showed of a known standard
called = "colour card"
kind = "nitrate colour card"
standard = "20 mg/L"
standard_reads = ["20", "20", "20"]

[tanks.left]
name = "left tank"
glass = "60 x 30 x 30 cm"         # inside: length x width x height
fill = "27 cm"                    # height of the water over the bottom glass
substrate = {{ depth = "5 cm", porosity = 0.40 }}
stone = {{ mass = "1.8 kg", density = "2.65 kg/L" }}
wood = "0.6 L"
evaporation = "0.7 L per week"
top_up = "pure water"
uptake = {{ nitrate = "9 % per day", phosphate = "12 % per day", potassium = "5 % per day", iron = "30 % per day" }}

[tanks.right]
like = "left"                     # every key of the left tank, unless given here
name = "right tank"

[bottles.macro]
name = "macro stock"
salts = {{ {salts} }}
made_up_to = "{made_up_to:g} mL"
stroke = "1.1 mL"
packs = {{ {packs} }}

[bottles.micro]
name = "micro bottle"
label = {{ by = "mass", density = "1.06 kg/L", Fe = "0.7 %", Mn = "0.18 %", B = "0.02 %", Zn = "0.02 %", \
Cu = "0.003 %", Mo = "0.003 %", K2O = "0.9 %" }}
recommended = "6 mL per 100 L every 7 days"
drop = "0.05 mL"
packs = {{ bottle = "{micro[0]:g} mL for {micro[1]:.2f}" }}
"""

QUESTIONS = """
[[questions]]
key = "growth"
ask = "Did the stem plants grow faster with the full regime?"
measure = "height growth"
of = ["red-stem", "feather", "green-stem"]
expect = "full higher"
smallest = 0.003                  # per day
primary = true

[[questions]]
key = "compact"
ask = "Did the stem plants stay more compact with the sparing regime?"
measure = "compactness"
of = ["red-stem", "feather", "green-stem"]
expect = "full lower"
smallest = 0.5                    # points of cover per cm of height

[[questions]]
key = "red"
ask = "Did the red stem plant turn redder with the full regime?"
measure = "redness"
of = ["red-stem"]
expect = "full higher"
smallest = 2.0                    # a*

[[questions]]
key = "algae"
ask = "Where did more algae come?"
measure = "algae"
smallest = 5.0                    # points

[[questions]]
key = "care"
ask = "How many minutes of care did each tank take?"
measure = "care minutes"
expect = "full higher"

[[questions]]
key = "cost"
ask = "What does feeding cost?"
measure = "cost"
expect = "full higher"
"""


def trial_text(story: Story, layouts: dict[str, Layout], frame: Frame) -> str:
    """Return the text of `trial.toml` for a story, with the polygons of both views on the nominal frame."""
    parts = [
        HEAD.format(
            start=START.isoformat(),
            zone=ZONE,
            days=story.days,
            seed=_draw_seed(story),
            full="left" if story.arm_of["left"] == "full" else "right",
            baseline=BASELINE_DAYS,
            change=CHANGE_SHARE * 100,
            salts=", ".join(f'{salt} = "{grams:g} g"' for salt, grams in SALTS_G.items()),
            made_up_to=MADE_UP_TO_ML,
            packs=", ".join(f'{salt} = "{grams:g} g for {price:.2f}"' for salt, (grams, price) in SALT_PACKS.items()),
            micro=MICRO_PACK,
            source=SOURCE_NITRATE_MG_PER_L,
        )
    ]
    parts += [_regime(key, story) for key in story.regimes]
    for arm in story.regimes:
        tanks = ", ".join(f'"{tank}"' for tank, its in story.arm_of.items() if its == arm)
        parts.append(f'[arms.{arm}]\ntanks = [{tanks}]\nregime = "{arm}"\n')
    parts += [f'[stands.{stand.key}]\nname = "{stand.name}"\n' for stand in story.stands]
    parts += [_view(layout, frame) for layout in layouts.values()]
    return "\n".join(parts) + QUESTIONS


def _draw_seed(story: Story) -> int:
    """Return the number that the members drew with: the first from 20260301 on that divides the tanks as they are."""
    for seed in count(20260301):
        drawn = draw_arms(tuple(story.arm_of), tuple(story.regimes), rng=np.random.default_rng(seed))
        if all(story.arm_of[tank] == arm for arm, tanks in drawn.items() for tank in tanks):
            return seed
    raise AssertionError("every division comes up")


def _regime(key: str, story: Story) -> str:
    lines = [f"[regimes.{key}]", f'name = "{key}"', "doses = ["]
    for dose in story.regimes[key]:
        days = ", ".join(f'"{WEEKDAYS[day]}"' for day in dose.weekdays)
        lines.append(f'  {{ of = "{dose.of}", amount = "{dose.amount}", on = [{days}] }},')
    lines += ["]", f'changes = [{{ share = "{CHANGE_SHARE * 100:.0f} %", on = ["Sat"] }}]', ""]
    return "\n".join(lines)


def _view(layout: Layout, frame: Frame) -> str:
    tank = layout.tank
    lines = [
        f"[views.{tank}]",
        f'name = "{tank} tank, front"',
        f'photos = "photos/{tank}"',
        f'frame = "{frame.size[0]} x {frame.size[1]} px"',
        "camera_locked = false",
        "",
        f"[views.{tank}.tanks.{tank}]",
        f"corners = {corners_px(frame).tolist()}   # front glass, top left first, clockwise",
        'width = "60 cm"',
        "regions = [",
    ]
    regions = [("stand", stand.key, stand.polygon_cm) for stand in layout.stands]
    regions += [(place.kind, place.key, place.polygon_cm) for place in layout.places]
    for kind, key, polygon in regions:
        known = f', reflects = "{100 * CARD_REFLECTS[key]:g} %"' if key in CARD_REFLECTS else ""
        lines.append(f'  {{ {kind} = "{key}", polygon = {polygon_px(polygon, frame).tolist()}{known} }},')
    lines += ["]", ""]
    return "\n".join(lines)
