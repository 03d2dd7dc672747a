"""Fill the forms from a trial of a logbook, so that nobody types twice what a trial file says already."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from littoral.acts.choosing import chosen_trial
from littoral.acts.mix_and_feed.bottle_form import BottleForm
from littoral.acts.mix_and_feed.cost_form import CostForm
from littoral.acts.mix_and_feed.figures import Pairs
from littoral.acts.mix_and_feed.mix_form import MixForm
from littoral.acts.mix_and_feed.water_form import WaterForm
from littoral.acts.mix_and_feed.week_form import ChangeForm, DoseForm, WeekForm
from littoral.acts.trial_files import read_small
from littoral.chemistry.label_written import declared_of_content
from littoral.errors import FaultsError
from littoral.feeding.bottles import Bottle, Pack
from littoral.feeding.regimes import WEEKDAYS, PlannedChange, PlannedDose, Regime, when_words
from littoral.logbook.book import Logbook
from littoral.quantities.preferred import filled_in
from littoral.tank.volume import net_volume_l
from littoral.trial.model import Arm, Tank, Trial
from littoral.trial.written.reader import read_trial


@dataclass(frozen=True, slots=True)
class TrialForms:
    """The forms as a trial fills them in: a bottle per stock by key, one water, a week and its costs per arm by key.

    What the trial does not say keeps the form's own default; arms without tracked water or a regime have no week.
    """

    mix: dict[str, MixForm]
    water: WaterForm
    weeks: dict[str, WeekForm]
    costs: dict[str, CostForm]


def from_trial(folder: Path, key: str | None) -> TrialForms:
    """Return the forms filled from a trial of the logbook at `folder`; `key` None takes the only one.

    Raises WhichTrialError, and as `Logbook.open`.
    """
    with Logbook.open(folder) as book:
        return forms_of(book.trial(chosen_trial(book, key)))


def from_file(file: Path) -> TrialForms:
    """Return the forms filled from a trial file. Raises UnreadableFileError; FaultsError for its mistakes."""
    trial, faults = read_trial(read_small(file).decode("utf-8", errors="replace"), where=file.name)
    if trial is None or faults:
        raise FaultsError(faults)
    return forms_of(trial)


def forms_of(trial: Trial) -> TrialForms:
    """Return the forms filled from a trial."""
    source = _pairs({} if trial.source is None else trial.source.level_mg_per_l, "mg/L")
    weeks, costs = {}, {}
    for arm in trial.arms:
        tank = _tank_of(trial, arm)
        if tank is None or tank.vessel is None or arm.regime is None:
            continue
        regime, litres = trial.regimes[arm.regime], filled_in(net_volume_l(tank.vessel), "L", digits=4)
        bottles = tuple(_bottle(trial.bottles[name]) for name in _used(regime))
        doses = tuple(_dose(dose) for dose in regime.doses)
        uptake = tuple((name, filled_in(100.0 * rate, "% per day")) for name, rate in tank.uptake_per_day.items())
        kept = WeekForm()
        weeks[arm.key] = WeekForm(
            name=arm.name,
            net_volume=litres,
            bottles=bottles,
            doses=doses,
            changes=tuple(_change(change) for change in regime.changes),
            source=source,
            uptake=uptake,
            start_levels=_pairs(tank.start_level_mg_per_l, "mg/L"),
            day_0=WEEKDAYS[trial.start.weekday()],
            hardness="" if {"calcium", "magnesium"} <= {name for name, _ in source} else kept.hardness,
            currency=trial.currency,
            apart=tuple(pair for pair in kept.apart if set(pair) <= {bottle.key for bottle in bottles}),
        )
        costs[arm.key] = CostForm(
            name=arm.name,
            currency=trial.currency,
            net_volume=litres,
            tanks=str(len(arm.tanks)),
            bottles=bottles,
            doses=doses,
            bought=tuple((name, pack.bought.isoformat()) for name, pack in _dated(trial, regime) if pack.bought),
            keeps=tuple((name, f"{pack.keeps_days} days") for name, pack in _dated(trial, regime) if pack.keeps_days),
        )
    return TrialForms(
        mix={name: _mix(bottle, trial) for name, bottle in trial.bottles.items() if bottle.salts_g},
        water=WaterForm(levels=source, alkalinity="", ph="") if source else WaterForm(),
        weeks=weeks,
        costs=costs,
    )


def _tank_of(trial: Trial, arm: Arm) -> Tank | None:
    return next((trial.tanks[key] for key in arm.tanks if trial.tanks[key].vessel is not None), None)


def _used(regime: Regime) -> tuple[str, ...]:
    return tuple(dict.fromkeys(dose.of for dose in regime.doses))


def _dated(trial: Trial, regime: Regime) -> tuple[tuple[str, Pack], ...]:
    """What was bought for a regime as the form of costs calls it: a bottle by its key, a dry salt by its formula."""
    packs = ((key, trial.bottles[key].packs) for key in _used(regime) if not trial.bottles[key].salts_g)
    return tuple((key if name == "bottle" else name, pack) for key, its in packs for name, pack in its.items())


def _pairs(values: Mapping[str, float], unit: str) -> Pairs:
    return tuple((name, filled_in(value, unit)) for name, value in values.items())


def _bottle(bottle: Bottle) -> BottleForm:
    """A bottle as a form; a bought one by the percentages that its content comes to (g per 100 mL, as elements)."""
    advice = bottle.recommended
    label: Pairs = ()
    if not bottle.salts():
        declared = declared_of_content(bottle.content_mg_per_ml, convention="EU elements", by="volume")
        label = tuple((name, filled_in(percent, "%")) for name, percent in declared.items() if name != "N")
    tool = "stroke" if bottle.stroke_ml else "drop" if bottle.drop_ml else ""
    packs = tuple(
        (name, f"{filled_in(pack.content, 'mL' if pack.unit == 'ml' else pack.unit)} for {pack.price:.2f}")
        for name, pack in bottle.packs.items()
    )
    return BottleForm(
        key=bottle.key,
        name=bottle.name,
        salts=tuple((name, filled_in(grams, "g", digits=9)) for name, grams in bottle.salts_g.items()),
        made_up_to="" if bottle.made_up_to_ml is None else filled_in(bottle.made_up_to_ml, "mL", digits=9),
        label=label,
        label_by="volume" if label else "mass",
        reckoned="yes" if label else "",
        dry=bottle.dry_formula,
        recommended=""
        if advice is None
        else f"{filled_in(advice.ml, 'mL')} per {filled_in(advice.per_l, 'L')} every {filled_in(advice.days, 'days')}",
        stroke="" if bottle.stroke_ml is None else filled_in(bottle.stroke_ml, "mL"),
        drop="" if bottle.drop_ml is None else filled_in(bottle.drop_ml, "mL"),
        packs=packs,
        tool=tool,
    )


def _dose(dose: PlannedDose) -> DoseForm:
    amount = filled_in(dose.g, "g") if dose.g is not None else filled_in(dose.ml or 0.0, "mL")
    return DoseForm(dose.of, dose.written or amount, when_words(dose))


def _change(change: PlannedChange) -> ChangeForm:
    return ChangeForm(filled_in(100.0 * change.share, "%"), when_words(change))


def _mix(bottle: Bottle, trial: Trial) -> MixForm:
    kept = MixForm()
    doses = [
        (dose, arm)
        for arm in trial.arms
        if arm.regime is not None
        for dose in trial.regimes[arm.regime].doses
        if dose.of == bottle.key and dose.ml is not None
    ]
    dose, net = kept.dose, kept.net_volume
    if doses:
        largest, arm = max(doses, key=lambda one: one[0].ml or 0.0)
        dose = filled_in(largest.ml or 0.0, "mL")
        tank = _tank_of(trial, arm)
        if tank is not None and tank.vessel is not None:
            net = filled_in(net_volume_l(tank.vessel), "L", digits=4)
    return MixForm(
        name=bottle.name,
        salts=tuple((name, filled_in(grams, "g", digits=9)) for name, grams in bottle.salts_g.items()),
        made_up_to=kept.made_up_to if bottle.made_up_to_ml is None else filled_in(bottle.made_up_to_ml, "mL", digits=9),
        dose=dose,
        net_volume=net,
        made_on="" if bottle.made_on is None else bottle.made_on.isoformat(),
        coldest=kept.coldest if bottle.coldest_celsius is None else filled_in(bottle.coldest_celsius, "°C", digits=4),
    )
