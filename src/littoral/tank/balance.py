"""Mass balance of a tank: levels of every nutrient from doses, water changes, top-ups, evaporation and uptake. Exact.

Between events the mass of each nutrient decays as exp(-uptake * time) and the water falls linearly by evaporation,
which leaves nutrients behind. So the level has a closed form everywhere and nothing is integrated numerically.

Events of the same minute count as one, in this order, whatever order they were noted in:
1. the water change: the tank is first topped up to its net volume with the top-up water, then the share is replaced by
   source water (several changes: one after the other, which commutes);
2. top-ups; over the net volume they mean evaporation that was not stated: what they bring counts, the volume stays net;
3. doses, which add up. The volume of a dose is neglected.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from littoral.tank.events import BalanceError, FloatArray, TankEvent, by_minute

TopUpWater = Literal["pure water", "source water"]


@dataclass(frozen=True, slots=True, eq=False)
class Ledger:
    """Where the mass went, mg, each shape (n_nutrients,): start + dosed + from_source = removed + taken_up + left."""

    start_mg: FloatArray
    dosed_mg: FloatArray
    from_source_mg: FloatArray
    removed_mg: FloatArray
    taken_up_mg: FloatArray
    left_mg: FloatArray

    def after(
        self, dosed: FloatArray, from_source: FloatArray, removed: FloatArray, taken_up: FloatArray, left: FloatArray
    ) -> Ledger:
        """Return the ledger one event later; all masses in mg, shape (n_nutrients,)."""
        return Ledger(
            self.start_mg,
            self.dosed_mg + dosed,
            self.from_source_mg + from_source,
            self.removed_mg + removed,
            self.taken_up_mg + taken_up,
            left,
        )


@dataclass(frozen=True, slots=True, eq=False)
class Balance:
    """A solved mass balance, from the first moment (day 0 unless said otherwise) through the last event and beyond.

    `day` (m,) holds the start and each minute with events; `before_mg`, `after_mg` (n_nutrients, m) the masses and
    `before_l`, `after_l` (m,) the litres just before and after it. `ledger` closes at the last of these.
    """

    day: FloatArray
    before_mg: FloatArray
    after_mg: FloatArray
    before_l: FloatArray
    after_l: FloatArray
    uptake_per_day: FloatArray
    evaporation_l_per_day: float
    ledger: Ledger


def vector(values: Mapping[str, float], nutrients: Sequence[str], *, otherwise: ArrayLike = 0.0) -> FloatArray:
    """Return a mapping by nutrient as an array in the order of `nutrients`; missing ones take `otherwise`'s value.

    Any unit; shape (n_nutrients,). Nutrients of the mapping that are not asked for are left out.
    """
    default = np.broadcast_to(np.asarray(otherwise, dtype=np.float64), (len(nutrients),))
    return np.array([values.get(key, default[i]) for i, key in enumerate(nutrients)], dtype=np.float64)


def solve(
    events: Iterable[TankEvent],
    *,
    source_mg_per_l: ArrayLike,
    start_mg_per_l: ArrayLike,
    net_volume_l: float,
    evaporation_l_per_day: float = 0.0,
    topped_up_with: TopUpWater = "pure water",
    uptake_per_day: ArrayLike = 0.0,
    start_day: float = 0.0,
) -> Balance:
    """Solve the mass balance over events in any order.

    Levels mg/L and first-order uptake 1/day have shape (n_nutrients,) or are one number for all; the tank starts full,
    at `start_day`. See the head of this module for the order within a minute.

    Raises BalanceError: an event before the start, a share outside 0 to 1, a negative or non-finite amount, or a tank
    that evaporates to the bottom because neither changes nor top-ups are noted.
    """
    source, level, uptake = np.broadcast_arrays(
        *(np.atleast_1d(np.asarray(a, dtype=np.float64)) for a in (source_mg_per_l, start_mg_per_l, uptake_per_day))
    )
    _check_numbers(source, level, uptake, net_volume_l, evaporation_l_per_day)
    top_up = source if topped_up_with == "source water" else np.zeros_like(source)

    n = source.shape[0]
    now, litres, mass = float(start_day), net_volume_l, level * net_volume_l
    ledger = Ledger(mass, np.zeros(n), np.zeros(n), np.zeros(n), np.zeros(n), mass)
    days, before_mg, after_mg, before_l, after_l = [now], [mass], [mass], [litres], [litres]
    for event in by_minute(events, start_day=now, nutrients=n):
        taken_up = -mass * np.expm1(-uptake * (event.day - now))
        mass = mass - taken_up
        litres -= evaporation_l_per_day * (event.day - now)
        if litres <= 0:
            raise _dry(event.day)
        now = event.day
        days.append(now)
        before_mg.append(mass)
        before_l.append(litres)

        refill_l = net_volume_l - litres if event.share_changed > 0 else 0.0
        from_source = top_up * (refill_l + event.topped_up_l) + source * (event.share_changed * net_volume_l)
        removed = (mass + top_up * refill_l) * event.share_changed
        dosed = np.zeros(n) if event.adds_mg is None else event.adds_mg
        mass = mass + from_source - removed + dosed
        litres = min(net_volume_l, litres + refill_l + event.topped_up_l)
        after_mg.append(mass)
        after_l.append(litres)
        ledger = ledger.after(dosed, from_source, removed, taken_up, mass)
    return Balance(
        day=np.array(days),
        before_mg=np.stack(before_mg, axis=1),
        after_mg=np.stack(after_mg, axis=1),
        before_l=np.array(before_l),
        after_l=np.array(after_l),
        uptake_per_day=uptake.copy(),
        evaporation_l_per_day=evaporation_l_per_day,
        ledger=ledger,
    )


def levels_at(balance: Balance, days: ArrayLike) -> FloatArray:
    """Return levels in mg/L at any days from the start on, shape (n_nutrients, n_days); at an event: just after it.

    Raises BalanceError for days before the start, or after the tank has evaporated.
    """
    at = np.atleast_1d(np.asarray(days, dtype=np.float64))
    if at.size and not at.min() >= balance.day[0]:
        right = f"Ask from day {balance.day[0]:g} on."
        raise BalanceError(what=f"no level is known at day {at.min():g}, before the start", right=right)
    last = np.searchsorted(balance.day, at, side="right") - 1
    elapsed = at - balance.day[last]
    litres = balance.after_l[last] - balance.evaporation_l_per_day * elapsed
    if np.any(litres <= 0):
        raise _dry(float(at[litres <= 0].min()))
    decay = np.exp(-balance.uptake_per_day[:, None] * elapsed)
    levels: FloatArray = balance.after_mg[:, last] * decay / litres
    return levels


def extremes(balance: Balance, *, from_day: float, to_day: float) -> tuple[FloatArray, FloatArray]:
    """Return trough and peak, mg/L, each shape (n_nutrients,), over [from_day, to_day], both sides of each event.

    Exact: between events a level is highest at an end, and lowest at an end or where decay and evaporation balance, at
    litres = evaporation / uptake. Raises BalanceError as `levels_at`.
    """
    inside = (balance.day > from_day) & (balance.day <= to_day)
    every = [
        levels_at(balance, [from_day, to_day]),
        balance.before_mg[:, inside] / balance.before_l[inside],
        balance.after_mg[:, inside] / balance.after_l[inside],
    ]
    trough = np.concatenate(every, axis=1).min(axis=1)
    peak = np.concatenate(every, axis=1).max(axis=1)
    for i, uptake in enumerate(balance.uptake_per_day):
        turns = _turning_days(balance, uptake)
        turns = turns[(turns > from_day) & (turns < to_day)]
        if turns.size:
            trough[i] = min(trough[i], levels_at(balance, turns)[i].min())
    return trough, peak


def _turning_days(balance: Balance, uptake_per_day: float) -> FloatArray:
    """Return the days, strictly between events, when decay and evaporation hold each other's balance."""
    loss = balance.evaporation_l_per_day
    if loss == 0 or uptake_per_day == 0:
        return np.empty(0)
    # a rate next to nothing turns the level at infinity, after every end; two of them (inf - inf) never do
    with np.errstate(over="ignore", invalid="ignore"):
        days = balance.day + balance.after_l / loss - 1.0 / uptake_per_day
    ends = np.append(balance.day[1:], np.inf)
    turning: FloatArray = days[(days > balance.day) & (days < ends)]
    return turning


def _check_numbers(
    source: FloatArray, level: FloatArray, uptake: FloatArray, net_volume_l: float, evaporation_l_per_day: float
) -> None:
    for name, values in (("source level", source), ("start level", level), ("uptake", uptake)):
        if not (np.isfinite(values).all() and (values >= 0).all()):
            raise BalanceError(what=f"the {name} is below zero or no number", right="Give values of zero or more.")
    if not (math.isfinite(net_volume_l) and net_volume_l > 0):
        raise BalanceError(what=f"a net volume of {net_volume_l:g} L", right="Give litres above zero.")
    if not (math.isfinite(evaporation_l_per_day) and evaporation_l_per_day >= 0):
        what = f"evaporation of {evaporation_l_per_day:g} L/day"
        raise BalanceError(what=what, right="Give litres per day of zero or more.")


def _dry(day: float) -> BalanceError:
    return BalanceError(
        what=f"by day {day:.4g} evaporation would have emptied the tank",
        right="Note the top-ups, or state a smaller evaporation.",
    )
