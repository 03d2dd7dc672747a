"""What everything costs, by hand; ranges at every corner; break-even; and what cannot be."""

from __future__ import annotations

import itertools
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.feeding.bottles import Bottle, Pack
from littoral.feeding.break_even import break_even
from littoral.feeding.cost import CostError, cost_of_feeding
from littoral.feeding.ranges import Range, RangeError, as_range, exactly, give_or_take, total
from littoral.feeding.running_costs import (
    bought_once_line,
    feeding_line,
    gas_line,
    kit_line,
    minutes_line,
    power_line,
    running_cost,
    water_line,
)

ends = st.lists(st.floats(0.01, 1000), min_size=3, max_size=3).map(sorted).map(lambda three: Range(*three))


def test_each_part_by_hand() -> None:
    lines = [
        gas_line(price_per_fill=18.0, fill_g=500.0, g_per_day=2.0),  # 14 g of 500 g
        power_line("lamp", watts=30.0, hours_per_day=8.0, price_per_kwh=0.30),  # 1.68 kWh
        water_line(litres_per_week=40.0, price_per_m3=4.0),
        kit_line("nitrate test", price=12.0, tests=60, tests_per_week=2),
        bought_once_line("equipment", "lamp", price=104.0, life_weeks=208.0, left_over=0.0),
        bought_once_line("plants", "plants", price=60.0, life_weeks=None),
        minutes_line(minutes_per_week=30.0, per_hour=10.0),
    ]
    assert [line.per_week.likely for line in lines] == [
        pytest.approx(each) for each in (18 * 14 / 500, 1.68 * 0.30, 0.16, 0.4, 0.0, 0.0, 5.0)
    ]
    cost = running_cost(lines, net_volume_l=50.0)
    paid = 0.504 + 0.504 + 0.16 + 0.4 + 5.0
    assert cost.paid_per_week.likely == pytest.approx(paid)
    assert cost.per_week.likely == pytest.approx(paid + 0.5)  # the lamp wears by 104 / 208
    assert cost.per_100_l_per_week.likely == pytest.approx(2 * (paid + 0.5))
    assert cost.per_year.likely == pytest.approx((paid + 0.5) * 365.25 / 7)
    assert cost.at_start.likely == pytest.approx(164.0)
    assert cost.per_week.certain
    assert cost.steps[0].what == "a week"
    assert lines[1].steps[0].formula == "30.0 W × 8.0 h × 7 / 1000 × 0.300 per kWh"


def test_feeding_is_a_part() -> None:
    micro = Bottle("micro", "micro", packs={"bottle": Pack(250.0, "ml", 10.0)})
    line = feeding_line(
        cost_of_feeding({"micro": 50.0}, {}, {"micro": micro}, weeks=2, net_volume_l=50), uncertainty=0.1
    )
    assert [line.per_week.low, line.per_week.likely, line.per_week.high] == pytest.approx([0.9, 1.0, 1.1])
    assert line.steps[0].what == "bottle of micro"


@given(ends, ends, ends, ends)
def test_a_range_is_the_worst_of_all_corners(watts: Range, price: Range, fill: Range, grams: Range) -> None:
    """Interval arithmetic against every combination of ends, and a random draw inside."""
    lamp = power_line("x", watts=watts, hours_per_day=8.0, price_per_kwh=price)
    gas = gas_line(price_per_fill=price, fill_g=fill, g_per_day=grams)
    both = running_cost([lamp, gas], net_volume_l=100.0).per_week
    every = itertools.product(*((one.low, one.high) for one in (watts, price, fill, grams, price)))
    corners = [w * 8 * 7 / 1000 * p + g * 7 / f * q for w, p, f, g, q in every]
    assert both.low == pytest.approx(min(corners))
    assert both.high == pytest.approx(max(corners))
    rng = np.random.default_rng(1)
    w, p, f, g = (rng.uniform(one.low, one.high, 100) for one in (watts, price, fill, grams))
    drawn = w * 8 * 7 / 1000 * p + g * 7 / f * p
    assert (drawn >= both.low * (1 - 1e-9)).all()
    assert (drawn <= both.high * (1 + 1e-9)).all()


def test_ranges() -> None:
    assert give_or_take(2.0, 0.25) == Range(1.5, 2.0, 2.5)
    assert total([]) == exactly(0.0)
    assert as_range(Range(1, 2, 3)) == Range(1, 2, 3)
    assert Range(0.9, 1.2, 1.6).shown() == "1.20 (0.90 to 1.60)"
    assert exactly(1.2).shown(1) == "1.2"
    assert Range(2, 4, 8) / Range(1, 2, 4) == Range(0.5, 2.0, 8.0)


