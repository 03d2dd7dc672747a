"""The files a new trial starts from: a trial file with defaults and comments, and the header of the entries."""

from __future__ import annotations

import hashlib
import json
import re
import textwrap
import unicodedata

import numpy as np

from littoral.trial.design import draw_arms
from littoral.trial.measures import MEASURES
from littoral.trial.written.amounts import lengths_cm
from littoral.trial.written.entries_csv import COLUMNS
from littoral.trial.written.moments import read_date
from littoral.trial.written.report import WrongValueError

_TEMPLATE = """\
# A trial: what is asked, what differs, what is held the same. Change every line that does not fit;
# `littoral check trial.toml` names all mistakes. The reference page on the trial file explains every key.
format = 1

[trial]
key = {key}
title = {title}
factor = {factor}
start = {start}                # day 0: the day everything is planted
zone = {zone}                  # where the clock hangs: an IANA name
length = {length}
baseline = {{ length = {baseline}, regime = "{first}" }}   # all tanks alike, before the arms differ
draw = {{ how = {draw}, seed = {seed} }}
held_equal = ["light 8 h a day", "water change 40 % on Saturdays", "same stands, same day"]
currency = {currency}

[source]                          # the water used for changes: from the supplier's report
name = "tap water: replace by your report"
nitrate = "10 mg/L"
phosphate = "0.1 mg/L"
potassium = "3 mg/L"
calcium = "60 mg/L"
magnesium = "8 mg/L"

[tanks.left]
name = "left tank"
glass = {glass}         # inside: length x width x height
fill = {fill}                  # height of the water over the bottom glass
substrate = {{ depth = {substrate}, porosity = 0.40 }}
evaporation = "1 L per week"
top_up = "pure water"             # or "source water"
uptake = {{ nitrate = "9 % per day", phosphate = "12 % per day", potassium = "5 % per day", iron = "30 % per day" }}

[tanks.right]
like = "left"                     # every key of the left tank, unless given here
name = "right tank"

# Salts can burn, oxidise or poison: read the supplier's safety data sheet before weighing, label every bottle, and keep
# them away from children. Overdosing kills animals.
[bottles.macro]                   # a stock solution weighed from salts
name = "macro stock"
salts = {{ KNO3 = "33 g", KH2PO4 = "2.6 g", K2SO4 = "8 g" }}
made_up_to = "500 mL"
stroke = "1.1 mL"                 # weigh ten strokes of water and divide by ten
packs = {{ KNO3 = "500 g for 7.90", KH2PO4 = "250 g for 6.50", K2SO4 = "500 g for 6.90" }}

[bottles.micro]                   # a bought bottle: copy the analysis and the advice from its label
name = "micro bottle"
label = {{ by = "mass", density = "1.06 kg/L", Fe = "0.7 %", Mn = "0.18 %", B = "0.02 %", Zn = "0.02 %" }}
recommended = "6 mL per 100 L every 7 days"
drop = "0.05 mL"
packs = {{ bottle = "250 mL for 9.80" }}

[regimes.{first}]
name = {first_name}
doses = [
  {{ of = "macro", amount = "1 stroke", on = ["Sun", "Wed"] }},
  {{ of = "micro", amount = "8 drops", on = ["Mon", "Thu"] }},
]
changes = [{{ share = "40 %", on = ["Sat"] }}]

[regimes.{second}]
name = {second_name}
doses = [
  {{ of = "macro", amount = "4 strokes", on = ["Sun", "Tue", "Thu"] }},
  {{ of = "micro", amount = "1.2 mL", on = ["Mon", "Wed", "Fri"] }},
]
changes = [{{ share = "40 %", on = ["Sat"] }}]

[arms.{first}]
name = {first_name}
tanks = [{first_tanks}]
regime = "{first}"

[arms.{second}]
name = {second_name}
tanks = [{second_tanks}]
regime = "{second}"

# [design]                        # rules set beforehand: take away the "#" and write yours
# kind = "parallel"
# stopping = "if the animals gasp or dart, in all tanks"
# trimming = "at 25 cm, to 10 cm, in all tanks on the same day"

[schedule]                        # what is on the list of the day, and in the calendar, besides doses
doses_at = "18:00"
changes_at = "10:00"
tests = [{{ of = ["nitrate"], on = ["Sat"], at = "09:30" }}]
photos = [{{ on = "every day", at = "19:00" }}]

[bands]                           # where levels should stay: your own aims, not published limits
nitrate = {{ floor = "5 mg/L", ceiling = "25 mg/L" }}

[stands.tall]                     # one kind of plant in one place; called by what it looks like
name = "tall stem plant"

{views}
# The questions, written down before the start. One of them is the primary one. Each is answered by a measure:
{measures}
[[questions]]
key = "growth"
ask = {faster}
measure = "height growth"
expect = "{second} higher"
smallest = 0.005                  # per day: the smallest difference that would matter
primary = true

[[questions]]
key = "compact"
ask = {more_compact}
measure = "compactness"
expect = "{second} lower"

[[questions]]
key = "colour"
ask = {redder}
measure = "redness"

[[questions]]
key = "algae"
ask = "Where did more algae come?"
measure = "algae"

[[questions]]
key = "care"
ask = "How many minutes of care did each tank take?"
measure = "care minutes"

[[questions]]
key = "cost"
ask = "Which regime costs less?"
measure = "cost"
"""

