"""The acts behind the sheets, imported when first asked: they bring SciPy."""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from littoral.acts.mix_and_feed.figures import Refused, Stop


def mix(form: Any) -> Any:
    """Mix a bottle."""
    from littoral.acts.mix_and_feed.mix_bottle import mix_bottle

    return mix_bottle(form)


def water(form: Any) -> Any:
    """Make a water report whole, and build water."""
    from littoral.acts.mix_and_feed.build_water import build_water

    return build_water(form)


def week(form: Any) -> Any:
    """Plan a week."""
    from littoral.acts.mix_and_feed.plan_week import plan_week

    return plan_week(form)


def costs(form: Any) -> Any:
    """See costs."""
    from littoral.acts.mix_and_feed.see_costs import see_costs

    return see_costs(form)


def advise(form: Any) -> Any:
    """Advise a week; may take a second. A reason to override is for the week's own doses, not for those advised."""
    from littoral.acts.mix_and_feed.advise_week import advise_week

    return advise_week(replace(form, anyway=""))


def passing_of(stop: Stop) -> str:
    """Return which limits a dose passes, as short marks: an override is of these, and of no others."""
    return ".".join(sorted(hashlib.sha256(row.what.encode()).hexdigest()[:6] for row in stop.rows))


def worked(work: Callable[[Any], Any], form: Any, *, overridden: str) -> Any:
    """Return what an act makes of a form. A reason to override counts only for the limits it was given for.

    `overridden` is `passing_of` the stop that the person saw; where the dose meanwhile passes another limit it is
    stopped again, so that a reason once typed never lets through what nobody looked at.
    """
    found = work(form)
    stop = getattr(found, "stop", None)
    if isinstance(found, Refused) or stop is None or stop.stands:
        return found
    if set(passing_of(stop).split(".")) <= set(overridden.split(".")):
        return found
    return work(replace(form, anyway=""))


def warm_up() -> threading.Thread:
    """Work every sheet out once in the background, so that the first person waits for no library."""
    from littoral.web.mixing.sheets import SHEETS

    def work() -> None:
        for sheet in SHEETS:
            sheet.work(sheet.form())

    thread = threading.Thread(target=work, name="warm-up", daemon=True)
    thread.start()
    return thread
