"""The account of a trial, alike on page and sheet: tables of what was fed, the levels it led to and what it cost."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from littoral.feeding.cost import ArmCost
from littoral.findings.feeding import TankFeeding
from littoral.findings.levels import Levels
from littoral.publish.cost_table import costs_table
from littoral.publish.fed_tables import bottles_table, doses_table, nutrients_table, weeks_table
from littoral.publish.tables import Table
from littoral.publish.water_table import levels_table
from littoral.trial.model import Trial


@dataclass(frozen=True, slots=True)
class Account:
    """The tables that have something to show, by what they are about."""

    fed: tuple[Table, ...]
    levels: tuple[Table, ...]
    costs: tuple[Table, ...]

    @property
    def tables(self) -> tuple[Table, ...]:
        """All tables, in the order they are read."""
        return (*self.fed, *self.levels, *self.costs)


def account_of(
    trial: Trial,
    *,
    feeding: Mapping[str, TankFeeding],
    levels: Mapping[str, Levels],
    costs: Mapping[str, ArmCost],
) -> Account:
    """Return the account of a trial; what it does not have (water, bottles, prices) leaves its tables out."""
    doses, water = doses_table(trial), levels_table(trial, levels)
    given = (nutrients_table, weeks_table, bottles_table) if feeding else ()
    return Account(
        fed=(*([doses] if doses else ()), *(table(trial, feeding) for table in given)),
        levels=(water,) if water else (),
        costs=(costs_table(trial, costs),) if costs else (),
    )
