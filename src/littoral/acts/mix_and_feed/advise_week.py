"""Advise a week: the cheapest or simplest doses that keep every nutrient in its band, and what each wish costs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from littoral.acts.mix_and_feed.figures import Figure, Refused, Stop, figure
from littoral.acts.mix_and_feed.plan_week import levels_of
from littoral.acts.mix_and_feed.reading import Reading
from littoral.acts.mix_and_feed.shelf_reading import price_per_unit
from littoral.acts.mix_and_feed.stopping import stopped
from littoral.acts.mix_and_feed.week_form import Advised, DoseForm, WeekForm
from littoral.acts.mix_and_feed.week_reading import ReadWeek, read_week
from littoral.feeding.advice import Advice, DoseQuestion, NothingFits, OnShelf, days_words
from littoral.feeding.advise import advise, what_wishes_cost
from littoral.feeding.level_response import LevelResponse
from littoral.feeding.tools import Tool
from littoral.quantities.derivation import Step
from littoral.speech.say import say
from littoral.tank.steady_state import shares_by_weekday, weekly_response

FINEST_ML, FINEST_G = 0.5, 0.1  # where no tool is named: a syringe, a scale


def advise_week(form: WeekForm, *, with_costs: bool = True) -> Advised | Refused:
    """Return the week that the adviser proposes for a form's shelf, bands and days, or every mistake in it.

    It may take a second or more; without `with_costs` it does not ask what each wish costs, which solves it again for
    each. The doses of the form itself are not used: they are what is asked for.
    """
    reading = Reading(form)
    read = read_week(reading, form)
    found: Advised | None = None
    if read is not None and not read.bands:
        reading.wrong(
            "bands", say("is empty."), say('Say where at least one nutrient shall stay: nitrate, "5 to 20 mg/L".')
        )
    elif read is not None:
        with reading.trying("bands"):
            found = _advised(read, with_costs=with_costs, anyway=form.anyway)
    return Refused(tuple(reading.faults)) if found is None else found


def _advised(read: ReadWeek, *, with_costs: bool, anyway: str) -> Advised:
    question, response = _question(read), _response(read)
    answer = advise(question, response)
    wishes = what_wishes_cost(question, response, currency=read.currency) if with_costs else ()
    costs = tuple(one.words for one in wishes)
    best = answer.advice if isinstance(answer, NothingFits) else answer
    change = answer.words if isinstance(answer, NothingFits) else ""
    stop = None if best is None else _stop(read, best, anyway)
    return _lines(best, fits=best is answer, smallest_change=change, costs=costs, stop=stop, read=read)


def _stop(read: ReadWeek, answer: Advice, anyway: str) -> Stop | None:
    """Whether the pattern that was found would itself be stopped: bands are wishes, limits are published."""
    regime = replace(read.regime, doses=answer.doses)
    highest = levels_of(replace(read, regime=regime)).highest
    return stopped(highest, read.start, read.here, anyway=anyway).stop


def _question(read: ReadWeek) -> DoseQuestion:
    shelf = tuple(
        OnShelf(
            bottle,
            read.shelf.tools.get(key) or (Tool("g", FINEST_G, 40) if bottle.dry_formula else Tool("mL", FINEST_ML, 40)),
            price_per_unit(bottle),
        )
        for key, bottle in read.shelf.bottles.items()
    )
    return DoseQuestion(
        shelf=shelf,
        bands=read.bands,
        days=read.present,
        net_volume_l=read.net_volume_l,
        apart=read.apart,
        aim=read.aim,
    )


def _response(read: ReadWeek) -> LevelResponse:
    nutrients = tuple(
        dict.fromkeys(
            [
                *(band.nutrient for band in read.bands),
                *(key for bottle in read.shelf.bottles.values() for key in bottle.content_mg_per_ml),
                *(key for bottle in read.shelf.bottles.values() for key in bottle.content_mg_per_g),
            ]
        )
    )

    def vector(values: dict[str, float]) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        return np.array([values.get(key, 0.0) for key in nutrients])

    return weekly_response(
        nutrients,
        share_changed=shares_by_weekday(read.regime.changes),
        source_mg_per_l=vector(read.source),
        uptake_per_day=vector(read.uptake),
        start_mg_per_l=vector(read.start),
        weeks=read.weeks,
    )


def _lines(
    answer: Advice | None,
    *,
    fits: bool,
    smallest_change: str,
    costs: tuple[str, ...],
    stop: Stop | None,
    read: ReadWeek,
) -> Advised:
    if answer is None:
        return Advised(fits, smallest_change, (), None, None, None, (), costs, None)
    doses = tuple(DoseForm(dose.of, dose.written, days_words(dose.weekdays)) for dose in answer.doses)
    best = answer.derivation[-1]
    price = answer.price_per_week
    return Advised(
        fits=fits,
        smallest_change=smallest_change,
        doses=() if stop is not None and stop.stands else doses,
        stop=stop,
        portions=figure(
            float(answer.portions),
            "portion a week" if answer.portions == 1 else "portions a week",
            steps=answer.derivation,
        ),
        price=None if price is None else _price(answer, price, read),
        checks=answer.checks,
        costs=costs,
        proof=Figure(best.result, None, "", answer.derivation),
    )


def _price(answer: Advice, price: float, read: ReadWeek) -> Figure:
    parts = []
    for dose in answer.doses:
        amount, unit = (dose.g, "g") if dose.g is not None else (dose.ml, "mL")
        each = price_per_unit(read.shelf.bottles[dose.of]) or 0.0
        parts.append(f"{len(dose.weekdays)} × {amount:.4g} {unit} × {each:.4g} ({dose.of})")
    step = Step("price of a week", " + ".join(parts) or "nothing", f"{price:.4g} {read.currency}", "packs as stated")
    return figure(price, f"{read.currency} a week".strip(), steps=(*answer.derivation, step))
