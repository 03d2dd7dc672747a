"""MIAPPE 1.1: the minimum information about a plant phenotyping experiment, as tables named by its own field names.

Sections, fields and which are needed are those of the checklist and data model 1.1 (MIAPPE_Checklist-Data-Model-v1.1,
DM-1 to DM-94; Papoutsoglou et al. 2020, New Phytologist 227:260). What a keeper does not know is NA, as it allows.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import timedelta

from littoral.logbook.payloads import kind_of
from littoral.publish.package.columns import Column, TableSpec
from littoral.publish.package.packed import About, PackedTrial
from littoral.publish.planned_week import planned_mg_per_l_per_week
from littoral.tank.volume import net_volume_l
from littoral.trial.entries import Entry, Living, Trim, WaterChange
from littoral.trial.measures import MEASURES
from littoral.trial.model import Trial

VERSION = "1.1"
NA = "NA"
SECTIONS: Mapping[str, tuple[tuple[str, str], ...]] = {
    "investigation": (
        ("Investigation unique ID", "DM-2"), ("Investigation title", "DM-3"), ("Investigation description", "DM-4"),
        ("License", "DM-7"), ("MIAPPE version", "DM-8"),
    ),
    "study": (
        ("Study unique ID", "DM-11"), ("Study title", "DM-12"), ("Study description", "DM-13"),
        ("Start date of study", "DM-14"), ("End date of study", "DM-15"), ("Contact institution", "DM-16"),
        ("Geographic location (country)", "DM-17"), ("Experimental site name", "DM-18"),
        ("Description of the experimental design", "DM-22"), ("Observation unit level hierarchy", "DM-24"),
        ("Observation unit description", "DM-25"), ("Description of growth facility", "DM-26"),
        ("Cultural practices", "DM-28"),
    ),
    "person": (("Person name", "DM-31"), ("Person role", "DM-34"), ("Person affiliation", "DM-35")),
    "data-file": (("Data file link", "DM-37"), ("Data file description", "DM-38"), ("Data file version", "DM-39")),
    "biological-material": (
        ("Biological material ID", "DM-41"), ("Organism", "DM-42"), ("Infraspecific name", "DM-44'"),
    ),
    "environment": (("Environment parameter", "DM-58"), ("Environment parameter value", "DM-59")),
    "experimental-factor": (
        ("Experimental Factor type", "DM-61"), ("Experimental Factor description", "DM-62"),
        ("Experimental Factor values", "DM-63"),
    ),
    "event": (
        ("Event type", "DM-65"), ("Event description", "DM-67"), ("Event date", "DM-68"),
        ("Observation unit ID", "DM-70"),
    ),
    "observation-unit": (
        ("Observation unit ID", "DM-70"), ("Observation unit type", "DM-71"), ("Spatial distribution", "DM-73"),
        ("Observation Unit factor value", "DM-74"), ("Biological material ID", "DM-41"),
    ),
    "observed-variable": (
        ("Variable ID", "DM-83"), ("Variable name", "DM-84"), ("Trait", "DM-86"), ("Method", "DM-88"),
        ("Method description", "DM-90"), ("Scale", "DM-92"), ("Time scale", "DM-94"),
    ),
}  # fmt: skip
"""Each section's fields with their line in the checklist; a table of one section each."""
NEEDED = frozenset(
    {
        "Investigation title",
        "MIAPPE version",
        "Start date of study",
        "Contact institution",
        "Geographic location (country)",
        "Experimental site name",
        "Description of the experimental design",
        "Observation unit description",
        "Description of growth facility",
        "Person name",
        "Person role",
        "Person affiliation",
        "Data file link",
        "Data file description",
        "Data file version",
        "Biological material ID",
        "Organism",
        "Environment parameter",
        "Environment parameter value",
        "Experimental Factor type",
        "Experimental Factor values",
        "Event type",
        "Event date",
        "Observation unit ID",
        "Observation unit type",
        "Variable ID",
        "Trait",
        "Method",
        "Scale",
    }
)
"""Fields of cardinality 1 or more; NA stands where nobody knows."""


EVENTS = (Trim, WaterChange, Living)
GREEN_PLANTS = "NCBI:33090"
"""Viridiplantae in the NCBI taxonomy (number from memory): all that is known of a stand that is called by its looks."""


def miappe_table(section: str) -> TableSpec:
    """Return the table of one section."""
    columns = tuple(
        Column(name, "string", f"MIAPPE {VERSION}, {line}", required=name in NEEDED) for name, line in SECTIONS[section]
    )
    title = f"MIAPPE {VERSION}: {section.replace('-', ' ')}"
    return TableSpec(f"miappe-{section}", title, f"{title}.", columns)


