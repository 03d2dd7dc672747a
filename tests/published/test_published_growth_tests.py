"""Published growth tests through the act itself: the table goes in as a file, the printed numbers come out.

Lemna: Schmitt et al. 2013, Ecol Model 255:1-10, frond counts (metsulfuron-methyl); rates recomputed elsewhere
(R 4.2.2). Water-milfoil and alga: drcHelper 0.0.5 (R), whose test cases follow OECD 239 and 201. Of its rows those are
not used whose numbers belong to another test (its df are Welch's) or to another design: its smallest detectable
difference takes the critical t of equal vessels, 2.769, where six controls and four vessels of a dose have 2.803.
"""

from __future__ import annotations

import csv
import json
import math
from pathlib import Path
from typing import Any

import pytest

from littoral.acts.growth_test.give import give_growth_test, growth_test_json

# Mean fronds of each dose (ug/L) on days 0, 3, 5, 7; the control as printed, of the doses day 0 and 7
CONTROL = {0: 12, 3: 38, 5: 92, 7: 176}
DAY_7 = {"0.32": 172 + 2 / 3, "0.56": 68 + 1 / 3, "1.0": 33.0, "1.8": 23 + 1 / 3, "3.2": 22 + 2 / 3}
INHIBITION = {
    "0.32": ("0.71", "2.03"), "0.56": ("35.23", "65.65"), "1.0": ("62.33", "87.20"), "1.8": ("75.24", "93.09"),
    "3.2": ("76.32", "93.50"),
}  # fmt: skip


def answered(rows: list[tuple[Any, ...]], *header: str, **asked: Any) -> dict[str, Any]:
    text = "\n".join(",".join(map(str, row)) for row in (header, *rows))
    return json.loads(json.dumps(growth_test_json(give_growth_test(text.encode(), where="t.csv", **asked))))


def holds(value: float, printed: str) -> bool:
    return abs(value - float(printed)) <= 0.5 * 10.0 ** -len(printed.partition(".")[2])


def test_lemna_counts_to_the_printed_digits() -> None:
    rows: list[tuple[Any, ...]] = [("c", 0, day, fronds) for day, fronds in CONTROL.items()]
    rows += [(f"v{dose}", dose, day, n) for dose, last in DAY_7.items() for day, n in ((0, 12), (7, last))]
    found = answered(rows, "vessel", "dose (µg/L)", "day", "fronds")
    fronds = found["measured"][0]
    control = fronds["vessels"][0]
    assert holds(control["rate_per_day"], "0.383654")
    assert holds(control["doubling_days"], "1.80670")
    for part, printed in zip(control["sections"], ("0.384227", "0.442101", "0.324348"), strict=True):
        assert holds(part["rate_per_day"], printed)
    for of, which in ((0, "growth rate"), (1, "yield")):
        compared = fronds["compared"][of]
        assert compared["of"] == which
        for dose in compared["doses"]:
            assert holds(dose["inhibition_percent"], INHIBITION[dose["dose"]][of]), dose
    (doubling,) = found["validity"]
    assert (doubling["verdict"], holds(doubling["value"], "1.80670"), doubling["limit"]) == ("holds", True, 2.5)
    assert "at least two vessels" in fronds["compared"][0]["why_no_test"]
    assert all(dose["rule"] == "no test" for dose in fronds["compared"][0]["doses"])


@pytest.fixture(scope="module")
def milfoil(open_data: Path) -> tuple[list[tuple[Any, ...]], list[dict[str, str]]]:
    """The test's rates as shoots that grow from 1 cm by them in 14 days, and what the source expects."""
    rows: list[tuple[Any, ...]] = []
    tables = open_data / "tables"
    with (tables / "myriophyllum_oecd239_data.csv").open(encoding="utf-8", newline="") as opened:
        for at, one in enumerate(csv.DictReader(opened)):
            if one["Study ID"] == "MOCK0065":
                dose = one["Dose"].replace(",", ".")
                grown = math.exp(14 * float(one["Response"]))
                rows += [(f"v{at}", dose, 0, 1.0), (f"v{at}", dose, 14, repr(grown))]
    with (tables / "myriophyllum_oecd239_expected.csv").open(encoding="utf-8", newline="") as opened:
        expected = [one for one in csv.DictReader(opened) if one["Study ID"] == "MOCK0065"]
    assert len(rows) == 60
    return rows, expected


