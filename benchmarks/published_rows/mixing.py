"""Solubility, density, labels and hazards against values that others printed, and worked examples of growers.

Each row compares ours with the printed digits; the limit is half a unit of the last one unless it says otherwise.
"""

from __future__ import annotations

from collections.abc import Iterator

from rows import Row
from rows import printed_row as _row

from littoral.chemistry.density import made_up_to, volume_added_to
from littoral.chemistry.ghs import ghs_label
from littoral.chemistry.label_grades import percent_of_grade
from littoral.chemistry.labels import content_of_dry_label
from littoral.chemistry.nutrients import element_view
from littoral.chemistry.own_substances import own_by_label
from littoral.chemistry.salts import salt
from littoral.chemistry.solubility import Basis, anhydrous_of, convert_solubility, solubility_rows
from littoral.chemistry.weighing import weigh_out

EGRO = "N. Mattson, e-GRO Edible Alert 2018, fertilizer calculations, read"
SUPPLIER = "a laboratory supplier's public solubility table, read: both columns"
CRC = "CRC Handbook, 98th ed., molalities, recomputed with independent software"


def rows() -> list[Row]:
    return [
        *_solubility_bases(),
        *_solubility_sources(),
        *_densities(),
        *_growers_examples(),
        *_stock_molarities(),
        *_labels(),
        *_hazard_labels(),
    ]


def _within(name: str, ours: float, unit: str, printed: float, share: float, why: str, source: str) -> Row:
    return {
        "name": name,
        "value": ours,
        "unit": unit,
        "reference": f"{printed:g}",
        "difference": ours - printed,
        "limit": f"±{100 * share:g} %, {why}",
        "holds": abs(ours / printed - 1) <= share,
        "source": source,
    }


def _crc(formula: str, celsius: float) -> float:
    """Molality of the CRC row of a salt."""
    row = next(
        row
        for row in solubility_rows()
        if row.basis == "mol/kg water" and anhydrous_of(row.counted_as) == anhydrous_of(formula)
    )
    return row.amount[row.celsius.index(celsius)]


def _solubility_bases() -> Iterator[Row]:
    """One solubility on two bases."""

    def on(amount: float, basis: Basis, counted_as: str, to_basis: Basis, to: str) -> float:
        return convert_solubility(amount, counted_as=counted_as, basis=basis, to_counted_as=to, to_basis=to_basis)

    anhydrous = {
        "Ca(NO3)2": ("113.2", "131.0", "142.3"),
        "CuSO4": ("16.8", "20.1", "22.0"),
        "FeSO4": ("20.5", "26.3", "29.5"),
        "K2CO3": ("107.2", "109.8", "111.4"),
        "NH4NO3": ("150.6", "189.9", "212.1"),
        "ZnSO4": ("47.0", "53.9", "57.7"),
    }
    hydrates = {
        # at 25 °C it nears the point where the crystals bring all the water: 546.5 or 547 by the atomic weights taken
        "Ca(NO3)2·4H2O": ("324", "444"),
        "CuSO4·5H2O": ("29.1", "35.5", "39.2"),
        "FeSO4·7H2O": ("45.3", "61.5", "71.4"),
        "ZnSO4·7H2O": ("132", "166", "187"),
    }
    for formulas, basis in ((anhydrous, "total water"), (hydrates, "added water")):
        for formula, printed in formulas.items():
            for celsius, text in zip((10, 20, 25), printed, strict=False):
                bare = anhydrous_of(formula)
                ours = on(_crc(formula, celsius), "mol/kg water", bare, basis, formula)  # type: ignore[arg-type]
                yield _row(f"{formula} at {celsius} °C, per 100 g of {basis}", ours, "g", text, CRC)
    yield _row(
        "CuSO4·5H2O at 20 °C per 100 g of all water",
        on(20.1, "total water", "CuSO4", "total water", "CuSO4·5H2O"),
        "g",
        "31.4",
        CRC,
    )
    for formula, per_water, percent in (
        ("NH4Cl", 37.56, "27.3"),
        ("NH4H2PO4", 36.8, "26.9"),
        ("(NH4)2HPO4", 68.6, "40.7"),
        ("NH4HCO3", 21.22, "17.5"),
    ):
        ours = on(per_water, "total water", formula, "solution", formula)
        yield _row(
            f"{formula}, {per_water:g} g per 100 g of water as percent of the solution", ours, "%", percent, SUPPLIER
        )


def _solubility_sources() -> Iterator[Row]:
    """Older compilations against CRC at 20 °C: handbooks agree within about 2 %."""
    for row in solubility_rows():
        if row.source.startswith("compiled") and row.counted_as in (
            "Ca(NO3)2",
            "NH4NO3",
            "(NH4)2SO4",
            "K2CO3",
            "ZnSO4",
            "CuSO4·5H2O",
        ):
            bare = anhydrous_of(row.counted_as)
            theirs = convert_solubility(
                _crc(bare, 20), counted_as=bare, basis="mol/kg water", to_counted_as=bare, to_basis="total water"
            )
            ours = row.anhydrous_per_total_water()[row.celsius.index(20)]
            yield _within(
                f"{bare} at 20 °C, compiled against CRC",
                ours,
                "g/100 g",
                theirs,
                0.02,
                "spread of handbooks",
                "CRC Handbook, 98th ed., read",
            )


