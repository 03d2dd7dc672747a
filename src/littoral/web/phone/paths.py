"""The app's icons: their addresses and sizes."""

from __future__ import annotations

from typing import Literal

Kind = Literal["any", "maskable"]

ICONS: dict[str, tuple[int, Kind]] = {
    "/icon-192.png": (192, "any"),
    "/icon-512.png": (512, "any"),
    "/icon-maskable-192.png": (192, "maskable"),
    "/icon-maskable-512.png": (512, "maskable"),
    "/icon-home.png": (180, "maskable"),
}
"""The last for phones that ask for an icon of their own; they cut its corners and take no transparency."""
ICON_PATHS = tuple(ICONS)
