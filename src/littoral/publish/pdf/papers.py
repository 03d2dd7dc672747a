"""The papers that documents are set for."""

from __future__ import annotations

from typing import Literal

from littoral.errors import Fault, FaultsError

Paper = Literal["a4", "letter"]
PAPERS: dict[Paper, str] = {"a4": "a4", "letter": "us-letter"}
"""The name that typst knows each by."""


def paper_named(text: str) -> Paper:
    """Return the paper of that name; FaultsError for another."""
    found = next((paper for paper in PAPERS if paper == text), None)
    if found is None:
        raise FaultsError([wrong_paper(text)])
    return found


def wrong_paper(text: str) -> Fault:
    """Return the fault of a name that no paper has."""
    return Fault(f'is "{text[:20]}".', f"Write {' or '.join(PAPERS)}.", "paper")
