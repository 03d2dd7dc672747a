"""A crossover rendered from known truth: the demo's tanks swap their feeding period by period. For tests, not for show.

Only the measured days of each period are photographed, and only growth is asked about; algae and leaf colour are the
same in both tanks.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from littoral.demo.entries import HEADER, entries_csv
from littoral.demo.growth import height_log
from littoral.demo.layout import Frame, lay_out
from littoral.demo.outcome import STEMS
from littoral.demo.picture import set_stage
from littoral.demo.scenario import TANKS, PhotoPlan, photo_plans, render_photo
from littoral.demo.story import ALGAE_END, BASELINE_DAYS, Story, tell
from littoral.demo.trial_text import trial_text

PERIOD_DAYS, WASHOUT_DAYS, RAMP_DAYS = 9.0, 3.0, 2.0

DESIGN = """
[design]
kind = "crossover"
period = "{period:g} days"
washout = "{washout:g} days"
order = [{order}]
half_life = "1 day"               # of what shows in the plants; invented, as all here
"""

QUESTION = """
[[questions]]
key = "growth"
ask = "Did the stem plants grow faster with the full regime?"
measure = "height growth"
of = ["red-stem", "feather", "green-stem"]
primary = true
"""


def tell_swapped(seed: int, *, swapped: tuple[bool, ...], nothing: bool = False) -> Story:
    """Return the facts of a crossover with one period for each of `swapped`; with `nothing` the regimes do the same."""
    story = tell(seed, days=BASELINE_DAYS + round(PERIOD_DAYS) * len(swapped))
    stands = tuple(
        replace(
            stand,
            full_redder_a=0.0,
            full_height=1.0 if nothing else stand.full_height,
            full_spread=1.0 if nothing else stand.full_spread,
        )
        for stand in story.stands
    )
    algae = {arm: dict(ALGAE_END["sparing"]) for arm in story.algae_end}
    return replace(story, stands=stands, algae_end=algae, swapped=swapped, period_days=PERIOD_DAYS, ramp_days=RAMP_DAYS)


def write_swapped(folder: Path, story: Story, *, size: tuple[int, int] = (640, 480)) -> Path:
    """Write a crossover's trial file, entries (trims only) and photos into `folder`; return the trial file.

    `size` is the photos' (width, height) in pixels, 4 to 3.
    """
    frame = Frame(size)
    layouts = {tank: lay_out(story, tank) for tank in TANKS}
    folder.mkdir(parents=True, exist_ok=True)
    trial_file = folder / "trial.toml"
    trial_file.write_text(swapped_text(trial_text(story, layouts, frame), story), encoding="utf-8")
    lines = entries_csv(story).splitlines()
    trims = [line for line in lines[1:] if ",trim," in line]
    (folder / "entries.csv").write_text("\n".join((",".join(HEADER), *trims, "")), encoding="utf-8")
    for tank in TANKS:
        (folder / "photos" / tank).mkdir(parents=True, exist_ok=True)
        stage = set_stage(story, layouts[tank], frame)
        for plan in photo_plans(story, tank):
            if plan.first or is_measured(story, plan):
                data, _ = render_photo(stage, plan)
                (folder / "photos" / tank / plan.file_name).write_bytes(data)
    return trial_file


def swapped_text(text: str, story: Story) -> str:
    """Return the demo's trial text with the crossover in it, and growth as its one question."""
    order = ", ".join('"swapped"' if one else '"as written"' for one in story.swapped)
    design = DESIGN.format(period=story.period_days, washout=WASHOUT_DAYS, order=order)
    before, _, after = text[: text.index("[[questions]]")].partition("[design]")
    return before + after[after.index("[schedule]") :] + design + QUESTION


def is_measured(story: Story, plan: PhotoPlan) -> bool:
    """Whether a photo is taken after the washout of a period."""
    return plan.day >= BASELINE_DAYS and (plan.day - BASELINE_DAYS) % story.period_days >= WASHOUT_DAYS


def true_rates(story: Story) -> dict[str, np.ndarray[tuple[int], np.dtype[np.float64]]]:
    """Return each tank's true growth rate (1/day) in the measured days of each period, mean over the stem plants."""
    stems = [stand for stand in story.stands if stand.key in STEMS]
    found = {}
    for tank in TANKS:
        rates = []
        for number in range(len(story.swapped)):
            end = BASELINE_DAYS + (number + 1) * story.period_days
            begin = end - story.period_days + WASHOUT_DAYS
            each = [
                (height_log(story, stand, tank, end) - height_log(story, stand, tank, begin)) / (end - begin)
                for stand in stems
            ]
            rates.append(float(np.mean(each)))
        found[tank] = np.array(rates)
    return found