@pytest.mark.parametrize(("side", "called"), [("", "two-sided"), ("lower", "smaller"), ("higher", "greater")])
def test_water_milfoil_as_the_source_expects_it(milfoil: Any, side: str, called: str) -> None:
    rows, expected = milfoil
    header = ("vessel", "dose (µg/L)", "day", "total shoot length (cm)")
    found = answered(rows, *header, side=side, ask_williams=side == "lower")
    rate = found["measured"][0]["compared"][0]
    doses = rate["doses"]
    said = {
        f"Dunnett's test, {called}, T-value": ("dunnett_t", 1e-6, 0.0),
        f"Dunnett's test, {called}, p-value": ("dunnett_p", 0.0, 5e-5),  # the source integrates with random points
        f"Dunnett's test, {called}, %Inhibition": ("inhibition_percent", 1e-9, 0.0),
        f"Dunnett's test, {called}, Mean": ("mean", 1e-9, 0.0),
        "Williams' test, smaller, T-value (adjusted)": ("williams_t", 1e-6, 0.0),
    }
    checked = 0
    for one in expected:
        what, printed = one["Brief description"], one["expected result value"]
        if what in ("model test, Shapiro-Wilk's W-value", "model test, Shapiro-Wilk's p(W)-value"):
            key = "w" if "W-value" in what and "p(W)" not in what else "p_value"
            assert rate["residual_normality"][key] == pytest.approx(float(printed), abs=5e-7)
            checked += 1
        if one["Test group"] != "Test item":
            continue
        dose = min(doses, key=lambda row: abs(float(row["dose"]) - float(one["Dose"])))
        if what in said and (side == "lower" or not what.startswith("Williams")):
            key, rel, least = said[what]
            assert dose[key] == pytest.approx(float(printed), rel=rel, abs=least), what
            checked += 1
        if what == f"Dunnett's test, {called}, significance":
            assert (dose["dunnett_p"] < 0.05) == (printed == "sign.")
            checked += 1
        if what == "Williams' test, smaller, significance" and side == "lower":
            assert dose["williams_called"] == (printed == "sign.")
            checked += 1
    assert checked == (44 if side == "lower" else 32)
    verdicts = {row["what"]: row["verdict"] for row in found["validity"]}
    assert verdicts["shoot length of the control, end over start"] == "holds"
    assert verdicts["fresh weight of the control, end over start"] == "cannot tell"


def test_sections_yields_and_rates_of_an_algal_test(open_data: Path) -> None:
    """28 vessels on four days: size over the first one, rates from the start on and of each section, as the source."""
    with (open_data / "tables" / "alga_oecd201.csv").open(encoding="utf-8", newline="") as opened:
        source = list(csv.DictReader(opened))
    rows = [(one["Treatment"], one["Replicates"], one["Time"], one["Biomass"]) for one in source]
    found = answered(rows, "treatment", "replicate", "time (h)", "biomass")
    vessels = {(one["dose"], one["vessel"].rpartition(", ")[2]): one for one in found["measured"][0]["vessels"]}
    assert len(vessels) == 28
    for one in source:
        ours = vessels[one["Treatment"], one["Replicates"]]
        if one["Time"] == "72":
            assert ours["yield"] == pytest.approx(float(one["Yield"]), rel=1e-9)
            assert ours["rate_per_day"] == pytest.approx(float(one["GrowthRate"]), abs=5e-7)
        if one["Time"] != "0":
            at = {"24": 0, "48": 1, "72": 2}[one["Time"]]
            assert ours["sections"][at]["rate_per_day"] == pytest.approx(float(one["sectionalGR"]), rel=1e-9)
