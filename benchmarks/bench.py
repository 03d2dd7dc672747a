"""`make bench`: speed as ratios against a reference timed in the same run.

A ratio travels from machine to machine; the absolute times printed beside it do not. Each pair is timed alternately and
the medians are compared.
"""

from __future__ import annotations

import io
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from care_speed import care_rows
from feeding_speed import advice_row, cheapest_row, regime_row
from film_speed import film_rows
from fit_speed import fit_rows
from growth_table import all_rows as growth_rows
from intake_rows import large_jpegs, measured_many, memory_rows, six_regions
from levels_speed import draws_rows
from rows import Row, finish, row

from littoral.acts.import_trial import import_trial
from littoral.demo.scenario import write_demo
from littoral.findings.view_series import shape_of
from littoral.imaging.regions import ViewShape
from littoral.logbook.book import Logbook
from littoral.tank.events import TankEvent

ROUNDS = 5
SERIES = 24


def timed(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def paired(work: Callable[[], object], reference: Callable[[], object], rounds: int = ROUNDS) -> tuple[float, float]:
    """Median seconds of both, timed in turn after one warm-up each."""
    work()
    reference()
    times = [(timed(work), timed(reference)) for _ in range(rounds)]
    return statistics.median(one for one, _ in times), statistics.median(other for _, other in times)


def paired_cpu(
    work: Callable[[], object], reference: Callable[[], object], rounds: int = 3
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Median seconds of both, of the processor and of the clock, timed in turn after one warm-up each."""
    taken: tuple[list[tuple[float, float]], list[tuple[float, float]]] = ([], [])
    for one in range(-1, rounds):
        for did, times in zip((work, reference), taken, strict=True):
            cpu, wall = time.process_time(), time.perf_counter()
            did()
            if one >= 0:
                times.append((time.process_time() - cpu, time.perf_counter() - wall))
    ours, theirs = ((statistics.median(c for c, _ in one), statistics.median(w for _, w in one)) for one in taken)
    return ours, theirs


def ratio_row(
    name: str, ours: float, theirs: float, *, unit: str, reference: str, limit: float, aim: bool = False
) -> Row:
    ratio = ours / theirs
    return row(
        name, ours, unit, reference=f"{reference}: {theirs:.4g} {unit}", limit=f"ratio at most {limit:g}",
        holds=ratio <= limit, source="timed in this run", ratio=ratio, aim=aim,
    )  # fmt: skip


def photo_row(files: Path) -> Iterator[Row]:
    """Measure a series of 12-megapixel photos, one worker, against Pillow decoding the same files at full size.

    The ratio is of processor time, so that what else the machine does counts less; that by the clock stands beside it.
    """
    from PIL import Image

    from littoral.imaging.series import measure_series
    from littoral.trial.written.reader import read_trial

    trial, _ = read_trial((files / "trial.toml").read_text(), where="trial.toml")
    assert trial is not None
    view = next(iter(trial.views.values()))
    photos = large_jpegs(files / view.photos, SERIES)
    megabytes = sum(map(len, photos)) / len(photos) / 1e6

    def plain() -> None:
        for data in photos:
            with Image.open(io.BytesIO(data)) as photo:
                photo.load()

    for shape in (six_regions(shape_of(view)), shape_of(view)):

        def ours(shape: ViewShape = shape) -> None:
            prepared: dict[int, np.ndarray] = {}
            measure_series(
                photos.__getitem__, len(photos), shape,
                store=prepared.__setitem__, load=prepared.__getitem__, workers=1,
            )  # fmt: skip

        (mine, wall), (theirs, their_wall) = paired_cpu(ours, plain)
        regions = sum(len(pane.regions) for pane in shape.panes)
        found_row = ratio_row(
            f"measuring a 12 MP photo of {megabytes:.1f} MB ({regions} regions, series of {len(photos)})",
            mine / len(photos), theirs / len(photos),
            unit="s/photo", reference="Pillow's full-size decode", limit=1.5, aim=True,
        )  # fmt: skip
        yield found_row | {
            "source": f"processor time, in this run; by the clock (wall) the ratio is {wall / their_wall:.2f}"
        }
    found = measured_many(files, photos[:6], 2 * SERIES)
    rate = 60 * 2 * SERIES / found["seconds"]
    yield row(
        "12 MP photos measured a minute on two cores", rate, "photos/min",
        reference="one photo a second", limit="at least 60", holds=rate >= 60,
        source=f"{2 * SERIES} photos of {megabytes:.1f} MB, six regions, prepared pictures written and read again; "
        f"this process's memory at its peak {found['peak_mb']:.0f} MB",
        aim=True,
    )  # fmt: skip


def levels_row(book: Logbook, key: str) -> Row:
    """Levels of one tank of the demo over all its days, against SciPy's integrator at 1e-8 on the same events."""
    from littoral.findings.doses import observed_days
    from littoral.findings.levels import tank_events, tracked
    from littoral.tank.balance import levels_at, solve, vector
    from littoral.tank.volume import net_volume_l

    trial, entries = book.trial(key), book.entries(key)
    tank = next(iter(trial.tanks.values()))
    assert tank.vessel is not None
    assert trial.source is not None
    days, nutrients, litres = observed_days(trial, entries), tracked(trial, tank), net_volume_l(tank.vessel)
    events, _ = tank_events(trial, entries, tank, nutrients, days=days)
    source = vector(trial.source.level_mg_per_l, nutrients)
    start, uptake = (
        vector(tank.start_level_mg_per_l, nutrients, otherwise=source),
        vector(tank.uptake_per_day, nutrients),
    )
    at = np.arange(0.0, days, 0.25)
    loss = tank.evaporation_l_per_day

    def ours() -> np.ndarray:
        return levels_at(
            solve(
                events, source_mg_per_l=source, start_mg_per_l=start, net_volume_l=litres,
                evaporation_l_per_day=loss, topped_up_with=tank.topped_up_with, uptake_per_day=uptake,
            ),
            at,
        )  # fmt: skip

    def integrated() -> np.ndarray:
        return integrate(events, source, start, uptake, litres=litres, loss=loss, at=at)

    assert tank.topped_up_with == "pure water"
    np.testing.assert_allclose(ours(), integrated(), rtol=1e-5)
    mine, theirs = paired(ours, integrated)
    return ratio_row(
        f"levels of {len(nutrients)} nutrients over {days} days, {len(events)} events", mine, theirs,
        unit="s", reference="scipy.integrate.solve_ivp, rtol 1e-8", limit=0.1,
    )  # fmt: skip


def integrate(
    events: Sequence[TankEvent],
    source: np.ndarray,
    start: np.ndarray,
    uptake: np.ndarray,
    *,
    litres: float,
    loss: float,
    at: np.ndarray,
) -> np.ndarray:
    """Levels (n_nutrients, n_days) by numerical integration from event to event, pure water as top-up."""
    from scipy.integrate import solve_ivp

    from littoral.tank.events import by_minute

    mass, water, now = start * litres, litres, 0.0
    levels = np.empty((start.size, at.size))
    steps = [*by_minute(events, start_day=0.0, nutrients=start.size), None]
    for event in steps:
        until = at[-1] + 1.0 if event is None else event.day
        inside = np.flatnonzero((at >= now) & (at < until))
        if until > now:
            path = solve_ivp(
                lambda _, state: np.append(-uptake * state[:-1], -loss), (now, until), np.append(mass, water),
                t_eval=np.append(at[inside], until), rtol=1e-8, atol=1e-10,
            )  # fmt: skip
            levels[:, inside] = path.y[:-1, :-1] / path.y[-1, :-1]
            mass, water, now = path.y[:-1, -1], path.y[-1, -1], until
        if event is None:
            break
        if event.share_changed > 0:
            mass, water = mass * (1 - event.share_changed) + source * event.share_changed * litres, litres
        water = min(litres, water + event.topped_up_l)
        if event.adds_mg is not None:
            mass = mass + event.adds_mg
    return levels


def main() -> int:
    """Time everything, print and write the rows."""
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary)
        trial_file = write_demo(folder / "demo")
        import_trial(folder / "logbook", trial_file)
        with Logbook.open(folder / "logbook") as book:
            key = book.trials()[0]
            rows = [levels_row(book, key), *photo_row(folder / "demo"), *memory_rows(folder / "demo")]
        rows += film_rows(folder / "demo", folder / "film")
    rows += [regime_row(paired), advice_row(paired), cheapest_row()]
    rows += [*draws_rows(paired), *fit_rows(paired), *care_rows(), *growth_rows()]
    return finish("bench", rows)


if __name__ == "__main__":
    sys.exit(main())
