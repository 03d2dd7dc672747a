"""A substance of one's own by its label, in one option: "bag=13-0-46 + NO3-N 13 %"."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from littoral.cli.written import GRADE, pairs
from littoral.errors import Fault, FaultsError

if TYPE_CHECKING:
    from littoral.acts.mix_and_feed.mix_form import OwnForm

OWN_LABEL = "bag=13-0-46 + NO3-N 13 %"
_SHARE = re.compile(r"(?P<name>.+?)\s+(?P<share>[0-9.,]+\s*%?)", re.ASCII)


def own_labels(texts: Sequence[str], counting: str) -> tuple[OwnForm, ...]:
    """Return substances of "NAME=GRADE + DECLARED SHARE + ...", where either part may be missing. Raises FaultsError.

    `counting` is how the grades count: "oxides", "elements" or "not clear".
    """
    from littoral.acts.mix_and_feed.mix_form import OwnForm

    found = []
    for name, label in pairs("--own-label", texts, example=OWN_LABEL):
        grade, rows = "", []
        for part in (part.strip() for part in label.split(" + ")):
            share = _SHARE.fullmatch(part)
            if not grade and GRADE.fullmatch(part):
                grade = part
            elif share is not None:
                rows.append((share["name"], share["share"] if "%" in share["share"] else f"{share['share']} %"))
            else:
                raise FaultsError(
                    [Fault(f'has "{part[:60]}".', f'Write it like --own-label "{OWN_LABEL}".', "--own-label")]
                )
        found.append(OwnForm(name, label=tuple(rows), grade=grade, counting=counting))
    return tuple(found)
