"""Whole numbers told as runs, as a person would: 14 to 16, 20."""

from __future__ import annotations

from collections.abc import Iterable


def runs_of(numbers: Iterable[float]) -> list[tuple[int, int]]:
    """Return whole numbers as runs (first, last), both included: 14, 15, 16, 20 gives (14, 16), (20, 20)."""
    runs: list[tuple[int, int]] = []
    for number in sorted({int(number) for number in numbers}):
        if runs and number == runs[-1][1] + 1:
            runs[-1] = (runs[-1][0], number)
        else:
            runs.append((number, number))
    return runs


def runs_words(numbers: Iterable[float]) -> str:
    """Return whole numbers in words: "0 to 16, 20, 22 to 41"."""
    return ", ".join(f"{first}" if first == last else f"{first} to {last}" for first, last in runs_of(numbers))
