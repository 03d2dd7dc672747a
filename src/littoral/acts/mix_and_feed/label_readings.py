"""A person's own substances, by formula or by label; and what a label says in either counting, oxides or elements."""

from __future__ import annotations

from collections.abc import Sequence

from littoral.acts.mix_and_feed.figures import figure
from littoral.acts.mix_and_feed.label_written import LabelWritten, with_grade
from littoral.acts.mix_and_feed.mix_form import COUNTING, LabelLine, LabelReading, OwnForm
from littoral.acts.mix_and_feed.reading import Reading
from littoral.acts.mix_and_feed.shelf_reading import read_percents
from littoral.chemistry.label_grades import Counting, grade_both_ways, label_both_ways, percent_of_grade
from littoral.chemistry.label_names import LabelError, chelated_name, declared_name
from littoral.chemistry.labels import content_of_dry_label
from littoral.chemistry.own_substances import OwnSubstance, own_by_formula, own_by_label
from littoral.chemistry.weights import element_share
from littoral.quantities.check_row import CheckRow

NOT_CLEAR = "not clear"
OXIDE_OF = {"P": "P2O5", "K": "K2O"}
TRAP = (
    "Oxide or element? The three numbers on a bag mostly count N-P₂O₅-K₂O; in some countries (Norway, Sweden, "
    "Australia, New Zealand, South Africa, from memory) they count N-P-K. P₂O₅ is 2.29 times its phosphorus, K₂O 1.20 "
    "times its potassium, so the wrong reading is wrong by that much."
)
WHO_TELLS = "Read the small print, the country it was packed for or the safety data sheet, or ask the maker."


def read_own(reading: Reading, forms: tuple[OwnForm, ...]) -> tuple[tuple[OwnSubstance, ...], tuple[LabelWritten, ...]]:
    """Return a person's own substances, and the labels of those that go by one.

    What is wrong with one is a fault of "own" in its row.
    """
    found: list[OwnSubstance] = []
    labels: list[LabelWritten] = []
    for line, form in enumerate(forms, start=1):
        grade = form.grade.strip()
        if not (form.name.strip() or form.formula.strip() or form.label or grade):
            continue
        percent = read_percents(reading, "own", form.label, line=line)
        purity = reading.amount("own", form.purity, "fraction", needed=False, line=line)
        counting = form.counting.strip()
        if counting not in COUNTING:
            reading.wrong("own", f'counts "{counting[:40]}".', f"Choose {' or '.join(COUNTING)}.", line=line)
            continue
        before = len(reading.faults)
        with reading.trying("own", line=line):
            if form.formula.strip():
                if form.label or grade:
                    reading.wrong("own", "has a formula and a label.", "Give one of them.", line=line)
                one = own_by_formula(form.formula, name=form.name.strip(), purity=1.0 if purity is None else purity)
                found.append(one)
                continue
            if purity is not None:
                what = "goes by its label, which counts its purity in."
                reading.wrong("own", what, "Leave the purity empty.", line=line)
            entries = with_grade(grade, counting, percent)
            found.append(own_by_label(form.name, entries))
            labels.append(LabelWritten(form.name.strip(), grade, counting if grade else "", entries))
        if len(reading.faults) > before and form.name.strip():
            # so that the row that weighs it is not blamed, too
            found.append(OwnSubstance(form.name.strip(), (), "", {}, False, 1.0, "refused"))
    return tuple(found), tuple(labels)


def label_readings(labels: Sequence[LabelWritten]) -> tuple[LabelReading, ...]:
    """Return each label that declares phosphorus or potassium in both countings, side by side."""
    found = []
    for label in labels:
        lines = _lines(label)
        if lines:
            found.append(LabelReading(label.name, label.grade, label.counting, lines, TRAP, _settled(label)))
    return tuple(found)


def label_checks(labels: Sequence[LabelWritten]) -> tuple[CheckRow, ...]:
    """Return a row that warns, for each label whose counting is not clear."""
    rows = []
    for label in labels:
        if label.counting == NOT_CLEAR and _lines(label) and not _settled(label):
            comment = (
                "Reckoned as oxides, which most countries print. Counted as elements it would hold 2.29 times the "
                f"phosphorus and 1.20 times the potassium. {WHO_TELLS}"
            )
            what = f"{label.name}: {label.grade} as oxides, or as elements"
            rows.append(CheckRow(what, None, "", None, "", "warns", comment, "standard atomic weights"))
    return tuple(rows)


def _settled(label: LabelWritten) -> str:
    """What rules one counting out: the parts of a strong powder would weigh more than the whole. "" for nothing."""
    if not label.grade or label.by != "mass":
        return ""
    oxides = percent_of_grade(label.grade, counting="oxides")
    elements = percent_of_grade(label.grade, counting="elements")
    rest = {name: percent for name, percent in label.percent.items() if name not in {**oxides, **elements}}
    try:
        content_of_dry_label({**elements, **rest})
    except LabelError as error:
        return f"It cannot count elements: {error.reason.rstrip('.')}. So it counts oxides."
    return ""


def _lines(label: LabelWritten) -> tuple[LabelLine, ...]:
    """A line for phosphorus and one for potassium, each number read as an oxide and as an element."""
    if label.grade:
        ways: tuple[Counting, Counting] = ("oxides", "elements")
        as_oxides, as_elements = (grade_both_ways(label.grade, counting=way) for way in ways)
        numbers = [
            (name[0], percent, label.counting != "elements")
            for name, percent in percent_of_grade(label.grade, counting="oxides").items()
            if name[0] in OXIDE_OF
        ]
    else:
        named = {declared_name(name): percent for name, percent in label.percent.items() if _counts(name)}
        numbers = [(name[0], percent, name in OXIDE_OF.values()) for name, percent in named.items()]
        as_oxides = label_both_ways({OXIDE_OF[element]: percent for element, percent, _ in numbers})
        as_elements = label_both_ways({element: percent for element, percent, _ in numbers})
        if len({element for element, _, _ in numbers}) < len(numbers):
            return ()  # the label itself gives both ways, and they were held against each other
    return tuple(
        LabelLine(
            element=element,
            printed=f"{percent:g} %",
            as_oxide=figure(percent * element_share(OXIDE_OF[element], element), f"% {element}", steps=(oxide,)),
            as_element=figure(percent, f"% {element}", steps=(alone,)),
            taken=f"% {OXIDE_OF[element] if oxide_taken else element}",
        )
        for (element, percent, oxide_taken), oxide, alone in zip(numbers, as_oxides, as_elements, strict=True)
    )


def _counts(name: str) -> bool:
    """Whether a name of a label is phosphorus or potassium in one of the two countings that are mixed up."""
    return chelated_name(name) is None and declared_name(name) in ("P", "K", "P2O5", "K2O")
