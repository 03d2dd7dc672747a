"""Where pages come from: all that the page needs of the world."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Literal, Protocol

from littoral.acts.design_page import DesignPage
from littoral.acts.list_trials import ListedTrial
from littoral.acts.mix_and_feed.figures import Stop
from littoral.acts.trial_page import Look, TrialPage
from littoral.progress import Progress

if TYPE_CHECKING:
    from littoral.acts.levels_page import LevelsPage
    from littoral.acts.other_priors import PriorShift


class Bench(Protocol):
    """What the pages read, and the two things they do. `key` is always a key that `trials` gave."""

    def trials(self) -> tuple[ListedTrial, ...]:
        """Return the trials of the logbook, newest first."""

    def fingerprint(self, key: str) -> str:
        """Return a text that changes whenever the page of a trial would; cheap."""

    def page(self, key: str, progress: Progress) -> TrialPage:
        """Return everything the page of a trial shows; measures photos first where that was not done yet."""

    def levels_fingerprint(self, key: str) -> str:
        """Return a text that changes whenever the levels of a trial would, as time goes on too; cheap."""

    def levels(self, key: str, progress: Progress) -> LevelsPage:
        """Return everything the page of a trial's levels shows; fits them first where that was not done yet."""

    def other_priors(self, page: LevelsPage, progress: Progress) -> tuple[PriorShift, ...]:
        """Return the levels of a page under other priors; takes twice as long as the fit."""

    def design(self, key: str) -> DesignPage:
        """Return everything the page of a trial's design shows; it needs no photo."""

    def picture(self, page: TrialPage, entry_id: str, tank: str, look: Look) -> Path | None:
        """Return the file of one picture, or None where the trial has no such photo."""

    def published(self, key: str, name: str) -> Path | None:
        """Return a published file of this name, or None."""

    def text(self, key: str) -> str:
        """Return the trial file's text in force."""

    def start(self, form: Mapping[str, str]) -> str:
        """Start a trial from a form's fields and return its key; FaultsError names each field that is wrong."""

    def override(self, key: str, act: Literal["mix", "week"], of: str, stop: Stop, *, who: str = "") -> None:
        """Note in the logbook that a published limit was overridden for a trial; `of` is its bottle or arm."""
