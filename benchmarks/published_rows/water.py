"""Water against values printed elsewhere and against PHREEQC and PyCO2SYS, run here.

CO2, ammonia, oxygen, ion balances of published analyses (waters.toml beside this file), and the salts that raise
hardness by a degree. Printed values are compared at half their last digit.
"""

from __future__ import annotations

import math
import tomllib
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import phreeqpython  # type: ignore[import-untyped]
from rows import Row
from rows import printed_row as _row

from littoral.chemistry.air import air_co2_mg_per_l, air_ph
from littoral.chemistry.ammonia import epa_acute_mg_n_per_l, epa_chronic_mg_n_per_l, unionised_share
from littoral.chemistry.carbonate import log_k1, log_k2, log_kh
from littoral.chemistry.co2 import co2_estimate
from littoral.chemistry.ion_balance import IonBalance, ion_balance
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.oxygen import oxygen_saturation_mg_per_l
from littoral.chemistry.raising import grams_to_raise_gh, grams_to_raise_kh
from littoral.chemistry.weights import formula_weight
from littoral.quantities.hardness import alkalinity_in, alkalinity_meq_per_l, hardness_in, hardness_mmol_per_l


def rows() -> list[Row]:
    return [
        *_constants(),
        *_co2(),
        *_air(),
        *_ammonia(),
        *_oxygen(),
        *_doses(),
        *_degrees(),
        *_balances(),
        *_alkalinity_as_caco3(),
    ]


def _worst(name: str, apart: float, unit: str, limit: float, reference: str, source: str) -> Row:
    return {
        "name": name,
        "value": apart,
        "unit": unit,
        "reference": reference,
        "difference": apart,
        "limit": f"at most {limit:g}",
        "holds": abs(apart) <= limit,
        "source": source,
    }


def _constants() -> Iterator[Row]:
    source = "Plummer & Busenberg 1982 and Stumm & Morgan, at 25 °C (from memory)"
    yield _row("pK1 of carbonic acid, 25 °C", -log_k1(25.0), "", "6.35", source)
    yield _row("pK2 of carbonic acid, 25 °C", -log_k2(25.0), "", "10.33", source)
    yield _row("pKH of carbon dioxide, 25 °C", -log_kh(25.0), "", "1.47", source)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import PyCO2SYS as pyco2  # type: ignore[import-untyped]
    apart_k, apart_kh = 0.0, 0.0
    for t in (5.0, 10.0, 15.0, 20.0, 25.0, 30.0):
        known = pyco2.sys(salinity=0.0, temperature=t, opt_k_carbonic=8)  # Millero 1979, fresh water
        k1, k2 = math.log10(known["k_carbonic_1"]), math.log10(known["k_carbonic_2"])
        apart_k = max(apart_k, abs(k1 - log_k1(t)), abs(k2 - log_k2(t)))
        apart_kh = max(apart_kh, abs(10.0 ** log_kh(t) / known["k_CO2"] - 1.0))
    name = f"PyCO2SYS {pyco2.__version__}, run here"
    yield _worst("log K1, log K2 at 5 to 30 °C, worst", apart_k, "", 0.002, "Millero 1979", name)
    yield _worst("solubility of CO2 at 5 to 30 °C, worst", 100 * apart_kh, "%", 0.5, "Weiss 1974", name)


def _phreeqc_co2(engine: Any, *, dkh: float, ph: float, temperature_c: float) -> float:
    """CO2 in mg/L of a water of sodium bicarbonate, by PHREEQC."""
    meq = alkalinity_meq_per_l(dkh, unit="dKH")
    water = engine.add_solution({"units": "mmol/L", "temp": temperature_c, "pH": ph, "Na": meq, "Alkalinity": meq})
    co2 = 1000.0 * formula_weight("CO2") * water.species_molalities["CO2"]
    water.forget()
    return float(co2)


