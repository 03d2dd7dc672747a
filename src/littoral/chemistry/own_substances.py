"""Substances of a person's own, by formula or by a label; and finding any substance by what it is called."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from littoral.chemistry.formula_ions import ions_of_formula
from littoral.chemistry.hazards import SHEET
from littoral.chemistry.labels import content_of_dry_label
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.salts import Salt, UnknownSaltError, salt
from littoral.chemistry.weights import FormulaError, composition, formula_weight, normal_formula
from littoral.errors import LittoralError


@dataclass(frozen=True, slots=True)
class OwnSubstance:
    """A substance that a person added. `content_mg_per_g` counts its purity in; `formula` is "" where a label is known.

    `chelate` says that its metals are bound. Its hazards are not known here.
    """

    name: str
    aliases: tuple[str, ...]
    formula: str
    content_mg_per_g: Mapping[str, float]
    chelate: bool
    purity: float
    source: str
    kind: str = "own"
    hazards: tuple[str, ...] = ()

    @property
    def key(self) -> str:
        """How to write it so that `substance` finds it."""
        return self.name

    @property
    def short(self) -> str:
        """What to call it on a page."""
        return self.name

    @property
    def hazard_text(self) -> str:
        """What to print beside it."""
        return f"hazards not known here: {SHEET}"


Substance = Salt | OwnSubstance


class OwnSubstanceError(LittoralError):
    """A person's own substance cannot be as given."""

    def __init__(self, *, what: str, right: str) -> None:
        self.what = what
        self.right = right
        super().__init__(f"own substance: {what}. {right}")


def own_by_formula(
    formula: str,
    *,
    name: str = "",
    aliases: Sequence[str] = (),
    purity: float = 1.0,
    ions: Mapping[str, int] | None = None,
    chelate: bool = False,
) -> OwnSubstance:
    """Return a substance from its formula with its water, such as "Fe(NO3)3·9H2O".

    `purity` is the mass fraction (0 to 1) that is really this. `ions` counts the nutrients of one formula unit where
    the formula does not show them (chelates, organic salts); an ion whose element the formula lacks is refused.
    Raises FormulaError; OwnSubstanceError.
    """
    if not 0 < purity <= 1:
        raise OwnSubstanceError(what=f"a purity of {purity:g}", right="Give a fraction above 0 and up to 1: 0.98.")
    written = normal_formula(formula)
    atoms = composition(written)
    counts = dict(ions) if ions is not None else ions_of_formula(written)
    for key, count in counts.items():
        if key not in NUTRIENTS:
            raise OwnSubstanceError(what=f'"{key[:40]}" is no nutrient', right=f"Write one of: {', '.join(NUTRIENTS)}.")
        element = NUTRIENTS[key].element
        if count < 0 or count > 2 * atoms.get(element, 0):
            what = f"{count} {key} in {written}, which holds {atoms.get(element, 0)} {element}"
            raise OwnSubstanceError(what=what, right="Count what one formula unit brings.")
    weight = formula_weight(written)
    content = {key: 1000.0 * purity * count * NUTRIENTS[key].weight / weight for key, count in counts.items()}
    source = "its formula" if purity == 1.0 else f"its formula, of {100 * purity:g} % purity"
    return OwnSubstance(name or written, tuple(aliases), written, MappingProxyType(content), chelate, purity, source)


def own_by_label(
    name: str, entries: Mapping[str, float], *, aliases: Sequence[str] = (), chelate: bool = False
) -> OwnSubstance:
    """Return a powder or granulate from its label: percent by mass of what it declares, as in `content_of_dry_label`.

    Raises LabelError; OwnSubstanceError without a name.
    """
    if not name.strip():
        raise OwnSubstanceError(what="it has no name", right="Give the name on the bag.")
    content = MappingProxyType(content_of_dry_label(entries))
    return OwnSubstance(name.strip(), tuple(aliases), "", content, chelate, 1.0, "its label")


def substance(text: str, own: Sequence[OwnSubstance] = ()) -> Substance:
    """Return what is called `text`: a person's own substance first (upper and lower case alike), else a salt.

    Raises UnknownSaltError.
    """
    wanted = _key(text)
    for one in own:
        if wanted in {_key(name) for name in (one.name, one.formula, *one.aliases) if name}:
            return one
    return salt(text)


def is_formula(text: str) -> bool:
    """Whether a text can be read as a formula, so that a page may offer to add an unknown substance by it."""
    try:
        composition(normal_formula(text))
    except FormulaError:
        return False
    return True


def _key(text: str) -> str:
    return " ".join(normal_formula(text).split()).casefold()


__all__ = [
    "OwnSubstance",
    "OwnSubstanceError",
    "Substance",
    "UnknownSaltError",
    "is_formula",
    "own_by_formula",
    "own_by_label",
    "substance",
]
