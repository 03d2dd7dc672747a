"""How each reading of a trial was taken: the fit's methods, from the trial file's own, or guessed from the entry."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from littoral.chemistry.reading_bias import bias_from_standard
from littoral.chemistry.reading_methods import (
    ReadingMethod,
    methods_of,
    reading_methods,
)
from littoral.tank.fit.fit import Posterior
from littoral.tank.fit.methods import Method, step_borders
from littoral.tank.fit.priors import usual_method
from littoral.trial.entries import Reading
from littoral.trial.model import OwnMethod, Trial

USUAL = {"steps": "colour_steps", "drops": "drops_counted", "instrument": "photometer"}
"""The fit's usual doubts (`tank/fit/priors.toml`) for each kind of test."""
WORDS = {
    "photometer": "instrument",
    "spectrometer": "instrument",
    "electrode": "instrument",
    "meter": "instrument",
    "drop": "drops",
    "titrat": "drops",
    "strip": "steps",
    "card": "steps",
    "colour": "steps",
    "color": "steps",
}
"""What a keeper calls a test, and the kind that it then is; the first word found counts."""


@dataclass(frozen=True, slots=True)
class WayToTest:
    """One way of one nutrient: its name in the fit, the kind of test it is taken for, and how that is known."""

    method: Method
    kind: ReadingMethod | None
    how: str


def way_key(nutrient: str, called: str) -> str:
    """Return the name that the fit knows a nutrient's test by."""
    return f"{nutrient}, {called}" if called else nutrient


def ways_to_test(trial: Trial, readings: Iterable[Reading]) -> dict[str, WayToTest]:
    """Return a way for each that readings name, and for each of the trial file, by `way_key`."""
    own = {(reading_methods()[one.kind].of, one.called.casefold()): one for one in trial.methods}
    named = dict.fromkeys((reading.nutrient, reading.method) for reading in readings)
    named |= dict.fromkeys((nutrient, one.called) for (nutrient, _), one in own.items())
    found: dict[str, WayToTest] = {}
    for nutrient, called in named:
        key = way_key(nutrient, called)
        mine = own.get((nutrient, called.casefold()))
        if mine is not None:
            kind = reading_methods()[mine.kind]
            found[key] = WayToTest(_own(key, mine, kind), kind, "as the trial file says" + _said_of(mine))
        else:
            found[key] = _guessed(key, nutrient, called)
    return found


def next_way(ways: Mapping[str, WayToTest], nutrient: str) -> WayToTest | None:
    """Return the way that a keeper would next test a nutrient with: one in use, else the coarsest kind sold for it."""
    prefix = way_key(nutrient, "")
    used = [way for key, way in ways.items() if key == prefix or key.startswith(f"{prefix}, ")]
    if used:
        return next(
            (way for way in used if way.method.kind == "number" or way.method.borders_mg_per_l),
            None,
        )
    kinds = methods_of(nutrient)
    return (
        WayToTest(
            _usual(way_key(nutrient, kinds[0].key), kinds[0]),
            kinds[0],
            "not used so far",
        )
        if kinds
        else None
    )


def with_way(posterior: Posterior, way: WayToTest) -> Posterior:
    """Return a posterior that knows one more way to test, so that a test by it can be weighed."""
    methods = {**posterior.priors.methods, way.method.key: way.method}
    return replace(posterior, priors=replace(posterior.priors, methods=methods))


def _guessed(key: str, nutrient: str, called: str) -> WayToTest:
    sort = next((kind for word, kind in WORDS.items() if word in called.casefold()), None)
    kinds = methods_of(nutrient)
    if sort is None:  # a colour card is the coarsest, where there is one
        sort = "steps" if not kinds or any(one.kind == "steps" for one in kinds) else kinds[0].kind
    kind = next((one for one in kinds if one.kind == sort), None)
    taken_for = {"steps": "a colour card", "drops": "a drop test", "instrument": "an instrument"}[sort]
    named = f'guessed from "{called}"' if called else f"taken for {taken_for}, since nothing is said of it"
    # Guessed borders may be wrong; a reading's own range is written with it, so none are needed to weigh it.
    return WayToTest(
        _usual(key, kind) if kind is not None else usual_method(USUAL[sort], key=key),
        kind,
        named,
    )


def _usual(key: str, kind: ReadingMethod) -> Method:
    if kind.kind == "steps":
        borders = tuple(kind.factor * border for border in step_borders(kind.steps))
        return usual_method(USUAL["steps"], key=key, borders_mg_per_l=borders)
    return usual_method(USUAL[kind.kind], key=key, top_mg_per_l=kind.factor * kind.high)


def _own(key: str, own: OwnMethod, kind: ReadingMethod) -> Method:
    method = _usual(key, kind)
    if own.standard_mg_per_l is None or not own.standard_reads:
        return method
    bias = bias_from_standard(own.standard_reads, own.standard_mg_per_l, prior_log_sd=method.bias_log_sd)
    return replace(method, bias_log_mean=bias.log_mean, bias_log_sd=bias.log_sd)


def _said_of(own: OwnMethod) -> str:
    if own.standard_mg_per_l is None:
        return ""
    return f", and checked against a standard of {own.standard_mg_per_l:g} mg/L {len(own.standard_reads)} times"
