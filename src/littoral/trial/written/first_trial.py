"""The text of a first trial from three answers: what one wants to know, which tanks, what is fed; else defaults.

Nothing is fed above what the keeper says is fed already: where feed itself is the question, the other arm gets half.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from littoral.errors import Fault, FaultsError
from littoral.trial.design import draw_arms
from littoral.trial.written.amounts import lengths_cm
from littoral.trial.written.first_feed import Feed, bottle_text, read_feed, regimes_text
from littoral.trial.written.report import WrongValueError
from littoral.trial.written.starting import VIEW_TEXT, key_of, quoted

MOST_TANKS = 24


@dataclass(frozen=True, slots=True)
class Wish:
    """Something to find out: `factor` is what differs, `first` and `second` the names of the two arms.

    `ask` is the primary question, `held` what is held the same because it is not what differs.
    """

    key: str
    words: str
    title: str
    factor: str
    first: str
    second: str
    ask: str
    held: tuple[str, ...]


LIGHT_HELD = "light 8 h a day"
WISHES: Mapping[str, Wish] = {
    one.key: one
    for one in (
        Wish(
            "feed",
            "Do my plants need all I feed them?",
            "All the feed or half of it",
            "feeding regime",
            "all of it",
            "half of it",
            "Did the plants grow slower with half of it?",
            (LIGHT_HELD,),
        ),
        Wish(
            "light",
            "Do longer days make better plants?",
            "Eight or ten hours of light",
            "hours of light",
            "8 hours",
            "10 hours",
            "Did the plants grow faster with 10 hours?",
            (),
        ),
        Wish(
            "CO2",
            "Is added CO2 worth it?",
            "Without or with added CO2",
            "CO2",
            "without CO2",
            "with CO2",
            "Did the plants grow faster with CO2?",
            (LIGHT_HELD,),
        ),
    )
}
_TEMPLATE = """\
# A trial, started from three answers. Everything else is a default: change every line that does not fit.
# `littoral check trial.toml` names all mistakes. The reference page on the trial file explains every key.
format = 1

[trial]
key = {key}
title = {title}
factor = {factor}
start = {start}                # day 0
zone = {zone}                  # where the clock hangs: an IANA name
length = "8 weeks"
baseline = {{ length = "2 weeks", regime = "{baseline}" }}   # all tanks alike, before the arms differ
draw = {{ how = {draw}, seed = {seed} }}
held_equal = [{held}]

[source]                          # the water used for changes
name = "tap water: replace by your report"
nitrate = "10 mg/L"
phosphate = "0.1 mg/L"
potassium = "3 mg/L"

{tanks}{feed}{arms}
[schedule]                        # what is on the list of the day, and in the calendar, besides doses
{doses_at}changes_at = "10:00"
photos = [{{ on = "every day", at = "19:00" }}]

[stands.tall]                     # one kind of plant in one place; called by what it looks like
name = "tall stem plant"

{views}
# The questions, written down before the start. One of them is the primary one.
[[questions]]
key = "growth"
ask = {ask}
measure = "height growth"
smallest = 0.005                  # per day: the smallest difference that would matter
primary = true

[[questions]]
key = "compact"
ask = "Which plants stayed more compact?"
measure = "compactness"

[[questions]]
key = "colour"
ask = "Which plants were redder?"
measure = "redness"

[[questions]]
key = "algae"
ask = "Where did more algae come?"
measure = "algae"

[[questions]]
key = "care"
ask = "How many minutes of care did each tank take?"
measure = "care minutes"
{cost}"""

_TANK = """\
[tanks.{key}]
name = {name}
glass = {glass}         # inside: length x width x height
fill = {fill}                  # height of the water over the bottom glass
substrate = {{ depth = "{substrate:.2g} cm", porosity = 0.40 }}
evaporation = "1 L per week"
top_up = "pure water"             # or "source water"
uptake = {{ nitrate = "9 % per day", phosphate = "12 % per day", potassium = "5 % per day", iron = "30 % per day" }}

