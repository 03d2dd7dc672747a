"""A small trial with made-up measures: eight weeks, two tanks, a trim, missing days, one flagged photo."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw

from littoral.feeding.bottles import Bottle
from littoral.feeding.regimes import PlannedChange, PlannedDose, Regime
from littoral.findings.measured import Measured, MeasuredPhoto
from littoral.findings.model import ArmValue, CarryingDay, Evidence, Finding, Influence, Interval, LeftOut, Part
from littoral.imaging.results import RegionMeasure
from littoral.stats.series import Series
from littoral.tank.volume import Vessel
from littoral.trial.entries import Entry, Trim, WaterChange
from littoral.trial.model import Arm, Pane, Question, Region, SourceWater, Stand, Tank, Trial, View

START = datetime(2026, 3, 2, tzinfo=UTC)
DAYS = 28
MISSING = {"left": (9, 17, 18), "right": (17,)}
FLAGGED_DAY = 20
TRIM_DAY = 21.7
STANDS = {"red-stem": ("red stem plant", 6.0), "carpet": ("grass-like carpet", 2.0)}


def _pane(tank: str) -> Pane:
    regions = (Region("red-stem", "stand", ((30, 20), (52, 20), (52, 90), (30, 90))),)
    return Pane(tank, regions, ((10, 14), (150, 14), (150, 106), (10, 106)), 60.0)


@pytest.fixture(scope="session")
def trial() -> Trial:
    regimes = {
        "sparing": Regime(
            "sparing",
            "sparing",
            (PlannedDose("macro", (2, 6), ml=1.1, written="1 stroke"),),
            (PlannedChange(0.4, (5,)),),
        ),
        "full": Regime("full", "full", (PlannedDose("macro", (1, 3, 6), ml=4.4, written="4 strokes"),)),
    }
    vessel = Vessel(60, 30, 30, 27, 5)
    return Trial(
        key="sparing-or-full",
        title="Sparing or full feeding",
        factor="feeding regime",
        start=date(2026, 3, 2),
        zone="UTC",
        baseline_days=7.0,
        length_days=float(DAYS),
        arms=(Arm("sparing", "sparing", ("right",), "sparing"), Arm("full", "full", ("left",), "full")),
        questions=(
            Question(
                "growth", "Did the plants grow faster?", "height growth", ("red-stem",), primary=True, smallest=0.005
            ),
            Question("red", "Did the red stem plant turn redder?", "redness", ("red-stem",)),
            Question("algae", "Where did algae come?", "algae"),
            Question("cost", "Which costs less?", "cost"),
        ),
        tanks={"left": Tank("left", "left tank", vessel), "right": Tank("right", "right tank", vessel)},
        stands={key: Stand(key, name, ("left", "right")) for key, (name, _) in STANDS.items()},
        views={
            tank: View(tank, f"{tank} tank, front", f"photos/{tank}", "*.jpg", (160, 120), (_pane(tank),))
            for tank in ("left", "right")
        },
        bottles={"macro": Bottle("macro", "macro stock")},
        regimes=regimes,
        source=SourceWater("tap water", {"nitrate": 12.0}),
        baseline_regime="sparing",
        held_equal=("light 8 h a day",),
        drawn="coin, heads: the left tank gets the full regime",
        rendered=True,
    )


@pytest.fixture(scope="session")
def entries() -> tuple[Entry, ...]:
    made = [
        Entry(f"change-{tank}-{day}", START + timedelta(days=day + 0.75), "UTC", tank, WaterChange(0.4))
        for tank in ("left", "right")
        for day in range(5, DAYS, 7)
    ]
    made.append(Entry("trim-1", START + timedelta(days=TRIM_DAY), "UTC", "left", Trim("red-stem", 8.0, 12.0)))
    return tuple(sorted(made, key=lambda entry: (entry.at, entry.id)))


@pytest.fixture(scope="session")
def measured(tmp_path_factory: pytest.TempPathFactory) -> Measured:
    folder = tmp_path_factory.mktemp("prepared")
    photos = (
        _photo(folder, tank, day) for tank in ("left", "right") for day in range(DAYS) if day not in MISSING[tank]
    )
    return Measured(tuple(photos), "test 1")


def _photo(folder: Path, tank: str, day: int) -> MeasuredPhoto:
    """Draw a picture whose redness of one patch tells its day, and give it measures that follow from the day."""
    image = Image.new("RGB", (160, 120), (30, 60, 60))
    ImageDraw.Draw(image).rectangle((40, 100 - 2 * day, 60, 100), fill=(8 * day, 120, 60))
    path = folder / f"{tank}-{day:02d}.png"
    image.save(path)
    faster = 1.5 if tank == "left" else 1.0
    grown = np.exp(0.03 * faster * (day if tank == "right" or day < TRIM_DAY else day - 20))
    regions = [
        RegionMeasure(tank, key, "stand", cover=0.1 * start, height_px=20.0 * start, height_cm=start * float(grown),
                      a=5.0 + 0.1 * day, colour_error=0.6)
        for key, (_, start) in STANDS.items()
    ]  # fmt: skip
    regions.append(RegionMeasure(tank, "root", "wood", algae=0.01 * day))
    flags = ("framing off by 9 px",) if day == FLAGGED_DAY else ()
    return MeasuredPhoto(
        entry_id=f"photo-{tank}-{day}", sha256=f"{day:064x}", view=tank, day=day + 0.52, prepared=path,
        colour_residual=1.1, align_residual_px=0.2, correction="grey card", flags=flags, regions=tuple(regions),
    )  # fmt: skip


@pytest.fixture(scope="session")
def findings(trial: Trial) -> tuple[Finding, ...]:
    asks = {question.key: question.ask for question in trial.questions}
    day = np.arange(3.0) + 0.5
    series = Series("canopy height", "cm", "level", day, np.array([6.0, np.nan, 6.5]), np.full(3, 0.1))
    without = LeftOut("day", "2", "day 2", 0.004, -0.01, 0.02, "cannot tell")
    evidence = Evidence(
        (0.5, 2.5),
        ("photo-left-0", "photo-left-2"),
        ("trim-1",),
        {"left/red-stem": series},
        {"missed-1": "dose missed"},
        influence=(Influence("day", 3, without, (without,), "Without day 2 the answer would be another."),),
        carrying=(CarryingDay(0, "the first day compared"), CarryingDay(2, "the last day compared")),
    )

    values = (ArmValue("sparing", "right", 1.0, 0.9, 1.1, 27), ArmValue("full", "left", 1.2, 1.1, 1.3, 25))
    parts = (Part("red-stem", "red stem plant", values, "red stem plant: 1.0 and 1.2"),)

    def made(question: str, measure: str, unit: str, effect: float | None, half: float | None, rule: str) -> Finding:
        estimated = effect is not None and half is not None
        return Finding(
            question=question, ask=asks[question], measure=measure, unit=unit,
            arms=() if effect is None else (
                ArmValue("sparing", "right", 1.0, 0.9, 1.1, 27), ArmValue("full", "left", 1.0 + effect, None, None, 25)
            ),
            effect=effect,
            low=effect - half if estimated else None, high=effect + half if estimated else None,  # type: ignore[operator]
            relative_percent=None, tanks_per_arm=1, design="parallel", rule=rule,  # type: ignore[arg-type]
            wording=f"What may be said of {question}.", rule_text="One tank per arm.", next_step="Swap the regimes.",
            method="REML", source="Hurlbert 1984", evidence=evidence,
            missing="no photo shows the stone" if effect is None else "", primary=question == "growth",
            before=Interval(0.001, -0.004, 0.006) if question == "growth" else None, parts=parts,
            plain_method=("Each photo was read.", "The tanks were compared."), cannot_show="It cannot show why.",
        )  # fmt: skip

    return (
        made("growth", "height growth", "per day", 0.0121, 0.0055, "these two tanks differ"),
        made("red", "redness", "a*", 1.2, 1.8, "cannot tell"),
        made("algae", "algae", "points", None, None, "not answered"),
        made("cost", "cost", "EUR per week", 0.11, None, "exact account"),
    )