def _co2() -> Iterator[Row]:
    engine = phreeqpython.PhreeqPython()
    worst = 0.0
    shares: dict[float, list[tuple[float, float]]] = {20.0: [], 25.0: []}
    for t, pairs in shares.items():
        for dkh in range(1, 11):
            for ph in (6.0, 6.2, 6.4, 6.6, 6.8, 7.0, 7.2, 7.5):
                theirs = _phreeqc_co2(engine, dkh=dkh, ph=ph, temperature_c=t)
                meq = alkalinity_meq_per_l(dkh, unit="dKH")
                ours = co2_estimate(ph=ph, alkalinity_meq_per_l=meq, temperature_c=t)
                worst = max(worst, abs(ours.co2_mg_per_l / theirs - 1.0))
                pairs.append((ours.rule_share, ours.rule_mg_per_l / theirs))
    run = "PHREEQC through phreeqpython, run here"
    yield _worst("CO2 of 160 waters, 1 to 10 dKH, pH 6 to 7.5, worst", 100 * worst, "%", 0.1, "PHREEQC", run)
    table = "table of PHREEQC values for sodium bicarbonate water"
    for dkh, ph, t, printed in ((4, 6.6, 20.0, "36.41"), (4, 6.6, 25.0, "33.97"), (10, 7.5, 20.0, "11.16")):
        meq = alkalinity_meq_per_l(dkh, unit="dKH")
        ours_mg = co2_estimate(ph=ph, alkalinity_meq_per_l=meq, temperature_c=t).co2_mg_per_l
        # the table's last digit rests on PHREEQC's own activity model
        yield _worst(f"CO2 at {dkh} dKH, pH {ph:g}, {t:g} °C", ours_mg - float(printed), "mg/L", 0.02, printed, table)
    for t, pairs in shares.items():
        for what, of in (("least", min), ("most", max)):
            ours_share, their_share = (of(column) for column in zip(*pairs, strict=True))
            name = f"rule of thumb as a share of CO2 at {t:g} °C, {what}"
            yield _row(name, ours_share, "", f"{their_share:.3f}", f"the rule over PHREEQC's CO2; {run}")


def _air() -> Iterator[Row]:
    source = "Henry's law with Plummer & Busenberg 1982, 420 µatm, recomputed independently"
    for t, printed in ((10.0, "0.994"), (15.0, "0.843"), (20.0, "0.724"), (25.0, "0.629"), (30.0, "0.553")):
        yield _row(f"CO2 from the air at {t:g} °C", air_co2_mg_per_l(temperature_c=t), "mg/L", printed, source)
    phreeqc = "PHREEQC, sodium bicarbonate water, 25 °C, 420 µatm"
    for dkh, printed in ((1, "7.74"), (2, "8.03"), (3, "8.20"), (4, "8.32"), (5, "8.41"), (8, "8.61"), (10, "8.70")):
        ours = air_ph(alkalinity_meq_per_l=alkalinity_meq_per_l(dkh, unit="dKH"), temperature_c=25.0)
        yield _row(f"pH in balance with air at {dkh} dKH", ours, "", printed, phreeqc)
    media = "OECD 201 / EU C.3: pH of the media (pHeq = 11.30 + log [HCO3-], which means 331 µatm)"
    for mg, printed in ((15.0, "7.5"), (50.0, "8.1")):
        meq = mg / formula_weight("NaHCO3")
        ours = air_ph(alkalinity_meq_per_l=meq, temperature_c=25.0, partial_pressure_uatm=331.0)
        yield _row(f"pH of {mg:g} mg/L NaHCO3 in balance with air", ours, "", printed, media)


def _ammonia() -> Iterator[Row]:
    thurston = "Thurston et al. 1979, EPA-600/3-79-091 (from memory)"
    yield _row("un-ionised ammonia, 25 °C, pH 8", 100 * unionised_share(ph=8, temperature_c=25), "%", "5.38", thurston)
    yield _row("un-ionised ammonia, 20 °C, pH 8", 100 * unionised_share(ph=8, temperature_c=20), "%", "3.82", thurston)
    ccrem = "CCREM 1987, as quoted"
    yield _row("un-ionised ammonia, 20 °C, pH 8.5", 100 * unionised_share(ph=8.5, temperature_c=20), "%", "11", ccrem)
    yield _row("un-ionised ammonia, 20 °C, pH 6", 100 * unionised_share(ph=6, temperature_c=20), "%", "0.04", ccrem)
    epa = "US EPA 2013, headline figures at pH 7, 20 °C (from memory)"
    for salmonids in (False, True):
        acute = epa_acute_mg_n_per_l(ph=7, temperature_c=20, salmonids=salmonids)
        yield _row(f"EPA's acute ammonia, {'with' if salmonids else 'no'} salmonids", acute, "mg N/L", "17", epa)
    yield _row("EPA's chronic ammonia", epa_chronic_mg_n_per_l(ph=7, temperature_c=20), "mg N/L", "1.9", epa)


def _oxygen() -> Iterator[Row]:
    source = "Benson & Krause, table of Standard Methods 4500-O (from memory)"
    table = {0: "14.621", 5: "12.771", 10: "11.288", 15: "10.084", 18: "9.467", 20: "9.092", 22: "8.744"}
    table |= {24: "8.418", 25: "8.263", 26: "8.114", 28: "7.828", 30: "7.559"}
    for t, printed in table.items():
        yield _row(f"oxygen saturation at {t} °C", oxygen_saturation_mg_per_l(temperature_c=t), "mg/L", printed, source)
    recomputed = "the same with the pressure correction, recomputed independently"
    for t, p, printed in ((25, 0.9, "7.411"), (20, 0.95, "8.627")):
        ours = oxygen_saturation_mg_per_l(temperature_c=t, pressure_atm=p)
        yield _row(f"oxygen saturation at {t} °C, {p:g} atm", ours, "mg/L", printed, recomputed)


