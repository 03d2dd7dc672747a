"""Build water: a source water's report made whole, and the salts that bring pure or mixed water to a target."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

from littoral.acts.mix_and_feed.blends import blends
from littoral.acts.mix_and_feed.figures import Figure, Pairs, Refused, exact, figure
from littoral.acts.mix_and_feed.mix_form import WeighLine
from littoral.acts.mix_and_feed.mix_reading import read_purity
from littoral.acts.mix_and_feed.reading import Reading
from littoral.acts.mix_and_feed.shelf_reading import LARGEST_TANK_L
from littoral.acts.mix_and_feed.water_form import START_FROM, Blend, Built, BuiltWater, WaterForm
from littoral.acts.mix_and_feed.water_lines import Known, picture
from littoral.acts.mix_and_feed.weigh_lines import other_forms, purity_figure
from littoral.chemistry.build_water import CARE, SaltOnShelf, WaterTarget, Weighing
from littoral.chemistry.build_water import build_water as weigh_for_water
from littoral.chemistry.co2 import CARE as CO2_CARE
from littoral.chemistry.mix_water import mix_water
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.oxygen import pressure_at_altitude_atm
from littoral.chemistry.salts import salt
from littoral.chemistry.water_report import WaterReport, full_picture
from littoral.quantities.derivation import Step
from littoral.quantities.hardness import alkalinity_in, hardness_in
from littoral.speech.say import say

MOST_DEGREES = 60.0


@dataclass(frozen=True, slots=True)
class _Wanted:
    """The water to build, in canonical units; without `kh_asked` its alkalinity is that of the water to start from."""

    target: WaterTarget
    volume_l: float
    start_from: Literal["pure water", "this water", "mixture"]
    share: float | None
    shelf: tuple[SaltOnShelf, ...]
    kh_asked: bool


def build_water(form: WaterForm) -> BuiltWater | Refused:
    """Return the picture of the water reported, and the water built from it; or every mistake in the form."""
    reading = Reading(form)
    known = _known(reading, form)
    wanted = _wanted(reading, form) if form.target_gh.strip() else None
    if reading.faults or known is None:
        return Refused(tuple(reading.faults))
    found: BuiltWater | None = None
    with reading.trying("levels"):
        source = picture(known)
        built = None
        if wanted is not None:
            with reading.trying("target_gh"):
                built = _built(known, wanted)
        mixtures = () if wanted is None else _blends(known, wanted)
        found = BuiltWater(source, built, (CO2_CARE,), mixtures)
    if reading.faults or found is None:
        return Refused(tuple(reading.faults))
    return found


def _known(reading: Reading, form: WaterForm) -> Known | None:
    levels = reading.nutrients("levels", form.levels)
    hardness = reading.amount("hardness", form.hardness, "hardness", needed=False, above_zero=False)
    alkalinity = reading.amount("alkalinity", form.alkalinity, "alkalinity", needed=False, above_zero=False)
    ph = reading.number("ph", form.ph, high=14.0, needed=False)
    ph_error = reading.number("ph_error", form.ph_error, high=2.0, needed=False)
    celsius = reading.amount("temperature", form.temperature, "temperature", needed=False)
    if celsius is not None and not 0 <= celsius <= 50:
        reading.wrong(
            "temperature",
            say("is {celsius:g} °C.", celsius=celsius),
            say("Give 0 to 50 °C: the constants are checked there."),
        )
    conductivity = reading.number("conductivity", form.conductivity.removesuffix("µS/cm"), needed=False, high=1e5)
    pressure = 1.0
    if form.altitude.strip():
        altitude_cm = reading.amount("altitude", form.altitude, "length", above_zero=False)
        with reading.trying("altitude"):
            pressure = pressure_at_altitude_atm((altitude_cm or 0.0) / 100.0)
    if not levels and hardness is None and alkalinity is None and not reading.faults:
        reading.wrong("levels", say("says nothing of the water."), say("Give a level, a hardness or an alkalinity."))
    if reading.faults:
        return None
    report = WaterReport(levels, hardness, alkalinity, ph, celsius, conductivity)
    return Known(report, 0.1 if ph_error is None else ph_error, pressure)


def _wanted(reading: Reading, form: WaterForm) -> _Wanted | None:
    gh = _degrees(reading, "target_gh", form.target_gh, "dGH")
    kh = _degrees(reading, "target_kh", form.target_kh.strip() or "0 dKH", "dKH")
    ratio = reading.number("target_ratio", form.target_ratio.partition(":")[0], high=1e6)
    volume = reading.amount("volume", form.volume, "volume", at_most=LARGEST_TANK_L)
    start = reading.one_of("start_from", form.start_from, START_FROM)
    share = reading.amount("share", form.share, "fraction", needed=False, above_zero=False)
    shelf = _shelf(reading, form.shelf, form.purity)
    if reading.faults or gh is None or kh is None or ratio is None or volume is None:
        return None
    begin: Literal["pure water", "this water", "mixture"] = (
        "mixture" if start == "mixture" else "this water" if start == "this water" else "pure water"
    )
    return _Wanted(WaterTarget(gh, kh, ratio), volume, begin, share, shelf, kh_asked=bool(form.target_kh.strip()))


def _degrees(reading: Reading, field: str, text: str, unit: str) -> float | None:
    kind = "hardness" if unit == "dGH" else "alkalinity"
    value = reading.amount(field, text, kind, above_zero=False)
    if value is None:
        return None
    degrees = hardness_in(value, unit=unit) if kind == "hardness" else alkalinity_in(value, unit=unit)
    if degrees > MOST_DEGREES:
        reading.wrong(
            field,
            say('is "{text}".', text=text),
            say("Give at most {most_degrees:g} {unit}: fresh water.", most_degrees=MOST_DEGREES, unit=unit),
        )
    return float(f"{degrees:.12g}")


def _shelf(reading: Reading, rows: Pairs, purity: Pairs) -> tuple[SaltOnShelf, ...]:
    found: dict[str, SaltOnShelf] = {}
    for line, name, text in reading.rows("shelf", rows):
        step = reading.amount("shelf", text or "0.1 g", "mass", line=line, of=name, at_most=1e4)
        with reading.trying("shelf", line=line):
            key = salt(name).key
            if key in found:
                reading.wrong("shelf", say("{key} is given twice.", key=key), say("Name each salt once."), line=line)
            found[key] = SaltOnShelf(key, step or 0.1)
    if not found and not any(fault.where == "shelf" for fault in reading.faults):
        reading.wrong("shelf", say("is empty."), say("Name at least one salt, such as CaSO4·2H2O."))
    pure = read_purity(reading, purity, (), tuple(found))
    return tuple(replace(one, purity=pure.get(key, 1.0)) for key, one in found.items())


def _built(known: Known, wanted: _Wanted) -> Built:
    source = dict(full_picture(known.report).levels_mg_per_l)
    share, why = _share(source, wanted)
    base = mix_water(source, {}, share_of_first=share)
    built = weigh_for_water(_target(wanted, base), shelf=wanted.shelf, volume_l=wanted.volume_l, base_mg_per_l=base)
    report = WaterReport(
        built.levels_mg_per_l, temperature_c=known.report.temperature_c, ph=None, conductivity_us_per_cm=None
    )
    mixing: Figure | None = None
    if wanted.start_from == "mixture":
        litres = share * wanted.volume_l
        text = f"{litres:.3g} L of this water and {wanted.volume_l - litres:.3g} L of pure water"
        mixing = Figure(f"{text} ({100 * share:.3g} %)", share, "", why)
    purity = {one.salt: one.purity for one in wanted.shelf}
    lines = tuple(
        _weigh_line(one, _steps_of(one.salt, built.steps), purity[one.salt]) for one in built.weighings if one.steps > 0
    )
    return Built(
        volume=exact(wanted.volume_l, "L"),
        mixing=mixing,
        weigh_out=lines,
        water=picture(Known(report, known.ph_error, known.pressure_atm), built.steps),
        checks=built.checks,
        cautions=(CARE,),
    )


def _blends(known: Known, wanted: _Wanted) -> tuple[Blend, ...]:
    asked = ("hardness", "alkalinity") if wanted.kh_asked else ("hardness",)
    return blends(full_picture(known.report), wanted.target, volume_l=wanted.volume_l, asked=asked)


def _target(wanted: _Wanted, base: Mapping[str, float]) -> WaterTarget:
    """The target, with the alkalinity that the water to start from brings where none is asked."""
    if wanted.kh_asked:
        return wanted.target
    meq = base.get("bicarbonate", 0.0) / NUTRIENTS["bicarbonate"].weight
    return replace(wanted.target, kh_dkh=alkalinity_in(meq, unit="dKH"))


def _share(source: Mapping[str, float], wanted: _Wanted) -> tuple[float, tuple[Step, ...]]:
    """The share of the source water, 0 to 1: as asked, or as much as passes no part of what is asked."""
    if wanted.start_from != "mixture":
        return (1.0 if wanted.start_from == "this water" else 0.0), ()
    if wanted.share is not None:
        return wanted.share, (Step("share of this water", "as you wrote it", f"{100 * wanted.share:g} %"),)
    aims = wanted.target.level_mg_per_l()
    if not wanted.kh_asked:
        del aims["bicarbonate"]
    most = {key: aims[key] / source[key] for key in aims if source.get(key, 0.0) > 0}
    share = min([1.0, *most.values()])
    formula = (
        ", ".join(f"{key} {aims[key]:.4g} / {source[key]:.4g}" for key in most) or "nothing of it stands in the way"
    )
    step = Step(
        "most that the target bears", f"least of: {formula}, 1", f"{100 * share:.3g} %", "levels mix in proportion"
    )
    return share, (step,)


def _weigh_line(one: Weighing, steps: tuple[Step, ...], pure: float) -> WeighLine:
    this = salt(one.salt)
    if pure != 1.0:
        content = Step(
            f"{one.salt} in it",
            f"{one.grams:g} g × {pure:g} (purity)",
            f"{one.grams * pure:.4g} g",
            "the purity you wrote",
        )
        steps = (*steps, content)
    grams = exact(float(f"{one.grams:.10g}"), "g")
    return WeighLine(
        salt=this.short,
        name=this.name,
        grams=Figure(grams.text, grams.value, "g", steps),
        exact=figure(one.exact_g, "g", steps=steps, digits=4),
        hazard=one.hazard,
        storage=this.storage,
        purity=None if pure == 1.0 else purity_figure(pure),
        other_forms=other_forms(one.salt, one.grams, pure=pure, step_g=one.step_g),
    )


def _steps_of(name: str, steps: tuple[Step, ...]) -> tuple[Step, ...]:
    return tuple(step for step in steps if step.what in (name, "target as levels"))
