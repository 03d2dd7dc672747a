"""What mixing a bottle takes and gives."""

from __future__ import annotations

from dataclasses import dataclass

from littoral.acts.mix_and_feed.figures import Figure, Pairs, Stop
from littoral.publish.pdf.bottle_label import BottleLabel
from littoral.quantities.check_row import CheckRow
from littoral.quantities.derivation import Step

HOW = ("salts", "target", "recipe")
COUNTING = ("oxides", "elements", "not clear")


@dataclass(frozen=True, slots=True)
class OwnForm:
    """A substance of a person's own: by `formula` with its `purity` ("98 %", pure where empty), or by its `label`.

    `grade` are the three numbers of a label, "13-0-46", and `counting` says whether they are "oxides" (N-P2O5-K2O),
    "elements" (N-P-K) or "not clear". A grade's nitrogen is the total: `label` gives its forms, ("NO3-N", "13 %").
    """

    name: str
    formula: str = ""
    purity: str = ""
    label: Pairs = ()
    grade: str = ""
    counting: str = "oxides"


@dataclass(frozen=True, slots=True)
class MixForm:
    """A bottle to mix, as a person writes it; every field is text, empty where not known.

    `how` says what is known: the `salts` with their grams; a `target`, what one dose shall add to the tank, such as
    ("nitrate", "5 mg/L"), with salts whose grams are empty; or a published `recipe`, so many `times` as strong, of
    which this bottle takes `only` the salts named (all unless given). `purity` is of jars that are not pure:
    ("KNO3", "98 %"); solubility, density, clashes and hazards are judged as if they were.
    `in_water` are levels before the dose. `made_on` is YYYY-MM-DD, `anyway` the reason for a dose that passes a
    published limit.
    """

    name: str = "macro stock"
    how: str = "salts"
    salts: Pairs = (("KNO3", "33 g"), ("KH2PO4", "2.6 g"), ("K2SO4", "8 g"))
    target: Pairs = ()
    recipe: str = ""
    times: str = "100"
    only: tuple[str, ...] = ()
    own: tuple[OwnForm, ...] = ()
    purity: Pairs = ()
    made_up_to: str = "500 mL"
    scale_step: str = "0.01 g"
    dose: str = "2.2 mL"
    net_volume: str = "42 L"
    in_water: Pairs = ()
    coldest: str = "10 °C"
    tank_ph: str = "7.2"
    hardness: str = "10 dGH"
    temperature: str = "24 °C"
    made_on: str = ""
    page_url: str = ""
    anyway: str = ""


@dataclass(frozen=True, slots=True)
class OtherForm:
    """Another hydrate of a salt that is weighed out, and the grams of it, pure, that bring as much.

    `hazard` is "" where it is that of the salt it stands in for.
    """

    salt: str
    name: str
    grams: Figure
    hazard: str


@dataclass(frozen=True, slots=True)
class WeighLine:
    """One line of a weigh-out list. `salt` is how to write it, `exact` what it would be without the scale's steps.

    `purity` is that of its jar, None where it counts as pure; `other_forms` are for a jar that holds another hydrate.
    """

    salt: str
    name: str
    grams: Figure
    exact: Figure
    hazard: str
    storage: tuple[str, ...]
    purity: Figure | None = None
    other_forms: tuple[OtherForm, ...] = ()


@dataclass(frozen=True, slots=True)
class LabelLine:
    """Phosphorus or potassium on a label: the number `printed`, and what it is in % of the `element` either way.

    `taken` is how it is reckoned here: "% K2O" or "% K".
    """

    element: str
    printed: str
    as_oxide: Figure
    as_element: Figure
    taken: str


@dataclass(frozen=True, slots=True)
class LabelReading:
    """A label in both countings, side by side; `trap` says why they are taken for each other.

    `grade` is "" where the label names what each number counts; `counting` is then "" too. `settled` says what rules
    one of the two out, "" where both may be.
    """

    name: str
    grade: str
    counting: str
    lines: tuple[LabelLine, ...]
    trap: str
    settled: str = ""


@dataclass(frozen=True, slots=True)
class NutrientLine:
    """One nutrient: mg/mL in the bottle, mg/L that one dose adds to the tank, what was asked of it, how far off.

    `element` is what the dose adds counted as the element; `trap` is the units trap to show beside it, "" for none.
    """

    nutrient: str
    symbol: str
    name: str
    in_bottle: Figure
    adds: Figure
    element: Figure
    asked: Figure | None
    off: Figure | None
    trap: str


@dataclass(frozen=True, slots=True)
class SplitLine:
    """Salts that may share a bottle, and why they keep apart from the others."""

    salts: tuple[str, ...]
    because: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Mixed:
    """A mixed bottle. `checks` are about the bottle, `limits` about the tank after one dose.

    `weigh_out`, `how_to` and `label` are empty while a `stop` stands. `hazards` are rows by hazard code, where "fails"
    means that the bottle carries it. `split` has more than one line only where salts clash. `discard_after` is
    YYYY-MM-DD; `source` is that of a published recipe. `labels` are those of a person's own substances, read both ways;
    `limit_steps` derive each limit in `limits`, by its name.
    """

    name: str
    made_up_to_ml: float
    weigh_out: tuple[WeighLine, ...]
    how_to: tuple[str, ...]
    nutrients: tuple[NutrientLine, ...]
    checks: tuple[CheckRow, ...]
    hazards: tuple[CheckRow, ...]
    limits: tuple[CheckRow, ...]
    stop: Stop | None
    split: tuple[SplitLine, ...]
    keeps: Figure
    discard_after: str
    cautions: tuple[str, ...]
    source: str
    label: BottleLabel | None
    labels: tuple[LabelReading, ...] = ()
    limit_steps: tuple[Step, ...] = ()
