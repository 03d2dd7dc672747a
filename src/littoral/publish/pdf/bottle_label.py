"""The label of a bottle mixed at home, in three sizes."""

from __future__ import annotations

from dataclasses import dataclass

from littoral.chemistry.ghs import GhsLabel


@dataclass(frozen=True, slots=True)
class BottleLabel:
    """What stands on a bottle's label; all text is ready to print.

    `composition` are lines such as ("KNO3", "33 g"), `holds` what a millilitre holds, `dose` one sentence; dates are
    YYYY-MM-DD. `ghs` is of the diluted bottle, `not_told` what could not be told of its hazards, `url` leads back to
    the bottle's page, "" where there is none; `anyway` is the reason of a dose that passes a published limit.
    """

    name: str
    volume: str
    composition: tuple[tuple[str, str], ...]
    holds: tuple[tuple[str, str], ...]
    dose: str
    made_on: str
    discard_after: str
    keep: str
    ghs: GhsLabel
    not_told: tuple[str, ...]
    url: str
    anyway: str = ""
