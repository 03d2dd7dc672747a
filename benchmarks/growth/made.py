"""The files of a trial of any size: a trial file, and an entries file with about three rows a day for each tank."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path

START = date(2020, 1, 6)  # a Monday
READ = ("10", "5", "10", "20", "10", "5", "20")


def write_trial(folder: Path, *, tanks: int, days: int) -> Path:
    """Write trial.toml and entries.csv and return the first: half the tanks fed once, half twice as much."""
    folder.mkdir(parents=True, exist_ok=True)
    names = [f"t{number:03}" for number in range(tanks)]
    (folder / "entries.csv").write_text(_entries(names, days), encoding="utf-8")
    (folder / "trial.toml").write_text(_trial(names, days), encoding="utf-8")
    return folder / "trial.toml"


def _trial(names: list[str], days: int) -> str:
    others = "".join(f'[tanks.{name}]\nlike = "{names[0]}"\n' for name in names[1:])
    regimes = "".join(
        f"""[regimes.{regime}]
doses = [
  {{ of = "macro", amount = "{macro}", on = "every day" }},
  {{ of = "micro", amount = "1 mL", on = "every day" }},
]
changes = [{{ share = "40 %", on = ["Sat"] }}]
"""
        for regime, macro in (("sparing", "1 stroke"), ("full", "2 strokes"))
    )
    return f"""
format = 1
[trial]
key = "bench"
title = "{len(names)} tanks, {days} days"
factor = "feeding"
start = {START}
zone = "Europe/Berlin"
length = "{days} days"
[source]
nitrate = "10 mg/L"
[tanks.{names[0]}]
glass = "60 x 30 x 30 cm"
fill = "27 cm"
uptake = {{ nitrate = "9 % per day" }}
{others}
[bottles.macro]
salts = {{ KNO3 = "33 g" }}
made_up_to = "500 mL"
stroke = "1.1 mL"
[bottles.micro]
salts = {{ K2SO4 = "10 g" }}
made_up_to = "500 mL"
{regimes}
[arms.sparing]
tanks = {json.dumps(names[::2])}
regime = "sparing"
[arms.full]
tanks = {json.dumps(names[1::2])}
regime = "full"
[stands.fern]
[schedule]
doses_at = "18:00"
tests = [{{ of = ["nitrate"], on = ["Fri"] }}]
[[questions]]
key = "care"
ask = "Which took more care?"
measure = "care minutes"
"""


def _entries(names: list[str], days: int) -> str:
    """Two doses a day, minutes of care every other day, and by week a test and a water change: 2.8 rows a day."""
    lines = ["date,time,tank,kind,what,amount"]
    for day in range(days):
        on = START + timedelta(days=day)
        for place, name in enumerate(names):
            macro = "1 stroke" if place % 2 == 0 else "2 strokes"
            lines += [f"{on},18:00,{name},dose,macro,{macro}", f"{on},18:01,{name},dose,micro,1 mL"]
            if day % 2:
                lines.append(f"{on},18:05,{name},care,,{2 + (day + place) % 3} min")
            if on.weekday() == 4:
                lines.append(f'{on},17:50,{name},reading,nitrate,"{READ[(day + place) % 7]} mg/L ± 3, colour card"')
            if on.weekday() == 5:
                lines.append(f"{on},10:30,{name},water change,,40 %")
    return "\n".join(lines) + "\n"
