"""Templates: everything is escaped, and a value that is missing is an error, not a blank."""

from __future__ import annotations

from functools import cache
from typing import Any
from urllib.parse import quote

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from littoral.acts.change_entry import can_be_corrected
from littoral.acts.finding_words import effect_in_words, rests_on, value_in_words
from littoral.acts.trial_page import Event, TrialPage, TwinTank
from littoral.findings.showing import named
from littoral.publish.charts import SERIES_CHART
from littoral.publish.height import drawn_height_px
from littoral.publish.look import ARM_LOOKS
from littoral.quantities.runs import runs_of
from littoral.speech.dates import long_date, short_date
from littoral.speech.manner import manner
from littoral.speech.numbers import numeral, numerals
from littoral.speech.say import counted, say, say_n, translated, translated_n
from littoral.trial.model import Trial
from littoral.web.care.examples import reading_example
from littoral.web.finding_view import bar_of, carrying_photos, disturbances_of, evidence_photos
from littoral.web.speech.page_amounts import in_visitors_units, own_words
from littoral.web.timeline import strip_of
from littoral.web.twin import picture_url


@cache
def environment() -> Environment:
    """Return the one Jinja environment of the page."""
    found = Environment(
        loader=PackageLoader("littoral.web"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        extensions=["jinja2.ext.i18n"],
    )
    found.policies["ext.i18n.trimmed"] = True
    found.install_gettext_callables(translated, translated_n, newstyle=True)  # type: ignore[attr-defined]
    found.filters.update(
        long_date=long_date,
        short_date=short_date,
        can_be_corrected=can_be_corrected,
        reading_example=reading_example,
        full_name=_full_name,
        slug=lambda text: quote(text, safe=""),
        runs_of_days=runs_of,
        format=_formatted,
        numerals=numerals,
    )
    found.globals.update(
        bar_of=bar_of,
        drawn_height_px=drawn_height_px,
        counted=counted,
        say=say,
        say_n=say_n,
        manner=manner,
        effect_in_words=effect_in_words,
        value_in_words=value_in_words,
        rests_on=rests_on,
        evidence_photos=evidence_photos,
        carrying_photos=carrying_photos,
        disturbances_of=disturbances_of,
        series_chart=SERIES_CHART,
        picture_url=picture_url,
        strip_of=strip_of,
        events_by_id=_events_by_id,
        names_of_arms=_names_of_arms,
        keys_of_charts=_keys_of_charts,
        arm_mark=_arm_mark,
    )
    return found


def _formatted(pattern: str, value: float) -> str:
    """Return a number formatted as "%.3g" says, with the decimal sign of the language in force."""
    return numeral(pattern % value)


def _events_by_id(page: TrialPage) -> dict[str, Event]:
    return {event.entry_id: event for event in page.events}


def _keys_of_charts(page: TrialPage) -> set[str]:
    return {chart.key for widths in page.charts for chart in widths.values()}


def _full_name(tank: TwinTank) -> str:
    return named(tank.name, tank.arm_name)


def _names_of_arms(trial: Trial) -> dict[str, str]:
    return {arm.key: arm.name for arm in trial.arms}


SHAPES = {
    "circle": '<circle cx="6.5" cy="6.5" r="6"/>',
    "square": '<rect x="1" y="1" width="11" height="11"/>',
    "triangle-up": '<path d="M6.5 0.5L13 12.5H0z"/>',
    "diamond": '<path d="M6.5 0L13 6.5L6.5 13L0 6.5z"/>',
}
"""The shapes of `ARM_LOOKS`, in a box of 13 units."""


def _arm_mark(place: int) -> Markup:
    """Return an arm's shape, which tells it from others besides its colour, for before its name."""
    shape = SHAPES[ARM_LOOKS[place % len(ARM_LOOKS)].shape]
    return Markup('<svg class="shape" viewBox="0 0 13 13" aria-hidden="true">{}</svg>').format(Markup(shape))


def page_html(template: str, **values: Any) -> str:
    """Return one page as HTML text, in the language and units in force."""
    return in_visitors_units(environment().get_template(template).render(**values), own=own_words(values.values()))
