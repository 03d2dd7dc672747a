"""The sheet: one printable page of what was asked, found, fed and paid, with pictures and charts.

It is self-contained: no script, font, picture or style comes from anywhere else, and its own policy forbids it.
"""

from __future__ import annotations

import importlib.resources
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from littoral.feeding.cost import ArmCost
from littoral.findings.feeding import TankFeeding
from littoral.findings.levels import Levels
from littoral.findings.measured import Measured
from littoral.findings.model import ArmValue, Finding
from littoral.findings.showing import doubt_of, shown
from littoral.publish.account import Account, account_of
from littoral.publish.cautions import cautions_of
from littoral.publish.chart import Chart
from littoral.publish.charts import SERIES_CHART
from littoral.publish.evidence_words import disturbances, evidence_words
from littoral.publish.flags import usual_words
from littoral.publish.look import DARK, dark_css
from littoral.publish.panes import shown_tanks
from littoral.publish.sheet_words import (
    asked_title,
    asked_words,
    design_words,
    draw_words,
    lead_words,
    limit_words,
    method_words,
    order_words,
    source_words,
    versions_words,
)
from littoral.publish.stills import CarryingRow, StillRow
from littoral.publish.tables import Table
from littoral.publish.words import regime_words, rests_on, span_words, tank_said
from littoral.trial.model import Trial

if TYPE_CHECKING:
    from jinja2 import Environment

GROWN = ("canopy-height", "cover", "compactness", "redness", "algae")
WAITING = "waiting-"
"""How the keys of charts of waiting times begin."""
RULE_TAGS = {"no larger than": "within the margin set", "exact account": "account, no estimate"}
"""Rules whose names are half a sentence, as the sheet shows them; all others are shown by their name."""


@dataclass(frozen=True, slots=True)
class DrawnChart:
    """A chart as the sheet shows it: two drawings as inline SVG, for a page and for a phone, and what is said of it."""

    key: str
    wide: str
    slim: str
    caption: str


@dataclass(frozen=True, slots=True)
class Answer:
    """One finding, ready to print."""

    key: str
    ask: str
    wording: str
    detail: str
    rule: str
    rule_text: str
    primary: bool
    values: Table | None
    parts: tuple[str, ...]
    evidence: str
    remarks: tuple[str, ...]
    next_step: str
    influence: tuple[str, ...]
    carrying: tuple[tuple[int, str], ...]
    series: str
    plain_method: tuple[str, ...]
    cannot_show: str
    source: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """All that the sheet says, in the order in which it says it."""

    title: str
    rendered: bool
    lead: str
    facts: tuple[tuple[str, str], ...]
    contents: tuple[tuple[str, str], ...]
    answers: tuple[Answer, ...]
    weakened: tuple[str, ...]
    design: str
    arms_table: Table
    held_equal: tuple[str, ...]
    draw: str
    asked_title: str
    asked: tuple[str, ...]
    picture_arms: tuple[str, ...]
    picture_rows: tuple[StillRow, ...]
    pictures_note: str
    carrying_rows: tuple[CarryingRow, ...]
    grown: tuple[str, ...]
    account: Account
    limits: tuple[str, ...]
    methods: tuple[str, ...]
    sources: tuple[str, ...]
    cautions: tuple[str, ...]
    again: tuple[str, ...]
    commands: str
    versions: str


def sheet_of(
    trial: Trial,
    *,
    measured: Measured,
    findings: Sequence[Finding],
    charts: Mapping[str, Chart],
    pictures: Sequence[StillRow] = (),
    carrying: Sequence[CarryingRow] = (),
    levels: Mapping[str, Levels] | None = None,
    feeding: Mapping[str, TankFeeding] | None = None,
    costs: Mapping[str, ArmCost] | None = None,
    written_down: datetime | None = None,
    overridden: Sequence[str] = (),
    film: bool = True,
) -> Sheet:
    """Gather what the sheet says. What a trial does not have (water, costs, photos) leaves its section out.

    `written_down` is when the trial's text first came into a logbook: questions known before day 0 are told apart.
    `overridden` are published limits that somebody went past on purpose, each in a sentence. `film` says whether the
    film is made along with it.
    """
    weakened = disturbances(findings)
    account = account_of(trial, feeding=feeding or {}, levels=levels or {}, costs=costs or {})
    grown = (
        *(key for key in GROWN if key in charts),
        *(key for key in charts if key.startswith(WAITING)),
    )
    sections = (
        ("answers", "Answers", True),
        ("design", "Design", True),
        ("pictures", "Pictures", bool(pictures)),
        ("measured", "Measured", bool(grown)),
        ("fed", "Fed", bool(account.fed)),
        ("levels", "Levels", bool(account.levels) or "levels" in charts),
        ("costs", "Costs", bool(account.costs)),
        ("findings", "Evidence", True),
        ("methods", "Methods", True),
        ("cautions", "Cautions", True),
    )
    return Sheet(
        title=trial.title,
        rendered=trial.rendered,
        lead=lead_words(trial),
        facts=_facts(trial, measured),
        contents=tuple((key, name) for key, name, there in sections if there),
        answers=tuple(_answer(trial, finding, weakened) for finding in findings),
        weakened=tuple(weakened.values()),
        design=design_words(trial),
        arms_table=_arms_table(trial, levels or {}),
        held_equal=trial.held_equal,
        draw=f"{draw_words(trial)} {order_words(trial)}".rstrip(),
        asked_title=asked_title(trial, written_down),
        asked=tuple(asked_words(trial, question) for question in trial.questions),
        picture_arms=tuple(tank_said(trial, tank) for tank in shown_tanks(trial)),
        picture_rows=tuple(pictures),
        pictures_note=_pictures_note(trial, measured),
        carrying_rows=tuple(carrying),
        grown=grown,
        account=account,
        limits=tuple(limit_words(trial, findings)),
        methods=tuple(method_words(measured, findings)),
        sources=tuple(source_words(findings)),
        cautions=(*cautions_of(trial), *overridden),
        again=(
            "findings.json beside this sheet holds every finding with its interval, its evidence and the series it was "
            "computed from; findings.schema.json says what each key means. charts/ holds each chart as SVG and PNG"
            + (
                "."
                if not film
                else ", and film.mp4 shows every day side by side, with days without a photo held and marked."
                if pictures
                else ". There are no photos, so no film."
            ),
            "From the trial file, the entries and the photos, the same numbers come back:",
        ),
        commands="littoral check trial.toml\nlittoral import trial.toml\nlittoral publish logbook",
        versions=versions_words(measured),
    )


