"""What is fed, out of a few words: what a bottle holds, one dose, how often; and its tables in a trial file."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from littoral.errors import Fault
from littoral.feeding.regimes import WEEKDAYS
from littoral.quantities.amounts import AmountError, parse_counted
from littoral.quantities.numbers import two_readings
from littoral.trial.written.starting import quoted

DROP_ML = 0.05
"""A drop of a watery liquid from a common dropper: common practice, no source. The keeper counts their own later."""
OFTEN: Mapping[str, tuple[int, ...]] = {
    "every day": (0, 1, 2, 3, 4, 5, 6),
    "three times a week": (0, 2, 4),
    "twice a week": (0, 3),
    "once a week": (0,),
}
"""How often is fed, as days after the first: the first dose is due on the day the trial begins."""
CHANGE_AFTER_DAYS = 6


@dataclass(frozen=True, slots=True)
class Feed:
    """What is fed, as a person writes it: the bottle's name, what it holds, one dose, and how often (OFTEN)."""

    name: str
    holds: str
    dose: str
    often: str = "three times a week"


@dataclass(frozen=True, slots=True)
class Fed:
    """A feed that was read: the line that says what the bottle holds, one dose in mL, how it was written, its days."""

    holds: str
    ml: float
    after_days: tuple[int, ...]
    in_drops: bool


def read_feed(feed: Feed, faults: list[Fault]) -> Fed | None:
    """Return a feed as it was read; None where something is wrong, which is then added to `faults` by its answer."""
    before = len(faults)
    if not feed.name.strip():
        faults.append(Fault("is empty.", "Write what stands on the bottle.", "feed"))
    ml, in_drops = _dose(feed.dose, faults)
    if feed.often not in OFTEN:
        faults.append(Fault(f"is {feed.often!r}.", f"Write one of: {', '.join(OFTEN)}.", "often"))
    holds = _holds(feed.holds, faults)
    return Fed(holds, ml, OFTEN[feed.often], in_drops) if len(faults) == before else None


def _dose(written: str, faults: list[Fault]) -> tuple[float, bool]:
    try:
        count, unit = parse_counted(written)
    except AmountError as error:
        what = f"is {written!r}: {error.reason}." if written.strip() else "is empty."
        faults.append(Fault(what, "Write it like 2 mL or 8 drops.", "dose"))
        return 0.0, False
    if unit in ("mL", "drop") and count > 0:
        return count * (DROP_ML if unit == "drop" else 1.0), unit == "drop"
    what, right = f"is {written!r}.", "Write what is given each time, such as 2 mL or 8 drops."
    if unit == "stroke":
        right = "Press ten strokes into a measuring cylinder, divide by ten, and write mL."
    elif unit == "g":
        right = "Dry salts go into the trial file later; start with a liquid, such as 2 mL."
    faults.append(Fault(what, right, "dose"))
    return 0.0, False


_PERCENT = re.compile(r"(?P<name>[A-Za-z][A-Za-z0-9 ()-]*?)\s*:?\s*(?P<percent>[0-9]+(?:[.,][0-9]+)?)\s*%")
_GRAMS = re.compile(r"(?P<name>[A-Za-z][A-Za-z0-9.()]*)\s*:?\s*(?P<grams>[0-9]+(?:[.,][0-9]+)?)\s*g")
_BETWEEN = re.compile(r"\s*;\s*|\s*,\s+|\s+and\s+|(?<=[%g])\s*,\s*")
_IN = re.compile(r"\s+in\s+(?P<volume>[0-9]+(?:[.,][0-9]+)?\s*(?:mL|ml|L|l))\s*$")


def _holds(written: str, faults: list[Fault]) -> str:
    """Return a bottle's lines for an analysis in percent, or for salts in a volume of water."""
    right = "Copy the label's analysis, such as NO3 6 %, K2O 3 %; or what you weighed, such as KNO3 33 g in 500 mL."
    text = written.strip()
    if not text:
        faults.append(Fault("is empty. Without it no level can be worked out.", right, "holds"))
        return ""
    volume = _IN.search(text)
    parts = _BETWEEN.split((text[: volume.start()] if volume else text).strip(" ,;"))
    found = [(_GRAMS if volume else _PERCENT).fullmatch(part) for part in parts]
    odd = [part for part, match in zip(parts, found, strict=True) if match is None]
    if odd:
        faults.append(Fault(f"cannot be read: {odd[0]!r}.", right, "holds"))
        return ""
    unclear = [both for match in found if match is not None and (both := two_readings(match[2])) is not None]
    if unclear and volume:  # of percent only one of both can be
        small, large = unclear[0]
        faults.append(Fault("holds a number that may be one or a thousandfold.", f"Write {small} or {large}.", "holds"))
        return ""
    rows = {match["name"]: match[2].replace(",", ".") for match in found if match is not None}
    if len(rows) < len(parts):
        faults.append(Fault("names the same thing twice.", "Give each once.", "holds"))
        return ""
    if volume:
        salts = ", ".join(f'{quoted(name)} = "{value} g"' for name, value in rows.items())
        return f"salts = {{ {salts} }}\nmade_up_to = {quoted(volume['volume'])}\n"
    analysis = ", ".join(f'{_key(name)} = "{value} %"' for name, value in rows.items())
    return f'label = {{ by = "mass", density = "1 kg/L", {analysis} }}   # weigh 100 mL, or by = "volume"\n'


def _key(name: str) -> str:
    """Return a label's name as a key of a TOML table: bare where it may be, as in NO3-N, else quoted."""
    return name if re.fullmatch(r"[A-Za-z0-9-]+", name) else quoted(name)


def bottle_text(feed: Feed | None, fed: Fed | None) -> str:
    """Return the bottle's table, "" where nothing is fed."""
    if feed is None or fed is None:
        return ""
    drop = f'drop = "{DROP_ML:g} mL"                  # count the drops in a millilitre\n' if fed.in_drops else ""
    return (
        "# Salts can burn, oxidise or poison: read the supplier's safety data sheet, label every bottle, and keep\n"
        "# them away from children. Overdosing kills animals.\n"
        f"[bottles.feed]\nname = {quoted(feed.name.strip())}\n{fed.holds}{drop}\n"
    )


def regimes_text(regimes: Mapping[str, str], fed: Fed | None, start: date) -> str:
    """Return a table for each regime (name by key): the first as fed today, the second with half of it."""
    change = WEEKDAYS[(start + timedelta(days=CHANGE_AFTER_DAYS)).weekday()]
    text = ""
    for place, (key, name) in enumerate(regimes.items()):
        text += f"[regimes.{key}]\nname = {quoted(name)}\n"
        if fed is not None:
            days = ", ".join(f'"{WEEKDAYS[(start.weekday() + after) % 7]}"' for after in fed.after_days)
            amount = _amount(fed.ml / (2 if place else 1), in_drops=fed.in_drops)
            text += f'doses = [{{ of = "feed", amount = {quoted(amount)}, on = [{days}] }}]\n'
        text += f'changes = [{{ share = "40 %", on = ["{change}"] }}]\n\n'
    return text


def _amount(ml: float, *, in_drops: bool) -> str:
    drops = round(ml / DROP_ML, 6)
    if in_drops and drops == int(drops):
        return f"{int(drops)} drop{'' if drops == 1 else 's'}"  # as files are read, whatever language is spoken
    return f"{ml:.6g} mL"
