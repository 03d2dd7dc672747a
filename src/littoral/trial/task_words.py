"""A planned thing in plain words and the person's own units: the same on the list, in the calendar and on the page."""

from __future__ import annotations

from littoral.quantities.preferred import preferred
from littoral.speech.say import say
from littoral.tank.volume import net_volume_l
from littoral.trial.due import Due
from littoral.trial.gauges import GAUGES
from littoral.trial.model import Trial


def task_words(due: Due, trial: Trial) -> str:
    """Return a planned thing in plain words: "2 strokes macro stock", "change 40 % of the water (16.8 L)"."""
    match due.kind:
        case "dose":
            return f"{due.amount} {trial.bottles[due.of].name}"
        case "water change":
            vessel = trial.tanks[due.tank].vessel
            if vessel is None:
                return say("change {amount} of the water", amount=due.amount)
            litres = preferred((due.share or 0.0) * net_volume_l(vessel), kind="volume", digits=3)
            return say("change {amount} of the water ({litres})", amount=due.amount, litres=litres)
        case "test":
            return say("test {what}", what=GAUGES[due.of].name if due.of in GAUGES else due.of)
        case "trim":
            return say("trim {what}", what=trial.stands[due.of].name if due.of else say("the whole tank"))
        case "photo":
            return say("take the photo")
