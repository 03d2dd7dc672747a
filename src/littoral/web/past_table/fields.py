"""The form under a table, as fields: what was chosen, read from it and written into it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import cast, get_args

from littoral.acts.import_table import Choices
from littoral.acts.past_table.grid import LARGEST_COLUMNS
from littoral.acts.past_table.understand import Every, Order

EVERY = {"row": "each row is a record", "hour": "a sensor: one an hour", "day": "a sensor: one a day"}
ORDER = {"": "they are clear", "day first": "day first: 3 April", "month first": "month first: March 4"}
"""The choices and their words; the example is 03/04/2026."""


def choices_in(form: Mapping[str, str]) -> Choices:
    """Return what a form says; what it does not say, or what cannot be said so, is left to be proposed."""
    meanings = {place: form[f"means-{place}"] for place in range(LARGEST_COLUMNS) if f"means-{place}" in form}
    units = {place: form[f"unit-{place}"].strip() for place in range(LARGEST_COLUMNS) if f"unit-{place}" in form}
    every, order, header = form.get("every"), form.get("order"), form.get("header", "")
    return Choices(
        meanings=meanings,
        units=units,
        tank=form.get("tank", ""),
        sheet=form.get("sheet", ""),
        encoding=form.get("encoding", ""),
        every=cast(Every, every) if every in get_args(Every) else None,
        order=cast(Order, order) if order in get_args(Order) else None,
        header=int(header) if header.isdecimal() and header.isascii() and len(header) < 8 else None,
    )


def layout_changed(form: Mapping[str, str]) -> bool:
    """Tell whether the sheet, encoding or header row is another than the columns below were chosen for."""
    return any(form.get(field, "") != form.get(f"{field}-was", "") for field in ("sheet", "encoding", "header"))


def without_columns(form: Mapping[str, str]) -> dict[str, str]:
    """Return a form without what was chosen for columns, and for how dates and rows are read."""
    kept = ("sheet", "encoding", "header", "tank")
    found = {field: form[field] for field in kept if field in form}
    if form.get("sheet", "") != form.get("sheet-was", "") or form.get("encoding", "") != form.get("encoding-was", ""):
        found.pop("header", None)
    return found


def only_file(form: Mapping[str, str]) -> dict[str, str]:
    """Return what a form says of the file as a whole: its sheet and encoding."""
    return {field: form[field] for field in ("sheet", "encoding") if field in form}