def _doses() -> Iterator[Row]:
    source = "recomputed independently from formula weights and 1 degree = 10 mg CaO per litre"
    for salt, printed in (("NaHCO3", "2.996"), ("KHCO3", "3.571"), ("K2CO3", "2.465")):
        grams = grams_to_raise_kh(salt, dkh=1.0, volume_l=100.0).grams
        yield _row(f"{salt} for +1 dKH in 100 L", grams, "g", printed, source)
    for salt, printed in (("CaSO4·2H2O", "3.070"), ("CaCl2·2H2O", "2.622"), ("MgSO4·7H2O", "4.395")):
        grams = grams_to_raise_gh(salt, dgh=1.0, volume_l=100.0).grams
        yield _row(f"{salt} for +1 dGH in 100 L", grams, "g", printed, source)
    standard = 1000.0 * grams_to_raise_kh("NaHCO3", dkh=4.0, volume_l=1.0).grams
    yield _row("NaHCO3 of a 4 dKH standard", standard, "mg/L", "119.8", "common practice; recomputed independently")


def _degrees() -> Iterator[Row]:
    source = "definitions of the degrees, recomputed independently"
    one_dkh = alkalinity_meq_per_l(1.0, unit="dKH")
    yield _row("1 dKH as bicarbonate", alkalinity_in(one_dkh, unit="mg/L HCO3"), "mg/L", "21.76", source)
    yield _row("1 dKH", one_dkh, "meq/L", "0.35665", source)
    for unit, printed in (("°fH", "0.5603"), ("°e", "0.7986"), ("gpg", "0.9591")):
        degrees = hardness_in(hardness_mmol_per_l(1.0, unit=unit), unit="dGH")
        yield _row(f"1 {unit} of hardness", degrees, "dGH", printed, source)
    for unit, printed in (("°fH", "0.5603"), ("°e", "0.7986")):
        degrees = alkalinity_in(alkalinity_meq_per_l(1.0, unit=unit), unit="dKH")
        yield _row(f"1 {unit} of alkalinity", degrees, "dKH", printed, source)


def waters() -> list[dict[str, Any]]:
    """The published analyses, levels in mg/L."""
    file = Path(__file__).with_name("waters.toml")
    found = tomllib.loads(file.read_text(encoding="utf-8"))["water"]
    for water in found:
        if "mmol_per_l" in water:
            water["mg_per_l"] = {key: mmol * NUTRIENTS[key].weight for key, mmol in water["mmol_per_l"].items()}
    return list(found)


def balance_of(water: dict[str, Any]) -> IonBalance:
    """Our balance of one of them."""
    return ion_balance(water["mg_per_l"], others_meq_per_l=water.get("others_meq_per_l"))


def _balances() -> Iterator[Row]:
    for water in waters():
        balance, name, source = balance_of(water), water["name"], water["source"]
        charge = {ion.name: ion.meq_per_l for ion in (*balance.cations, *balance.anions)}
        for key, printed in water.get("charge_meq_per_l", {}).items():
            yield _row(f"{name}: {key}", charge[key], "meq/L", printed, source)
        cations, anions = balance.cation_sum_meq_per_l, balance.anion_sum_meq_per_l
        for what, ours, unit, key in (
            ("cations", cations, "meq/L", "cations_meq_per_l"),
            ("anions", anions, "meq/L", "anions_meq_per_l"),
            ("cations less anions", cations - anions, "meq/L", "difference_meq_per_l"),
            ("ion balance error", balance.error_percent, "%", "error_percent"),
        ):
            if key in water:
                yield _row(f"{name}: {what}", ours, unit, water[key], source)


def _alkalinity_as_caco3() -> Iterator[Row]:
    """145 mg/L as CaCO3 were divided by 100 instead of 50: half the alkalinity, and a "balance" of 44.9 %."""
    source = "letter on a landfill's groundwater, San Joaquin County, May 1988"
    ours = alkalinity_meq_per_l(145.0, unit="mg/L CaCO3")
    right, wrong = _row("", ours, "meq/L", "2.897", source), _row("", ours, "meq/L", "1.449", source)
    yield right | {
        "name": "well X102: 145 mg/L of alkalinity as CaCO3: misprint 1.449",
        "reference": "2.897 recomputed (100.09 / 2 g per equivalent), not 1.449",
        "holds": right["holds"] and not wrong["holds"],
    }
