"""The few days whose photos carry a finding: where its span begins and ends, and what moves it most."""

from __future__ import annotations

from collections.abc import Sequence

from littoral.findings.compared import Compared
from littoral.findings.model import CarryingDay, Influence
from littoral.findings.parts import ALGAE_ONSET_POINTS
from littoral.findings.photo_series import Taken
from littoral.stats.onset import onset_day
from littoral.trial.model import Trial

MOST_DAYS = 5
"""No more days than these are shown: a reader looks at few pictures."""


def carrying_days(trial: Trial, compared: Compared, influence: Sequence[Influence]) -> tuple[CarryingDay, ...]:
    """Return at most five days, ascending, each with all reasons why it is one; none without photos.

    They are the first and last day of what is compared on which every arm has a photo, the day that moves the number
    most (and any without which the claim would be another), the first day on which algae stayed in each tank, and the
    last of the baseline.
    """
    by_arm = [{int(day) for tank in arm for day in tank.series.day} for arm in compared.tanks]
    days = sorted(set.intersection(*by_arm) if by_arm else ()) or sorted(set().union(*by_arm))
    if not days:
        return ()
    since = [day for day in days if day >= trial.baseline_days] or days
    why: dict[int, list[str]] = {}
    why.setdefault(since[0], []).append("the first day compared")
    why.setdefault(since[-1], []).append("the last day compared")
    for one in influence:
        if one.kind == "day":
            why.setdefault(int(one.most.key), []).append("moves the number most")
            for other in one.changing[:1]:
                if other != one.most:
                    why.setdefault(int(other.key), []).append("without it the claim would be another")
    if compared.question.measure == "algae":
        for arm in compared.tanks:
            for tank in arm:
                onset = _onset(tank.used)
                if onset is not None:
                    why.setdefault(onset, []).append(f"algae came to stay in {trial.tanks[tank.tank].name}")
    before = [day for day in days if day < trial.baseline_days]
    if before and len(why) < MOST_DAYS and compared.before is not None:
        why.setdefault(before[-1], []).append("the last of the baseline")
    kept = list(why)[:MOST_DAYS]
    return tuple(CarryingDay(day, ", ".join(why[day])) for day in sorted(kept))


def _onset(used: Sequence[Taken]) -> int | None:
    days = [day for member in used if (day := onset_day(member.series, threshold=ALGAE_ONSET_POINTS)) is not None]
    return int(min(days)) if days else None
