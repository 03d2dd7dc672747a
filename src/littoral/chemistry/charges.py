"""The charges of the ions that a fresh water carries, for balances and ionic strength.

Phosphate counts as H2PO4, -1: whatever charge it carries beyond that at the water's pH is titrated with the alkalinity,
which stands among the anions already. Boron, silicate and urea count as uncharged for the same reason; borate and
silicate ions, too, are alkalinity. Iron is counted as Fe²⁺ (chelated or particulate iron, too, is a few µeq/L at most).
"""

from __future__ import annotations

CHARGES: dict[str, int] = {
    "calcium": 2,
    "magnesium": 2,
    "sodium": 1,
    "potassium": 1,
    "ammonium": 1,
    "iron": 2,
    "manganese": 2,
    "zinc": 2,
    "copper": 2,
    "cobalt": 2,
    "nickel": 2,
    "bicarbonate": -1,
    "chloride": -1,
    "sulphate": -2,
    "nitrate": -1,
    "nitrite": -1,
    "phosphate": -1,
    "molybdenum": -2,  # as molybdate, MoO4
}