def _densities() -> Iterator[Row]:
    """Density of a 10 % solution through our mixing rule, against the CRC Handbook's concentrative properties."""
    for key, kg_per_m3 in (
        ("KNO3", 1062.7),
        ("KH2PO4", 1069.1),
        ("K2SO4", 1081.7),
        ("MgSO4 anhydrous", 1103.4),
        ("CaCl2 anhydrous", 1083.5),
        ("KCl", 1063.3),
    ):
        grams = {key: 10.0}
        ml = volume_added_to(grams, water_ml=90.0 / 0.9982).ml
        source = "CRC Handbook, concentrative properties, from memory"
        yield _within(f"density of 10 % {key}", 1e5 / ml, "kg/m³", kg_per_m3, 0.001, "model against handbook", source)
    made = made_up_to({"KNO3": 106.26}, made_up_to_ml=1000.0)
    yield _row("106.26 g KNO3 made up to a litre", made.density_kg_per_l, "kg/L", "1.063", "the lesson of 10 % by mass")


def _growers_examples() -> Iterator[Row]:
    """Worked examples from extension services: how much to weigh for a target in ppm, and what comes along."""
    sack = own_by_label("calcium nitrate", {"NO3-N": 15.5, "Ca": 19.0})
    epsom = own_by_label("magnesium sulphate", {"Mg": 9.7, "S": 13.0})
    nitrate = 0.1 / 0.2259221  # 100 ppm N as nitrate, mg/mL
    found = weigh_out({"nitrate": nitrate}, ["calcium nitrate"], made_up_to_ml=1000.0, scale_step_g=0.001, own=[sack])
    yield _row("calcium nitrate for 100 ppm N, per litre", 1000 * found.grams["calcium nitrate"], "mg", "645", EGRO)
    found = weigh_out(
        {"magnesium": 0.04}, ["magnesium sulphate"], made_up_to_ml=1000.0, scale_step_g=0.001, own=[epsom]
    )
    grams = found.grams["magnesium sulphate"]
    yield _row("magnesium sulphate for 40 ppm Mg, per litre", 1000 * grams, "mg", "412", EGRO)
    sulphur = next(row for row in found.reached if row.nutrient == "sulphate").got_mg_per_ml
    yield _row("sulphur that comes with it", 1000 * element_view({"sulphate": sulphur})["S"], "ppm", "53.56", EGRO)
    yield _row("the same for 100 US gallons", grams * 378.5, "g", "155.9", EGRO)
    yield _row("12 % P2O5 as P", _element("P2O5", 12.0, "P"), "%", "5.24", EGRO)


def _element(name: str, percent: float, element: str) -> float:
    return element_view(content_of_dry_label({name: percent}))[element] / 10.0


def _stock_molarities() -> Iterator[Row]:
    """Stock solutions of a medium, printed in g/L and in mol/L."""
    source = "PMC9976608, Table 1, read"
    for key, g_per_l, printed, unit, per in (
        ("KH2PO4", 51.0, "0.37", "mol/L", 1.0),
        ("K2HPO4 anhydrous", 52.3, "0.3", "mol/L", 1.0),
        ("MgSO4·7H2O", 39.5, "0.16", "mol/L", 1.0),
        ("ZnSO4·7H2O", 0.72, "2.5", "mmol/L", 1000.0),
        ("NaCl", 1.4, "24", "mmol/L", 1000.0),
        ("CaCl2·2H2O", 0.6, "4.08", "mmol/L", 1000.0),
        ("NaHCO3", 1.2, "14.3", "mmol/L", 1000.0),
    ):
        yield _row(f"{g_per_l:g} g/L {key}", per * g_per_l / salt(key).weight, unit, printed, source)


def _labels() -> Iterator[Row]:
    """Bags and what they come to, as printed elsewhere."""
    grower = "a grower's page on nutrient calculations, read"
    yield _row(
        "potassium sulphate 0-0-50 as K",
        _element("K2O", percent_of_grade("0-0-50", counting="oxides")["K2O"], "K"),
        "%",
        "41.5",
        grower,
    )
    yield _row(
        "monopotassium phosphate 0-52-34 as P",
        _element("P2O5", percent_of_grade("0-52-34", counting="oxides")["P2O5"], "P"),
        "%",
        "22.7",
        grower,
    )
    industry = "IFA and industry tables of typical analyses (from memory): pure salts"
    yield _row("urea, total N", element_view(salt("urea").content_mg_per_g)["N"] / 10, "%", "46.6", industry)
    table = "extension table of fertilizer sources, read"
    yield _row(
        "ammonium sulphate, total N", element_view(salt("(NH4)2SO4").content_mg_per_g)["N"] / 10, "%", "21", table
    )
    yield _row("Epsom salts, Mg", element_view(salt("Epsom salt").content_mg_per_g)["Mg"] / 10, "%", "10", table)
    yield _row("Epsom salts, S", element_view(salt("Epsom salt").content_mg_per_g)["S"] / 10, "%", "13", table)


def _hazard_labels() -> Iterator[Row]:
    for key, reference, source in (
        ("CuSO4 anhydrous", "Warning: GHS07 GHS09", "International Chemical Safety Card 0751 (2023), read"),
        ("H3BO3", "Danger: GHS08", "International Chemical Safety Card 0991 (2014), read"),
        ("KNO3", "Warning: GHS03", "suppliers' data sheets (Ox. Sol. 3), read"),
        ("CuSO4·5H2O", "Danger: GHS05 GHS07 GHS09", "Regulation (EC) 1272/2008, Annex VI, from memory"),
        ("MnSO4·H2O", "Warning: GHS08 GHS09", "Regulation (EC) 1272/2008, Annex VI, from memory"),
    ):
        label = ghs_label(salt(key).hazards)
        ours = f"{label.signal}: {' '.join(label.pictograms)}"
        yield {
            "name": f"hazard label of {key}",
            "value": ours,
            "unit": "",
            "reference": reference,
            "limit": "the same",
            "holds": ours == reference,
            "source": source,
        }
