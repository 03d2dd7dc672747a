"""The rows of a package's tables besides those of entries' kinds."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.imaging.results import RegionMeasure
from littoral.logbook.payloads import kind_of
from littoral.publish.package.entry_tables import fields_of
from littoral.publish.package.packed import PackedTrial
from littoral.publish.package.trial_tables import REGION_WORDS
from littoral.publish.planned_week import planned_mg_per_l_per_week
from littoral.tank.volume import net_volume_l
from littoral.trial.days import day_of
from littoral.trial.entries import Dose, Entry, GaugeReading, Photo, Score, Trim
from littoral.trial.gauges import GAUGES
from littoral.trial.measures import MEASURES
from littoral.trial.model import Trial

Row = Mapping[str, Any]


def design_rows(packed: PackedTrial) -> dict[str, list[Row]]:
    """Return the rows of each table of the design; names that only superseded entries still use are among them."""
    trial, used = packed.trial, _used(packed.entries)
    return {
        "arms": [{"arm": arm.key, "name": arm.name, "regime": arm.regime} for arm in trial.arms],
        "tanks": [
            *(_tank(trial, key) for key in trial.tanks),
            *({"tank": key} for key in used["tank"] - {*trial.tanks}),
        ],
        "fed": [
            {"arm": arm.key, "nutrient": nutrient, "mg_per_l_per_week": added}
            for arm in trial.arms
            for nutrient, added in (planned_mg_per_l_per_week(trial, arm.tanks, arm.regime) or {}).items()
        ],
        "questions": [
            {
                "question": one.key,
                "ask": one.ask,
                "measure": one.measure,
                "unit": MEASURES[one.measure].unit,
                "of": one.of,
                "expect_arm": one.expect[0] if one.expect else None,
                "expect": one.expect[1] if one.expect else None,
                "smallest": one.smallest,
                "primary": one.primary,
            }
            for one in trial.questions
        ],
        "stands": [
            *({"stand": one.key, "name": one.name} for one in trial.stands.values()),
            *({"stand": key} for key in sorted(used["stand"] - {*trial.stands})),
        ],
        "views": [
            *(
                {
                    "view": one.key,
                    "name": one.name,
                    "width_px": one.frame_px[0],
                    "height_px": one.frame_px[1],
                    "camera_locked": one.camera_locked,
                }
                for one in trial.views.values()
            ),
            *({"view": key} for key in sorted(used["view"] - {*trial.views})),
        ],
        "bottles": [
            *({"bottle": one.key, "name": one.name} for one in trial.bottles.values()),
            *({"bottle": key} for key in sorted(used["bottle"] - {*trial.bottles})),
        ],
        "bottle_contents": [
            {
                "bottle": one.key,
                "nutrient": nutrient,
                "mg_per_ml": one.content_mg_per_ml.get(nutrient),
                "mg_per_g": one.content_mg_per_g.get(nutrient),
            }
            for one in trial.bottles.values()
            for nutrient in NUTRIENTS
            if nutrient in one.content_mg_per_ml or nutrient in one.content_mg_per_g
        ],
        "gauges": [{"gauge": key, "name": GAUGES[key].name, "unit": GAUGES[key].unit} for key in sorted(used["gauge"])],
    }


def measured_rows(packed: PackedTrial, pictures: Mapping[str, str]) -> dict[str, list[Row]]:
    """Return the rows of what was measured; `pictures` is the path within the package of each photo entry's picture."""
    photos: list[Row] = []
    regions: list[Row] = []
    for photo in packed.photos:
        photos.append(
            {
                "entry": photo.entry_id,
                "view": photo.view,
                "day": photo.day,
                "correction": photo.correction,
                "colour_residual": photo.colour_residual,
                "align_residual_px": photo.align_residual_px,
                "flags": photo.flags,
                "excluded": photo.excluded,
                "picture": pictures.get(photo.entry_id),
            }
        )
        regions += [_region(photo.entry_id, region) for region in photo.regions]
    return {"photo_measures": photos, "measures": regions}


def level_rows(packed: PackedTrial) -> Iterable[Row]:
    """Yield the rows of the levels that were worked out."""
    for tank, levels in packed.levels.items():
        for nutrient, upper in levels.upper_mg_per_l.items():
            likely = levels.likely_mg_per_l.get(nutrient)
            for place, day in enumerate(levels.day):
                yield {
                    "tank": tank,
                    "day": float(day),
                    "nutrient": nutrient,
                    "upper_mg_per_l": float(upper[place]),
                    "likely_mg_per_l": None if likely is None else float(likely[place]),
                }


def entry_row(entry: Entry, trial: Trial, *, in_force: bool) -> Row:
    """Return an entry's row in the table of all."""
    return {
        "entry": entry.id,
        "at": entry.at,
        "day": day_of(entry.at, trial),
        "zone": entry.zone,
        "tank": entry.tank,
        "kind": kind_of(entry.payload),
        "in_force": in_force,
        "supersedes": entry.supersedes,
        "who": entry.who,
        "note": entry.note,
        "origin": entry.origin,
    }


def payload_row(entry: Entry, trial: Trial) -> Row:
    """Return an entry's row in the table of its kind."""
    own = {name: getattr(entry.payload, name) for name in fields_of(kind_of(entry.payload))}
    return {"entry": entry.id, "day": day_of(entry.at, trial), "tank": entry.tank, **own}


def _region(entry: str, region: RegionMeasure) -> Row:
    numbers = {name: getattr(region, name) for name in REGION_WORDS}
    said = {"entry": entry, "tank": region.pane, "region": region.region, "region_kind": region.kind}
    return said | numbers | {"flags": region.flags}


def _tank(trial: Trial, key: str) -> Row:
    tank = trial.tanks[key]
    return {
        "tank": key,
        "name": tank.name,
        "arm": trial.arm_of(key).key,
        "net_volume_l": None if tank.vessel is None else net_volume_l(tank.vessel),
        "evaporation_l_per_day": tank.evaporation_l_per_day,
    }


def _used(entries: Sequence[Entry]) -> dict[str, set[str]]:
    found: dict[str, set[str]] = {name: set() for name in ("tank", "stand", "view", "bottle", "gauge")}
    for entry in entries:
        if entry.tank is not None:
            found["tank"].add(entry.tank)
        match entry.payload:
            case Dose(of=of):
                found["bottle"].add(of)
            case Trim(stand=str(stand)) | Score(stand=str(stand)):
                found["stand"].add(stand)
            case Photo(view=view):
                found["view"].add(view)
            case GaugeReading(gauge=gauge):
                found["gauge"].add(gauge)
            case _:
                pass
    return found
