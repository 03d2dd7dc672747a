"""A bottle as a person writes it in a form, and the two bottles that a form begins with."""

from __future__ import annotations

from dataclasses import dataclass

from littoral.acts.mix_and_feed.figures import Figure, Pairs


@dataclass(frozen=True, slots=True)
class BottleForm:
    """A stock weighed from `salts` and made up to a volume, a bought bottle by its `label`, or a salt dosed `dry`.

    One of the three is filled in. `label_by` is "mass" or "volume"; `recommended` such as "6 mL per 100 L every 7
    days"; `stroke` and `drop` such as "1.1 mL"; `packs` such as ("KNO3", "500 g for 7.90") or ("bottle", "250 mL for
    9.80"). `tool` is what it is measured with: "1 mL", "stroke", "drop", "0.1 g", or a level spoon, "1.25 mL spoon".

    `cylinder` are readings of a cylinder after `cylinder_strokes` strokes each (ten unless given), "12.0 11.8 12.1 mL":
    they go before a stated `stroke`. `bulk` is what a dry salt weighs loose, "1.0 to 1.3 g/mL"; the table's unless
    given.

    `grade` are the three numbers of a bought bottle's label, "5-10-20", and `counting` says whether they are "oxides"
    (N-P2O5-K2O), "elements" (N-P-K) or "not clear". A grade's nitrogen is the total: `label` gives its forms.
    """

    key: str
    name: str = ""
    salts: Pairs = ()
    made_up_to: str = ""
    label: Pairs = ()
    label_by: str = "mass"
    density: str = ""
    dry: str = ""
    recommended: str = ""
    stroke: str = ""
    drop: str = ""
    packs: Pairs = ()
    tool: str = ""
    cylinder: str = ""
    cylinder_strokes: str = ""
    bulk: str = ""
    grade: str = ""
    counting: str = "oxides"


@dataclass(frozen=True, slots=True)
class ToolLine:
    """A tool whose size was found, not stated: `kind` is "stroke" or "level spoon", `one` what it gives, mL or g.

    `varies` is the standard deviation of one stroke (None after a single reading), or what a spoon may hold, "1.25 to
    1.63 g"; `words` say what that means for a dose.
    """

    of: str
    name: str
    kind: str
    one: Figure
    varies: Figure | None
    words: str


MACRO = BottleForm(
    key="macro",
    name="macro stock",
    salts=(("KNO3", "33 g"), ("KH2PO4", "2.6 g"), ("K2SO4", "8 g")),
    made_up_to="500 mL",
    stroke="1.1 mL",
    packs=(("KNO3", "500 g for 7.90"), ("KH2PO4", "250 g for 6.50"), ("K2SO4", "500 g for 6.90")),
    tool="stroke",
)
MICRO = BottleForm(
    key="micro",
    name="micro bottle",
    label=(("Fe", "0.7 %"), ("Mn", "0.18 %"), ("B", "0.02 %"), ("Zn", "0.02 %"), ("Cu", "0.003 %"), ("Mo", "0.003 %")),
    label_by="mass",
    density="1.06 kg/L",
    recommended="6 mL per 100 L every 7 days",
    drop="0.05 mL",
    packs=(("bottle", "250 mL for 9.80"),),
    tool="drop",
)
