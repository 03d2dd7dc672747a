"""What is in the club's two bottles, what it cost, and the water it goes into."""

from __future__ import annotations

SALTS_G = {"KNO3": 33.0, "KH2PO4": 2.6, "K2SO4": 8.0}
MADE_UP_TO_ML = 500.0
SALT_PACKS = {"KNO3": (500.0, 7.90), "KH2PO4": (250.0, 6.50), "K2SO4": (500.0, 6.90)}  # g, EUR
MICRO_PACK = (250.0, 9.80)  # mL, EUR

SOURCE_NITRATE_MG_PER_L = 12.0
# 60 x 30 x 27 cm of water and substrate, less 60 % of 9 L of substrate, 1.8 kg of stone at 2.65 kg/L, 0.6 L of wood.
NET_VOLUME_L = 48.6 - 0.60 * 9.0 - 1.8 / 2.65 - 0.6
# NO3 / KNO3 = 62.005 / 101.103 (IUPAC standard atomic weights, from memory).
MACRO_NITRATE_MG_PER_ML = SALTS_G["KNO3"] * 1000.0 / MADE_UP_TO_ML * 62.005 / 101.103


def price_per_ml(bottle: str) -> float:
    """Return the price in EUR of one mL of "macro" or "micro", by the packs it is made from."""
    if bottle == "micro":
        content_ml, price = MICRO_PACK
        return price / content_ml
    per_bottle = sum(grams * SALT_PACKS[salt][1] / SALT_PACKS[salt][0] for salt, grams in SALTS_G.items())
    return per_bottle / MADE_UP_TO_ML