def test_break_even_by_hand() -> None:
    # 120 more at the start, 2.5 less a week: 48 weeks
    found = break_even(dearer_start=exactly(200), dearer_per_week=exactly(1), cheaper_start=exactly(80),
                       cheaper_per_week=exactly(3.5))  # fmt: skip
    assert (found.week, found.earliest, found.latest) == (48, 48, 48)
    assert found.words == "the dearer start has paid for itself by week 48"
    unsure = break_even(dearer_start=exactly(200), dearer_per_week=Range(0.5, 1, 3.5), cheaper_start=exactly(80),
                        cheaper_per_week=exactly(3.5))  # fmt: skip
    assert (unsure.week, unsure.earliest, unsure.latest) == (48, 40, None)
    assert unsure.words.endswith("(at the earliest week 40, perhaps never)")
    never = break_even(dearer_start=exactly(9), dearer_per_week=exactly(2), cheaper_start=exactly(5),
                       cheaper_per_week=exactly(2))  # fmt: skip
    assert (never.week, never.words) == (None, "the dearer start does not pay for itself")
    with pytest.raises(ValueError, match="swap the two"):
        break_even(dearer_start=exactly(1), dearer_per_week=exactly(1), cheaper_start=exactly(2),
                   cheaper_per_week=exactly(1))  # fmt: skip


@given(st.integers(0, 100_00), st.integers(0, 100_00), st.integers(0, 10_00), st.integers(0, 10_00))
def test_the_first_week_it_is_not_dearer(start: int, extra: int, rate: int, other: int) -> None:
    """Counted up week by week, in whole cents."""
    found = break_even(dearer_start=exactly((start + extra) / 100), dearer_per_week=exactly(rate / 100),
                       cheaper_start=exactly(start / 100), cheaper_per_week=exactly(other / 100))  # fmt: skip
    slow = next((week for week in range(10_001) if start + extra + rate * week <= start + other * week), None)
    assert found.week == slow


@pytest.mark.parametrize(
    ("error", "make", "what"),
    [
        (CostError, lambda: gas_line(price_per_fill=1, fill_g=0, g_per_day=1), "a filling of 0 g"),
        (CostError, lambda: power_line("x", watts=1, hours_per_day=25, price_per_kwh=1), "25 hours a day"),
        (CostError, lambda: kit_line("x", price=1, tests=0, tests_per_week=1), "a kit of 0 tests"),
        (CostError, lambda: bought_once_line("equipment", "lamp", price=1, life_weeks=0), "a life of 0 weeks"),
        (CostError, lambda: bought_once_line("equipment", "lamp", price=1, life_weeks=5, left_over=2),
         "lamp fetches 2 but costs 1"),
        (CostError, lambda: running_cost([], net_volume_l=math.nan), "net volume of nan L"),
        (RangeError, lambda: water_line(litres_per_week=-1, price_per_m3=1), "-1 to -1, likely -1"),
        (RangeError, lambda: minutes_line(minutes_per_week=math.nan, per_hour=1), "nan to nan, likely nan"),
        (RangeError, lambda: Range(3, 2, 4), "3 to 4, likely 2"),
        (RangeError, lambda: exactly(1) / Range(0, 1, 2), "division by a range that touches zero"),
        (RangeError, lambda: give_or_take(1, 2), "give or take 2"),
    ],
)  # fmt: skip
def test_costs_that_cannot_be(error: Any, make: Any, what: str) -> None:
    with pytest.raises(error) as refusal:
        make()
    assert refusal.value.what == what


def test_what_is_left_over_may_be_uncertain_too() -> None:
    line = bought_once_line("equipment", "lamp", price=Range(90, 100, 110), life_weeks=Range(100, 200, 400),
                            left_over=Range(10, 20, 30))  # fmt: skip
    assert [line.wear_per_week.low, line.wear_per_week.likely, line.wear_per_week.high] == pytest.approx(
        [(90 - 30) / 400, (100 - 20) / 200, (110 - 10) / 100]
    )


def test_an_uncertain_cheaper_start() -> None:
    found = break_even(dearer_start=Range(190, 200, 210), dearer_per_week=exactly(1), cheaper_start=Range(70, 80, 90),
                       cheaper_per_week=Range(3, 3.5, 5))  # fmt: skip
    assert (found.week, found.earliest, found.latest) == (48, 25, 70)  # 120/2.5, 100/4, 140/2
    assert found.words.endswith("(at the earliest week 25, at the latest week 70)")
