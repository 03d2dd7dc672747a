"""How long work tells how far it is: done so far, of how many, and what it is doing."""

from __future__ import annotations

from collections.abc import Callable

Progress = Callable[[int, int, str], None]
