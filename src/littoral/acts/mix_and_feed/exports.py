"""What leaves as a file: labels and lists to print, and tables for a spreadsheet."""

from __future__ import annotations

from littoral.acts.mix_and_feed.cost_form import Costs
from littoral.acts.mix_and_feed.mix_form import Mixed, WeighLine
from littoral.errors import LittoralError
from littoral.publish.pdf.bottle_label import SIZES, Size, label_pdf
from littoral.publish.pdf.shopping_list import shopping_pdf
from littoral.publish.spreadsheet import csv_text

WEIGH_COLUMNS = ("salt", "name", "weigh (g)", "exact (g)", "hazards")
SHOPPING_COLUMNS = ("buy by", "what", "packs", "pack", "needed", "unit", "price", "currency", "runs out")


class NothingToPrintError(LittoralError):
    """There is nothing to write out: the dose was stopped, or the size of label is none."""


def bottle_label_pdf(mixed: Mixed, size: str) -> bytes:
    """Return the label of a mixed bottle as a PDF; sizes are those of `publish.pdf.bottle_label.SIZES`.

    Raises NothingToPrintError while a stop stands, or for another size; NotSetError where it does not fit.
    """
    found: dict[str, Size] = {one: one for one in SIZES}
    if size not in found:
        raise NothingToPrintError(f'"{size[:20]}" is no size of a label. Choose {" or ".join(SIZES)}.')
    if mixed.label is None:
        raise NothingToPrintError("The dose is stopped, so there is no label. Give less, or state a reason.")
    return label_pdf(mixed.label, found[size])


def shopping_list_pdf(costs: Costs) -> bytes:
    """Return a shopping list as a PDF on A4."""
    return shopping_pdf(costs.printable)


def weigh_out_csv(lines: tuple[WeighLine, ...]) -> str:
    """Return a weigh-out list as CSV, masses in g as plain numbers."""
    return csv_text(
        WEIGH_COLUMNS, ([line.salt, line.name, line.grams.value, line.exact.value, line.hazard] for line in lines)
    )


def shopping_csv(costs: Costs) -> str:
    """Return a shopping list as CSV: dates as YYYY-MM-DD, amounts and prices as plain numbers."""
    return csv_text(
        SHOPPING_COLUMNS,
        (
            [
                row.buy_by,
                row.name,
                row.packs.value,
                row.packs.text.partition("× ")[2],
                row.amount.value,
                row.amount.unit,
                None if row.price is None else row.price.value,
                "" if row.price is None else row.price.unit,
                row.runs_out,
            ]
            for row in costs.shopping
        ),
    )
