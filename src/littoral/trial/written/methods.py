"""Ways to test the water: which kind each is, and what it showed of a known standard."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from littoral.chemistry.reading_methods import ReadingMethod, reading_methods
from littoral.chemistry.reading_results import read_result
from littoral.chemistry.reading_text import ReadingTextError
from littoral.trial.model import OwnMethod
from littoral.trial.written.amounts import amount
from littoral.trial.written.report import WrongValueError
from littoral.trial.written.table import Key, Table
from littoral.trial.written.values import one_of, results, text

METHOD_KEYS = {
    "called": Key('"colour card"', "its name in entries, behind the comma of a reading", required=True),
    "kind": Key(
        '"nitrate colour card"', "which kind of test it is; `littoral levels --methods` lists them", required=True
    ),
    "standard": Key('"20 mg/L"', "what a known standard holds, of the ion, that you made and read"),
    "standard_reads": Key('["20", "over 20", "20"]', "what the test showed of it, as written in the test's own unit"),
}


def read_methods(root: Table) -> tuple[OwnMethod, ...]:
    """Read every `[methods.…]`; no two of one nutrient may be called the same."""
    tables = root.tables("methods", METHOD_KEYS, "a way to test")
    found: dict[tuple[str, str], OwnMethod] = {}
    for key, table in tables.items():
        method = _method(key, table)
        kind = reading_methods().get(method.kind)
        if kind is None:
            continue
        other = found.setdefault((kind.of, method.called.casefold()), method)
        if other is not method:
            what = f'is "{method.called}", as [methods.{other.key}] for {kind.of} is.'
            table.wrong("called", what, "Call them by two names, and use these in the entries.")
    return tuple(found.values())


def _method(key: str, table: Table) -> OwnMethod:
    kind = table.required("kind", _kind_of_nutrient, "")
    known = reading_methods().get(kind)
    standard = table.optional("standard", amount("concentration", above_zero=True), None)
    reads: tuple[tuple[float, float], ...] = ()
    if known is not None:
        reads = table.optional("standard_reads", _reads(known), ())
    for one, other in (("standard", "standard_reads"), ("standard_reads", "standard")):
        if one in table and other not in table:
            table.wrong(one, f"is given without `{other}`.", "A standard that was read needs both.")
    return OwnMethod(key, table.required("called", text, ""), kind, standard, reads)


def _kind_of_nutrient(value: Any) -> str:
    kind: str = one_of(reading_methods(), "kinds of tests")(value)
    of = reading_methods()[kind].of
    if reading_methods()[kind].interval_unit != "mg/L":
        raise WrongValueError(f'is "{kind}", which tests {of}.', "Only tests of nutrients have levels to follow.")
    return kind


def _reads(method: ReadingMethod) -> Callable[[Any], tuple[tuple[float, float], ...]]:
    def parse(value: Any) -> tuple[tuple[float, float], ...]:
        try:
            read = [read_result(one, method) for one in results(value)]
        except ReadingTextError as error:
            raise WrongValueError(error.what, error.right) from None
        return tuple((result.low, result.high) for result in read)

    return parse