def sheet_html(sheet: Sheet, charts: Mapping[str, DrawnChart]) -> str:
    """Return the sheet as one HTML text; `charts` are drawn already, by key."""
    template = _environment().get_template("sheet.html.j2")
    css = importlib.resources.files("littoral.publish").joinpath("templates/sheet.css").read_text("utf-8")
    return template.render(sheet=sheet, charts=charts, css=css, dark_css=_dark_css())


def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape

    return Environment(
        loader=PackageLoader("littoral.publish"),
        autoescape=select_autoescape(["html", "j2"]),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _dark_css() -> str:
    colours = "; ".join(f"--{name}: {getattr(DARK, name)}" for name in DARK.__slots__)
    return f":root {{ {colours}; --link: #7cc0ea; --beyond: rgb(169 183 177 / .55) }}\n{dark_css('.chart')}"


def _facts(trial: Trial, measured: Measured) -> tuple[tuple[str, str], ...]:
    photos = len(measured.photos)
    facts = [
        ("Start (day 0)", f"{trial.start:%Y-%m-%d}"),
        ("Length", span_words(trial.length_days)),
        ("Baseline", span_words(trial.baseline_days) if trial.baseline_days > 0 else "none"),
        ("Tanks", f"{sum(len(arm.tanks) for arm in trial.arms)} in {len(trial.arms)} arms"),
        ("Photos", f"{photos}{', rendered' if trial.rendered and photos else ''}"),
    ]
    return tuple(facts)


def _arms_table(trial: Trial, levels: Mapping[str, Levels]) -> Table:
    volumes = bool(levels)
    rows = []
    for arm in trial.arms:
        tanks = ", ".join(trial.tanks[tank].name for tank in arm.tanks)
        litres = ", ".join(f"{levels[tank].net_volume_l:.1f} L" if tank in levels else "–" for tank in arm.tanks)
        words = regime_words(trial, arm.regime) if trial.regimes else "–"
        rows.append((arm.name, tanks, *((litres,) if volumes else ()), words))
    note = ""
    if trial.baseline_days > 0:
        note = f"In the baseline all tanks had: {regime_words(trial, trial.baseline_regime)}." if trial.regimes else ""
    return Table(
        title=f"The arms: they differ in {trial.factor}",
        columns=(
            "arm",
            "begins in" if trial.plan.kind == "crossover" else "tank",
            *(("net volume",) if volumes else ()),
            "regime",
        ),
        units=("",) * (4 if volumes else 3),
        rows=tuple(rows),
        note=note,
        numbers=False,
    )


def _answer(trial: Trial, finding: Finding, weakened: Mapping[str, str]) -> Answer:
    return Answer(
        key=finding.question,
        ask=finding.ask,
        wording=finding.wording,
        detail=finding.detail,
        rule=RULE_TAGS.get(finding.rule, finding.rule),
        rule_text=finding.rule_text,
        primary=finding.primary,
        values=_values_table(trial, finding) if finding.arms else None,
        parts=tuple(part.text for part in finding.parts),
        evidence=evidence_words(finding, weakened),
        remarks=finding.evidence.remarks,
        next_step=finding.next_step,
        influence=tuple(one.text for one in finding.evidence.influence),
        carrying=tuple((one.day, one.why) for one in finding.evidence.carrying),
        series=SERIES_CHART.get(finding.measure, ""),
        plain_method=finding.plain_method,
        cannot_show=finding.cannot_show,
        source=finding.source,
    )


def _values_table(trial: Trial, finding: Finding) -> Table:
    rows = []
    for value in finding.arms:
        arm = next(arm for arm in trial.arms if arm.key == value.arm)
        rows.append((arm.name, trial.tanks[value.tank].name, _value_words(trial, finding, value), str(value.days)))
    return Table(
        title="After the regimes began" if trial.baseline_days > 0 else "Over the trial",
        columns=("arm", "tank", "value (95 % interval)", rests_on(finding.measure)),
        units=("", "", "", ""),
        rows=tuple(rows),
        numbers=False,
    )


def _value_words(trial: Trial, finding: Finding, value: ArmValue) -> str:
    if value.text:
        return value.text
    if value.low is None or value.high is None:
        return shown(finding.measure, value.value, doubt=doubt_of(finding), currency=trial.currency)
    doubt = (value.high - value.low) / 2
    low, high = (shown(finding.measure, end, doubt=doubt, unit=False) for end in (value.low, value.high))
    return f"{shown(finding.measure, value.value, doubt=doubt, currency=trial.currency)} ({low} to {high})"


def _pictures_note(trial: Trial, measured: Measured) -> str:
    note = "Cut to each tank; aligned, and brought to one exposure and white balance, as far as each photo allowed."
    note = f"{note} {usual_words(measured.photos)}".rstrip()
    return f"Rendered demo, not real photos. {note}" if trial.rendered else note
