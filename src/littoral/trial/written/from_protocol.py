"""A trial file made from a protocol: for one's own tanks and bottles, with what only their keeper knows left open."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
import tomli_w

from littoral.feeding.bottles import Bottle
from littoral.feeding.matched import Matched, matched
from littoral.feeding.regimes import WEEKDAYS
from littoral.trial.design import draw_arms
from littoral.trial.protocol import KEPT

TODO = "TODO"
_PLACE = {
    "stand": [[300, 200], [700, 200], [700, 900], [300, 900]],
    "": [[1400, 200], [1480, 200], [1480, 900], [1400, 900]],
}


@dataclass(frozen=True, slots=True)
class OwnTanks:
    """What a keeper says of their own tanks, as they write it: inside of the glass, fill, substrate; volume in L."""

    glass: str
    fill: str
    substrate: str
    net_volume_l: float


@dataclass(frozen=True, slots=True)
class FromProtocol:
    """A trial file's text, and for each feed of each regime what one's own bottles add beside what is asked for."""

    text: str
    matched: Mapping[str, tuple[Matched, ...]]
    todo: int


def trial_text_of(
    protocol: Mapping[str, Any],
    *,
    key: str,
    start: date,
    zone: str,
    seed: int,
    tanks: OwnTanks,
    bottles: Mapping[str, Any],
    own: Sequence[Bottle] = (),
) -> FromProtocol:
    """Return the trial file; `bottles` are one's own tables as written, and `own` the same as they were read.

    Without any, each feed gets a bottle of its own that is still to be filled in: `littoral check FILE` names each.
    """
    arms = [arm["key"] for arm in protocol["arms"]]
    count = len(arms) * int(protocol["tanks_per_arm"])
    names = ("left", "right") if count == 2 else tuple(f"tank-{number}" for number in range(1, count + 1))
    drawn = draw_arms(names, arms, rng=np.random.default_rng(seed))
    feeds = _Feeds(own, tanks.net_volume_l)
    regimes = {name: feeds.regime(name, regime) for name, regime in protocol["regimes"].items()}
    head: dict[str, Any] = {
        "key": key,
        "title": protocol["title"],
        "factor": protocol["factor"],
        "start": start,
        "zone": zone,
        "length": f"{float(protocol['length_days']):g} days",
        "draw": {"how": "; ".join(f"{arm}: {', '.join(tanks_)}" for arm, tanks_ in drawn.items()), "seed": seed},
        "held_equal": list(protocol["held_equal"]),
    }
    baseline = protocol["baseline"]
    if float(baseline["days"]) > 0:
        regime = {} if baseline["regime"] is None else {"regime": baseline["regime"]}
        head["baseline"] = {"length": f"{float(baseline['days']):g} days"} | regime
    parts = [
        _HEAD.format(hash=_hash(protocol)),
        _toml({"format": 1, "trial": head}),
        '# Your water, from the supplier\'s report: nitrate = "10 mg/L" and so on.\n[source]\nname = "my water"\n',
        _toml({"tanks": {name: _tank(names, name, tanks) for name in names}}),
        _BOTTLES,
        _toml({"bottles": dict(bottles)}) if own else "".join(feeds.missing),
        "".join(feeds.words),
        _toml({"regimes": regimes}),
        _toml({"arms": {arm["key"]: _arm(arm, drawn[arm["key"]]) for arm in protocol["arms"]}}),
        _toml({"stands": {name: {"name": said} for name, said in protocol["stands"].items()}}),
        "# Read the points off your first photo; the ones below only hold the places.\n",
        _toml({"views": {name: _view(name, protocol["regions"], tanks.glass) for name in names}}),
        _toml({name: _kept(name, protocol[name], drawn, arms, seed) for name in KEPT if name in protocol}),
    ]
    text = "\n".join(part for part in parts if part)
    return FromProtocol(text, feeds.found, text.count(TODO))


_HEAD = """\
# A trial made from somebody's protocol (SHA-256 {hash}…).
# Keep questions, arms, days and lengths as they are: only then can your findings be pooled with theirs.
# Your own are start, zone, water, tanks, bottles and photos. `littoral check trial.toml` names what is still to do.
"""
_BOTTLES = """\
# Salts can burn, oxidise or poison: read the supplier's safety data sheet before weighing, label every bottle, and keep
# them away from children. Overdosing kills animals. Look at the levels on the page before you dose for the first time.
"""


class _Feeds:
    """Turns what a protocol's feeds add into doses of one's own bottles, or into places to fill in."""

    def __init__(self, own: Sequence[Bottle], volume_l: float) -> None:
        self._own, self._volume_l = own, volume_l
        self.missing: list[str] = []
        self.words: list[str] = []
        self.found: dict[str, tuple[Matched, ...]] = {}
        self._names: dict[str, str] = {}

    def regime(self, key: str, regime: Mapping[str, Any]) -> dict[str, Any]:
        doses: list[dict[str, Any]] = []
        found = []
        for feed in regime["feeds"]:
            weekly = {name: float(amount) for name, amount in feed["mg_per_l_per_week"].items()}
            times = _times(feed)
            each = {name: amount / times for name, amount in weekly.items()}
            if self._own:
                one = matched(each, self._own, net_volume_l=self._volume_l)
                found.append(one)
                doses += [{"of": dose.of, "amount": dose.written} | _when(feed) for dose in one.doses]
                self.words.append(_said(key, feed, one))
            else:
                bottle = self._bottle(weekly)
                doses.append({"of": bottle, "amount": f"{TODO} mL"} | _when(feed))
                self.words.append(
                    f"# {key}, {_days(feed)}, each time: {_amounts(each)} mg/L, in {self._volume_l:.4g} L "
                    f"{_amounts({name: amount * self._volume_l for name, amount in each.items()})} mg.\n"
                )
        self.found[key] = tuple(found)
        changes = [{"share": f"{100 * float(one['share']):g} %"} | _when(one) for one in regime["changes"]]
        said: dict[str, Any] = {"name": str(regime["name"]), "doses": doses}
        return said | ({"changes": changes} if changes else {})

    def _bottle(self, weekly: Mapping[str, float]) -> str:
        """Return the short name of the bottle that is to hold some nutrients, the same for the same ones."""
        nutrients = ", ".join(sorted(weekly))
        if nutrients not in self._names:
            self._names[nutrients] = f"feed-{len(self._names) + 1}"
            self.missing.append(
                f"# {TODO}: a bottle or salt of yours that holds {nutrients}. Give it `label`, `salts` or `dry`.\n"
                f'[bottles.{self._names[nutrients]}]\nname = "{TODO}"\n\n'
            )
        return self._names[nutrients]


def _said(key: str, feed: Mapping[str, Any], one: Matched) -> str:
    lacking = [name for name, asked in one.asked_mg_per_l.items() if one.added_mg_per_l.get(name, 0.0) < 0.9 * asked]
    beyond = [name for name, asked in one.asked_mg_per_l.items() if one.added_mg_per_l.get(name, 0.0) > 1.1 * asked]
    more = [name for name in one.added_mg_per_l if name not in one.asked_mg_per_l]
    said = f"# {key}, {_days(feed)}, each time: asked {_amounts(one.asked_mg_per_l)} mg/L, "
    said += f"your bottles add {_amounts(one.added_mg_per_l) or 'nothing'} mg/L.\n"
    for words, names in (("too little", lacking), ("too much", beyond), ("not asked for", more)):
        said += f"#   {words}: {', '.join(names)}\n" if names else ""
    return said


def _amounts(amounts: Mapping[str, float]) -> str:
    return ", ".join(f"{name} {amount:.3g}" for name, amount in amounts.items())


def _times(feed: Mapping[str, Any]) -> float:
    if "every" in feed:
        return 7.0 / max(1, int(str(feed["every"]).split()[0]))
    return float(max(1, len(set(feed["on"]))))


def _when(act: Mapping[str, Any]) -> dict[str, Any]:
    return {"every": str(act["every"])} if "every" in act else {"on": [str(day) for day in act["on"]]}


def _days(act: Mapping[str, Any]) -> str:
    if "every" in act:
        return f"every {act['every']}"
    return ", ".join(day for day in WEEKDAYS if day in act["on"]) or "never"


def _tank(names: Sequence[str], name: str, tanks: OwnTanks) -> dict[str, Any]:
    if name != names[0]:
        return {"like": names[0], "name": f"{name} tank" if len(names) == 2 else name}
    return {
        "name": f"{name} tank" if len(names) == 2 else name,
        "glass": tanks.glass,
        "fill": tanks.fill,
        "substrate": {"depth": tanks.substrate},
    }


def _arm(arm: Mapping[str, Any], tanks: Sequence[str]) -> dict[str, Any]:
    regime = {} if arm["regime"] is None else {"regime": arm["regime"]}
    return {"name": arm["name"], "tanks": list(tanks)} | regime


def _view(tank: str, regions: Sequence[Sequence[str]], glass: str) -> dict[str, Any]:
    return {
        "name": f"{tank}, front",
        "photos": f"photos/{tank}",
        "frame": "1600 x 1200 px",
        "tanks": {
            tank: {
                "corners": [[100, 140], [1500, 140], [1500, 1060], [100, 1060]],
                "width": f"{glass.lower().split('x')[0].strip()} cm",
                "regions": [{kind: name, "polygon": _PLACE.get(kind, _PLACE[""])} for kind, name in regions],
            }
        },
    }


def _kept(name: str, table: Any, drawn: Mapping[str, Sequence[str]], arms: Sequence[str], seed: int) -> Any:
    if name != "design" or not isinstance(table, Mapping):
        return table
    said = dict(table)
    if said.get("order") == "drawn by lot":
        said["seed"] = seed
    if said.get("kind") == "pairs":
        said["pairs"] = [list(pair) for pair in zip(drawn[arms[0]], drawn[arms[1]], strict=False)]
    return said


def _hash(protocol: Mapping[str, Any]) -> str:
    return hashlib.sha256(json.dumps(protocol, sort_keys=True).encode()).hexdigest()[:12]


def _toml(values: Mapping[str, Any]) -> str:
    return tomli_w.dumps(dict(values))
