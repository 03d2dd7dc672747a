"""An arrow as a person writes it: tank, how far across and down, words."""

from __future__ import annotations

from typing import Any

from littoral.publish.still.options import StillOptionError

RIGHT = "Write the tank's key, how far across and down (0 to 1), and words: left 0.9 0.3 algae on the glass"


def written_arrow(line: str) -> dict[str, Any]:
    """Return an arrow's plain data from "left 0.9 0.3 algae on the glass"; StillOptionError."""
    parts = line.split(maxsplit=3)
    try:
        tank, across, down, words = parts
        return {"tank": tank, "across": float(across), "down": float(down), "words": words.strip()}
    except ValueError:
        raise StillOptionError(f"An arrow is {line[:60]!r}. {RIGHT}") from None
