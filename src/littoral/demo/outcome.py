"""What is really true of each of the demo's questions, from its parameters, its photos' truth and its entries."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from statistics import fmean

from littoral.demo.doses import doses
from littoral.demo.entries import rows
from littoral.demo.growth import log_growth
from littoral.demo.recipes import price_per_ml
from littoral.demo.story import BASELINE_DAYS, StandStory, Story

STEMS = ("red-stem", "feather", "green-stem")

PhotoTruth = Mapping[str, object]


def outcome(story: Story, photos: Mapping[str, PhotoTruth]) -> dict[str, dict[str, object]]:
    """Return, for each question's key, the measure's unit and its true value in each tank after the baseline (`after`)
    and, where photos or entries tell, before it (`before`); None where the trial is too short to have one. Windows and
    definitions are those of `littoral.trial.measures`; a tank's value is the mean over its stands or places."""
    after = [photo for photo in photos.values() if _day(photo) >= BASELINE_DAYS]
    before = [photo for photo in photos.values() if _day(photo) < BASELINE_DAYS]
    stems = {stand.key: stand for stand in story.stands if stand.key in STEMS}
    tanks = tuple(story.arm_of)
    rates = {key: {tank: _mean_rate(story, stand, tank) for tank in tanks} for key, stand in stems.items()}
    algae = {region: {tank: _mean(after, tank, region, _algae) for tank in tanks} for region in _algal_regions(after)}
    return {
        "growth": {
            "unit": "per day",
            "after": {tank: _mean_of([of_tank[tank] for of_tank in rates.values()]) for tank in tanks},
            "before": {
                tank: fmean(stand.height_rate * story.tank_rate[tank] for stand in stems.values()) for tank in tanks
            },
            "stands": rates,
        },
        "compact": {
            "unit": "points per cm",
            "after": {tank: _compactness(after, tank) for tank in tanks},
            "before": {tank: _compactness(before, tank) for tank in tanks},
        },
        "red": {
            "unit": "a*",
            "after": {tank: _mean(after, tank, "red-stem", _redness) for tank in tanks},
            "before": {tank: _mean(before, tank, "red-stem", _redness) for tank in tanks},
        },
        "algae": {
            "unit": "points",
            "after": {tank: _mean_of([of_tank[tank] for of_tank in algae.values()]) for tank in tanks},
            "places": algae,
        },
        "care": {"unit": "min per week", "after": {tank: _minutes_per_week(story, tank) for tank in tanks}},
        "cost": {"unit": "EUR per week", "after": {tank: _cost_per_week(story, tank) for tank in tanks}},
    }


def _day(photo: PhotoTruth) -> float:
    day = photo["day"]
    assert isinstance(day, float)
    return day


def _regions(photo: PhotoTruth) -> dict[str, dict[str, object]]:
    regions = photo["regions"]
    assert isinstance(regions, dict)
    return regions


def _number(value: object) -> float:
    assert isinstance(value, float)
    return value


def _redness(region: Mapping[str, object]) -> float:
    lab = region["lab_mid"]
    assert isinstance(lab, list)
    return _number(lab[1])


def _algae(region: Mapping[str, object]) -> float:
    """The share of what plants do not hide, in points: what a photo can show."""
    return 100.0 * _number(region["algae_of_visible"])


def _mean(
    photos: list[PhotoTruth], tank: str, region: str, what: Callable[[Mapping[str, object]], float]
) -> float | None:
    values = [what(_regions(photo)[region]) for photo in photos if photo["view"] == tank]
    return fmean(values) if values else None


def _compactness(photos: list[PhotoTruth], tank: str) -> float | None:
    def compact(region: Mapping[str, object]) -> float:
        return 100.0 * _number(region["cover"]) / _number(region["height_cm"])

    return _mean_of([_mean(photos, tank, key, compact) for key in STEMS])


def _mean_of(values: list[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return fmean(known) if known else None


def _algal_regions(photos: list[PhotoTruth]) -> list[str]:
    return [key for key, region in _regions(photos[0]).items() if "algae" in region] if photos else []


def _mean_rate(story: Story, stand: StandStory, tank: str) -> float | None:
    """Return the mean relative growth rate per day from the end of the baseline on, the days of transition included."""
    if story.days <= BASELINE_DAYS:
        return None
    ratio = stand.full_height if story.arm_of[tank] == "full" else 1.0
    start, end = (log_growth(stand.height_rate, ratio, float(day)) for day in (BASELINE_DAYS, story.days))
    return story.tank_rate[tank] * (end - start) / (story.days - BASELINE_DAYS)


def _minutes_per_week(story: Story, tank: str) -> float | None:
    weeks = (story.days - BASELINE_DAYS) / 7
    if weeks <= 0:
        return None
    minutes = [
        float(row.amount.removesuffix(" min"))
        for row in rows(story)
        if row.tank == tank and row.kind == "care" and row.day >= BASELINE_DAYS
    ]
    return sum(minutes) / weeks


def _cost_per_week(story: Story, tank: str) -> float | None:
    weeks = (story.days - BASELINE_DAYS) / 7
    if weeks <= 0:
        return None
    given = [given for given in doses(story, tank) if given.given and given.day >= BASELINE_DAYS]
    return sum(one.dose.ml * price_per_ml(one.dose.of) for one in given) / weeks