VIEW_TEXT = """\
[views.{tank}]                      # one fixed camera position
name = {called}
photos = "photos/{tank}"
frame = "1600 x 1200 px"          # the size of the photo on which the points below were read

[views.{tank}.tanks.{tank}]
corners = [[100, 140], [1500, 140], [1500, 1060], [100, 1060]]   # front glass: top left first, then clockwise
width = {width}                   # between the left and the right corners
regions = [                       # read the points off your first photo
  {{ stand = "tall", polygon = [[300, 200], [700, 200], [700, 900], [300, 900]] }},
  {{ glass = "bare glass", polygon = [[1400, 200], [1480, 200], [1480, 900], [1400, 900]] }},
]
"""


def starting_text(
    *,
    title: str,
    start: str,
    glass: str = "60 x 30 x 30 cm",
    fill: str = "",
    substrate: str = "5 cm",
    factor: str = "feeding regime",
    first: str = "sparing",
    second: str = "full",
    zone: str = "UTC",
    length: str = "8 weeks",
    baseline: str = "2 weeks",
    currency: str = "EUR",
    key: str = "",
    seed: int | None = None,
) -> str:
    """Return the text of a trial file for two tanks, left and right, whose arms are drawn by lot from `seed`.

    All values are written as a person writes them, the start as "2026-03-02"; they are not checked here: the text is to
    be read by `read_trial`, which names what is wrong. Without a `fill` the water stands at nine tenths of the glass;
    without a `key` one is made from the title, and without a `seed` one from title and start. `first` and `second` name
    the two regimes, and with them the arms; the first is that of the baseline.
    """
    try:
        width_cm, _, height_cm = lengths_cm(glass)
    except WrongValueError:  # said by whoever reads the text
        width_cm, height_cm = 60.0, 30.0
    if seed is None:
        seed = int.from_bytes(hashlib.sha256(f"{title} {start}".encode()).digest()[:4], "big")
    keys = key_of(first, otherwise="first"), key_of(second, otherwise="second")
    if keys[0] == keys[1]:
        keys = "first", "second"
    first_tanks, second_tanks = draw_arms(("left", "right"), keys, rng=np.random.default_rng(seed)).values()
    drawn = f"the {second_tanks[0]} tank gets {second}"
    views = "\n".join(
        VIEW_TEXT.format(tank=tank, called=quoted(f"{tank} tank, front"), width=quoted(f"{width_cm:g} cm"))
        for tank in ("left", "right")
    )
    return _TEMPLATE.format(
        key=quoted(key or key_of(title, otherwise="trial")),
        title=quoted(title),
        factor=quoted(factor),
        start=_date(start),
        zone=quoted(zone),
        length=quoted(length),
        baseline=quoted(baseline),
        draw=quoted(drawn),
        seed=seed,
        currency=quoted(currency),
        glass=quoted(glass),
        fill=quoted(fill or f"{0.9 * height_cm:.3g} cm"),
        substrate=quoted(substrate),
        first=keys[0],
        first_name=quoted(first),
        first_tanks=", ".join(quoted(tank) for tank in first_tanks),
        second=keys[1],
        second_name=quoted(second),
        second_tanks=", ".join(quoted(tank) for tank in second_tanks),
        faster=quoted(f"Did the plants grow faster with {second}?"),
        more_compact=quoted(f"Did the plants stay more compact with {first}?"),
        redder=quoted(f"Were the plants redder with {second}?"),
        views=views,
        measures=textwrap.fill(f"{', '.join(MEASURES)}.", 118, initial_indent="# ", subsequent_indent="# "),
    )


def starting_entries() -> str:
    """Return the header of an empty entries file."""
    return ",".join(COLUMNS) + "\n"


def _date(written: str) -> str:
    """Write a date, in whichever clear form it was given, as TOML has it; leave what is none for the reader to name."""
    try:
        return read_date(written.strip()).isoformat()
    except WrongValueError:
        return quoted(written)


def quoted(text: str) -> str:
    """Write text as a TOML string: JSON's escapes are TOML's, but for the delete character."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def key_of(title: str, *, otherwise: str) -> str:
    """Make a short name from a title: "Moss, with CO2?" becomes moss-with-co2; `otherwise` where nothing is left."""
    plain = unicodedata.normalize("NFKD", title.lower().replace("ß", "ss")).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:40].strip("-") or otherwise
