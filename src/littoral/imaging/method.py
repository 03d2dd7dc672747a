"""The version of the measuring method, apart from the method itself: what is cached is found without its libraries."""

from __future__ import annotations

METHOD_VERSION = "8"
"""Part of the key of every cached image and measure: raised whenever a number could change."""