"""
_COST = """
[[questions]]
key = "cost"
ask = "Which regime costs less?"
measure = "cost"
"""


def wish_of(answer: str) -> Wish:
    """Return the wish that an answer names, or one made of the words of another question."""
    plain = answer.strip()
    known = next((one for key, one in WISHES.items() if key.casefold() == plain.casefold()), None)
    if known is not None:
        return known
    ask = plain if plain.endswith("?") else f"{plain}?"
    return Wish("other", plain, plain.rstrip("?").strip(), "one change", "as before", "changed", ask, (LIGHT_HELD,))


def first_text(
    wish: Wish,
    *,
    tanks: Sequence[str],
    glass: str,
    feed: Feed | None,
    start: date,
    zone: str,
    seed: int,
    taken: Sequence[str] = (),
) -> str:
    """Return the text of a trial of `tanks` (names), all of one `glass`, its arms drawn by lot from `seed`.

    `feed` is None where nothing is fed. The first dose is due on the day of `start`. No key of `taken` is given again.
    Raises FaultsError with each answer that is wrong, named "know", "tanks", "glass", "feed", "holds", "dose", "often".
    """
    faults = [*_faults_of_wish(wish, feed), *_faults_of_tanks(tanks)]
    sides = _sides(glass, faults)
    fed = read_feed(feed, faults) if feed is not None else None
    if faults:
        raise FaultsError(faults)
    keys = _tank_keys(tanks)
    first, second = key_of(wish.first, otherwise="first"), key_of(wish.second, otherwise="second")
    drawn = draw_arms(keys, (first, second), rng=np.random.default_rng(seed))
    names = dict(zip(keys, tanks, strict=True))
    halved = wish.key == "feed"
    regimes = {first: wish.first, second: wish.second} if halved else {"as-always": "as always"}
    title, key = _title(wish.title, taken)
    of_arm = {arm: arm if halved else "as-always" for arm in (first, second)}
    width_cm, _, height_cm = sides
    return _TEMPLATE.format(
        key=quoted(key),
        title=quoted(title),
        factor=quoted(wish.factor),
        start=start.isoformat(),
        zone=quoted(zone),
        baseline=of_arm[first],
        draw=quoted(f"{wish.second}: {', '.join(names[tank] for tank in drawn[second])}"),
        seed=seed,
        held=", ".join(map(quoted, (*wish.held, "water change 40 % a week", "same stands, same day"))),
        tanks=_tanks_text(names, glass, height_cm),
        feed=bottle_text(feed, fed) + regimes_text(regimes, fed, start),
        doses_at='doses_at = "18:00"\n' if fed is not None else "",
        arms="\n".join(
            f"[arms.{arm}]\nname = {quoted(name)}\ntanks = [{', '.join(map(quoted, drawn[arm]))}]\n"
            f"regime = {quoted(of_arm[arm])}\n"
            for arm, name in ((first, wish.first), (second, wish.second))
        ),
        views="\n".join(
            VIEW_TEXT.format(tank=tank, called=quoted(f"{names[tank]}, front"), width=quoted(f"{width_cm:g} cm"))
            for tank in keys
        ),
        ask=quoted(wish.ask),
        cost=_COST if fed is not None else "",
    )


def _faults_of_wish(wish: Wish, feed: Feed | None) -> list[Fault]:
    if not wish.title:
        return [Fault("is empty.", "Say in one line what you want to know.", "know")]
    if wish.key == "feed" and feed is None:
        return [Fault("is about feed, and nothing is fed.", "Say what you feed, or ask something else.", "know")]
    return []


def _faults_of_tanks(tanks: Sequence[str]) -> list[Fault]:
    if len(tanks) < 2:
        return [
            Fault("names fewer than two tanks.", "A trial compares: write two names, such as left, right.", "tanks")
        ]
    if len(tanks) > MOST_TANKS:
        right = f"Start with at most {MOST_TANKS}; more can be written into the trial file."
        return [Fault(f"names {len(tanks)} tanks.", right, "tanks")]
    if len({one.casefold() for one in tanks}) < len(tanks):
        return [Fault("names a tank twice.", "Give every tank a name of its own.", "tanks")]
    return []


def _sides(glass: str, faults: list[Fault]) -> tuple[float, float, float]:
    try:
        return lengths_cm(glass)
    except WrongValueError as error:
        right = error.right or "Write for example 60 x 30 x 30 cm."
        faults.append(Fault(error.what, right, "glass"))
        return 60.0, 30.0, 30.0


def _tank_keys(tanks: Sequence[str]) -> tuple[str, ...]:
    keys: list[str] = []
    for place, name in enumerate(tanks):
        key = key_of(name, otherwise=f"tank-{place + 1}")
        keys.append(key if key not in keys else f"{key[:36]}-{place + 1}")
    return tuple(keys)


def _title(title: str, taken: Sequence[str]) -> tuple[str, str]:
    key = key_of(title, otherwise="trial")
    number, own = 1, key
    while own in taken:
        number += 1
        own = f"{key[:36]}-{number}"
    return (title if number == 1 else f"{title} ({number})"), own


def _tanks_text(names: Mapping[str, str], glass: str, height_cm: float) -> str:
    keys = list(names)
    fill = quoted(f"{0.9 * height_cm:.3g} cm")
    text = _TANK.format(
        key=keys[0], name=quoted(names[keys[0]]), glass=quoted(glass), fill=fill, substrate=min(5.0, height_cm / 6)
    )
    for key in keys[1:]:
        text += f"[tanks.{key}]\nlike = {quoted(keys[0])}\nname = {quoted(names[key])}\n\n"
    return text