def miappe_rows(
    packed: PackedTrial, about: About, data_files: Sequence[tuple[str, str]]
) -> dict[str, list[Mapping[str, str]]]:
    """Return the rows of every section that has any; `data_files` are (path, what it holds)."""
    trial = packed.trial
    measures = dict.fromkeys(question.measure for question in trial.questions)
    last = trial.start + timedelta(days=max(0, int(trial.length_days) - 1))
    found: dict[str, list[tuple[str, ...]]] = {
        "investigation": [(packed.trial_id, trial.title, _asked(trial), about.licence, VERSION)],
        "study": [
            (
                packed.trial_id, trial.title, _asked(trial), str(trial.start), str(last), about.institution or NA,
                about.country or NA, about.site or NA, _design(trial), "study>tank>stand",
                "A tank is the unit that a regime is given to; stands of plants in it are parts of it, no replicates.",
                "planted freshwater tanks indoors", "; ".join(trial.held_equal),
            )
        ],
        "person": [(about.author or NA, "data submitter", about.institution or NA)],
        "data-file": [(path, what, about.version) for path, what in data_files],
        "biological-material": [(stand.key, GREEN_PLANTS, stand.name) for stand in trial.stands.values()],
        "environment": _environment(trial),
        "experimental-factor": [
            (trial.factor, "; ".join(_arm_words(trial, place) for place in range(len(trial.arms))),
             "; ".join(arm.name for arm in trial.arms))
        ],
        "event": [_event(entry) for entry in packed.in_force() if isinstance(entry.payload, EVENTS)],
        "observation-unit": [
            (key, "tank", f"block:{_block(trial, key)}", trial.arm_of(key).name, "; ".join(_stands(trial, key)))
            for key in trial.tanks
        ],
        "observed-variable": [
            (key.replace(" ", "_"), key, MEASURES[key].name, f"Littoral, taken from {MEASURES[key].taken_from}",
             MEASURES[key].meaning, MEASURES[key].unit or NA, "day")
            for key in measures
        ],
    }  # fmt: skip
    return {
        section: [dict(zip((name for name, _ in SECTIONS[section]), row, strict=True)) for row in rows]
        for section, rows in found.items()
        if rows
    }


def _asked(trial: Trial) -> str:
    return " ".join(question.ask for question in trial.questions)


def _design(trial: Trial) -> str:
    kind = {"parallel": "parallel arms", "crossover": "crossover", "pairs": "paired tanks"}[trial.plan.kind]
    drawn = f", {trial.drawn}" if trial.drawn else ""
    baseline = f", after a baseline of {trial.baseline_days:g} days" if trial.baseline_days else ""
    return f"{kind}, {len(trial.tanks)} tanks, {trial.length_days:g} days{baseline}{drawn}"


def _environment(trial: Trial) -> list[tuple[str, ...]]:
    tanks = [tank for tank in trial.tanks.values() if tank.vessel is not None]
    said: list[tuple[str, ...]] = [("held equal", one) for one in trial.held_equal]
    said += [(f"net volume of {tank.name}", f"{net_volume_l(tank.vessel):.4g} L") for tank in tanks if tank.vessel]
    return said + [(f"source water, {key}", f"{level:g} mg/L") for key, level in _source(trial).items()]


def _source(trial: Trial) -> Mapping[str, float]:
    return trial.source.level_mg_per_l if trial.source is not None else {}


def _arm_words(trial: Trial, place: int) -> str:
    arm = trial.arms[place]
    fed = planned_mg_per_l_per_week(trial, arm.tanks, arm.regime) or {}
    said = ", ".join(f"{key} {value:.3g} mg/L" for key, value in fed.items())
    return f"{arm.name}: {said} a week" if said else arm.name


def _stands(trial: Trial, tank: str) -> list[str]:
    return [stand.key for stand in trial.stands.values() if tank in stand.tanks]


def _block(trial: Trial, tank: str) -> int:
    return next((number for number, pair in enumerate(trial.plan.pairs, start=1) if tank in pair), 1)


def _event(entry: Entry) -> tuple[str, ...]:
    match entry.payload:
        case WaterChange(share=share):
            said = f"{100 * share:.4g} % of the water"
        case Trim(stand=stand, left_cm=left, wet_g=wet):
            parts = [stand or "whole tank", f"to {left:g} cm" if left is not None else "", f"{wet:g} g" if wet else ""]
            said = ", ".join(part for part in parts if part)
        case Living(what=what, count=count, change=change):
            said = f"{count} {what} {change}"
        case _:
            said = ""
    at = entry.at.isoformat(timespec="seconds")
    return kind_of(entry.payload), said, at, entry.tank or "study"
