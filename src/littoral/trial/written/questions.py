"""Arms and questions: who gets what, and what is asked."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any, cast

from littoral.trial.measures import MEASURES, Measure
from littoral.trial.model import Arm, Direction, Question, Tank, View
from littoral.trial.written.amounts import amount
from littoral.trial.written.report import WrongValueError, show_path, suggest
from littoral.trial.written.table import Key, Table
from littoral.trial.written.values import flag, number, one_of, short_name, show_value, some_of, text, texts

ARM_KEYS = {
    "name": Key('"full feeding"', "name shown; the short name unless given"),
    "tanks": Key('["left"]', "tanks of this arm", required=True),
    "regime": Key('"full"', "regime from the end of the baseline on; nothing is dosed unless given"),
}
QUESTION_KEYS = {
    "key": Key('"growth"', "short name of the question", required=True),
    "ask": Key('"Did the plants grow faster?"', "the question in words", required=True),
    "measure": Key('"height growth"', "the measure that can answer it", required=True),
    "of": Key('["red-stem"]', "stands or regions it is asked about; all that the measure can be taken on unless given"),
    "expect": Key('"full higher"', 'what is expected: an arm and "higher" or "lower"'),
    "smallest": Key("0.005", "smallest difference that matters, in the measure's unit"),
    "primary": Key("true", "whether this is the one question the trial is made for; false unless given"),
    "threshold": Key('"5 %"', "algae onset: share of a place from which algae count as come; 5 % unless given"),
}


def read_arms(root: Table, tanks: Mapping[str, Tank], regimes: Iterable[str]) -> tuple[Arm, ...]:
    """Read every `[arms.…]`, and check that every tank is in exactly one."""
    known = tuple(regimes)
    arms: list[Arm] = []
    home: dict[str, str] = {}
    tables = root.tables("arms", ARM_KEYS, "an arm")
    for key, table in tables.items():
        named: tuple[str, ...] = table.required("tanks", texts, ())
        regime = table.optional("regime", one_of(known, "regimes"), None)
        if not named and not table.report.is_wrong((*table.path, "tanks")) and "tanks" in table:
            table.wrong("tanks", "is empty.", "Every arm needs at least one tank.")
        for tank in named:
            if tank not in tanks:
                table.wrong("tanks", f'names "{tank}".', suggest(tank, tanks, "tanks"))
            elif tank in home:
                what = f'names "{tank}", which is in arm "{home[tank]}" already.'
                table.wrong("tanks", what, "A tank can be in one arm only.")
            else:
                home[tank] = key
                if regime is not None and tanks[tank].vessel is None and not table.report.is_wrong(("tanks",)):
                    what = f'is "{regime}", but tank "{tank}" has no `glass`, so its water is not known.'
                    table.wrong("regime", what, f"Describe the glass in [tanks.{tank}], or leave the regime out.")
        arms.append(Arm(key=key, name=table.optional("name", text, key), tanks=named, regime=regime))
    _check_arms(root, tables, arms, tanks, home)
    return tuple(arms)


def _check_arms(
    root: Table, tables: Mapping[str, Table], arms: list[Arm], tanks: Mapping[str, Tank], home: Mapping[str, str]
) -> None:
    if len(tanks) < 2 and not _hidden(root, "tanks"):
        count = "one tank" if tanks else "no tank"
        root.wrong_at(("tanks",), f"The trial has {count}.", "A comparison needs at least two: add [tanks.…] for each.")
        return
    if len(arms) < 2 and not _hidden(root, "arms"):
        count = "one arm" if arms else "no arm"
        right = "A comparison needs at least two: add [arms.…] for each, with its tanks."
        root.wrong_at(("arms",), f"The trial has {count}.", right)
        return
    if any(table.report.is_wrong((*table.path, "tanks")) for table in tables.values()) or _hidden(root, "arms"):
        return  # a tank without an arm may be the one whose name is misspelt
    for tank in tanks:
        if tank not in home:
            root.wrong_at(("tanks", tank), f'Tank "{tank}" is in no arm.', "Name it in the `tanks` of one arm.")


def _hidden(root: Table, key: str) -> bool:
    """Tell whether tables are missing because of a mistake that is noted already."""
    return root.was_unread(key) or any(path[:1] == (key,) and len(path) <= 2 for path in root.report.unread)


def read_questions(
    root: Table, arms: Iterable[str], views: Mapping[str, View], stands: Iterable[str] = ()
) -> tuple[Question, ...]:
    """Read every `[[questions]]`, and check that the views show what each measure is taken on."""
    planted = tuple(stands)
    rows = root.listed("questions", QUESTION_KEYS, "a question")
    if not rows and not root.report.is_wrong(("questions",)):
        what = "The trial asks no question."
        root.wrong_at((), what, "Write it down before the start: [[questions]] with `key`, `ask` and `measure`.")
    known = () if _hidden(root, "arms") else tuple(arms)
    questions: list[Question] = []
    for row in rows:
        question = _question(row, known, views, planted, whole=not root.report.is_wrong(("views",)))
        if question.key and any(question.key == other.key for other in questions):
            row.wrong(
                "key", f'is "{question.key}", as of a question before.', "Give every question its own short name."
            )
        if question.primary and any(other.primary for other in questions):
            right = "One question is the primary one, set before the start; the others are secondary."
            row.wrong("primary", "is true for a second question.", right)
        questions.append(question)
    return tuple(questions)


def _question(
    row: Table, arms: tuple[str, ...], views: Mapping[str, View], stands: tuple[str, ...], *, whole: bool
) -> Question:
    if "measure" not in row and not row.was_unread("measure"):
        right = f"Add `measure = …`, one of: {', '.join(MEASURES)}."
        row.wrong_at(row.path, f"{show_path(row.path)} has no `measure`, so nothing can answer it.", right)
    name = row.optional("measure", one_of(MEASURES, "measures"), "")
    measure = MEASURES.get(name)
    return Question(
        key=row.required("key", short_name, ""),
        ask=row.required("ask", text, ""),
        measure=name,
        of=_of(row, measure, views, stands) if measure and whole else (),
        expect=row.optional("expect", _expectation(arms), None),
        smallest=_smallest(row, measure),
        primary=row.optional("primary", flag, False),
        threshold_points=_threshold(row, measure),
    )


def _smallest(row: Table, measure: Measure | None) -> float | None:
    if measure is not None and measure.compared == "waiting" and "smallest" in row:
        what = f'is given, but "{measure.key}" has no interval that could be held against it.'
        row.wrong("smallest", what, "Leave it out: days until something comes are tested without a margin.")
        return None
    return row.optional("smallest", _above_zero, None)


def _threshold(row: Table, measure: Measure | None) -> float | None:
    """Read from which share of a place algae count as come, in points."""
    if measure is not None and measure.key != "algae onset" and "threshold" in row:
        row.wrong("threshold", f'is given, but "{measure.key}" has none.', 'Leave it out: it is of "algae onset" only.')
        return None
    return row.optional("threshold", _some_share, None)


def _of(row: Table, measure: Measure, views: Mapping[str, View], stands: tuple[str, ...]) -> tuple[str, ...]:
    """Read what the question is about; all regions of the measure's kinds are known names."""
    panes = [pane for view in views.values() for pane in view.panes]
    shown = dict.fromkeys(region.key for pane in panes for region in pane.regions if region.kind in measure.of)
    if measure.taken_from != "photos" and measure.of:
        return row.optional("of", some_of(stands, "stands"), ())
    if measure.taken_from != "photos":
        if "of" in row:
            row.wrong("of", f'is given, but "{measure.key}" is taken on whole tanks.', "Leave it out.")
        return ()
    if not shown:
        what = f'asks for "{measure.key}", but no view outlines any {" or ".join(measure.of)}.'
        row.wrong("measure", what, f"Add a region such as {{ {measure.of[0]} = …, polygon = … }} to the views.")
        return ()
    if measure.unit.endswith("per cm") and not any(pane.width_cm for pane in panes):
        what = f'asks for "{measure.key}", in {measure.unit}, but no view has a scale.'
        row.wrong("measure", what, "Add `width`, the distance between the corners, to the tanks in the views.")
    return row.optional("of", some_of(shown, f"regions for {measure.key}"), ())


def _above_zero(value: Any) -> float:
    found = number(value)
    if found <= 0:
        raise WrongValueError(f"is {show_value(value)}; it must be above zero.")
    return found


def _some_share(value: Any) -> float:
    points = round(100 * amount("fraction")(value), 9)  # a percent that is typed keeps its digits
    if not 0 < points < 100:
        raise WrongValueError(f"is {show_value(value)}; it must be above 0 % and below 100 %.", 'Write "5 %".')
    return points


def _expectation(arms: tuple[str, ...]) -> Callable[[Any], tuple[str, Direction]]:
    def parse(value: Any) -> tuple[str, Direction]:
        arm, _, direction = text(value).rpartition(" ")
        if direction not in ("higher", "lower"):
            raise WrongValueError(f"is {show_value(value)}.", 'Write an arm and "higher" or "lower": "full higher".')
        if arms and arm.strip() not in arms:
            raise WrongValueError(f'names arm "{arm.strip()}".', suggest(arm.strip(), arms, "arms"))
        return arm.strip(), cast("Direction", direction)

    return parse
