"""What leaves as a file: labels and lists to print, and tables for a spreadsheet."""

from __future__ import annotations

from littoral.acts.mix_and_feed.cost_form import Costs
from littoral.acts.mix_and_feed.mix_form import Mixed, WeighLine
from littoral.errors import LittoralError
from littoral.publish.pdf.bottle_label import SIZES, Size, label_pdf
from littoral.publish.pdf.shopping_list import shopping_pdf
from littoral.publish.spreadsheet import csv_text

WEIGH_COLUMNS = ("salt", "name", "weigh (g)", "exact (g)", "purity (%)", "or of another form", "hazards")
DOSE_COLUMNS = ("one dose passes", "given all the same because")
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
    return csv_text(WEIGH_COLUMNS, (_weigh_row(line) for line in lines))


def bottle_csv(mixed: Mixed) -> str:
    """Return a bottle's weigh-out list as CSV; each row says which limits a dose passes and why it is given.

    Both are empty where it passes none. There are no rows while a stop stands.
    """
    stop = mixed.stop
    about = ["", ""] if stop is None else ["; ".join(row.what for row in stop.rows), stop.anyway]
    return csv_text((*WEIGH_COLUMNS, *DOSE_COLUMNS), ([*_weigh_row(line), *about] for line in mixed.weigh_out))


def _weigh_row(line: WeighLine) -> list[str | float | None]:
    others = "; ".join(f"{other.grams.text} {other.salt}" for other in line.other_forms)
    purity = None if line.purity is None else line.purity.value
    return [line.salt, line.name, line.grams.value, line.exact.value, purity, others, line.hazard]


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
