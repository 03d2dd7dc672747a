"""The bench that a logbook is: every answer comes from an act on it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from littoral.acts.design_page import DesignPage
from littoral.acts.list_trials import ListedTrial, fingerprint, list_trials, trial_text
from littoral.acts.mix_and_feed.figures import Stop
from littoral.acts.published_files import published_files
from littoral.acts.trial_page import Look, TrialPage
from littoral.progress import Progress

if TYPE_CHECKING:
    from littoral.acts.levels_page import LevelsPage
    from littoral.acts.other_priors import PriorShift


class BookBench:
    """Answers from the logbook in a folder. Acts that bring heavy libraries are imported when first asked.

    `now` gives the moment (aware) that levels are told for.
    """

    def __init__(self, folder: Path, *, now: Callable[[], datetime] = lambda: datetime.now(UTC)) -> None:
        self._folder = folder
        self._now = now

    def trials(self) -> tuple[ListedTrial, ...]:
        """Return the trials of the logbook, newest first."""
        return list_trials(self._folder)

    def fingerprint(self, key: str) -> str:
        """Return a text that changes with the trial's text, entries and published files."""
        return fingerprint(self._folder, key)

    def page(self, key: str, progress: Progress) -> TrialPage:
        """Return everything the page of a trial shows."""
        from littoral.acts.view_trial import view_trial

        return view_trial(self._folder, key, progress=progress)

    def levels_fingerprint(self, key: str) -> str:
        """Return a text that changes with the trial's text and entries, and with every hour."""
        return f"{fingerprint(self._folder, key)} {self._now():%Y-%m-%d %H}"

    def levels(self, key: str, progress: Progress) -> LevelsPage:
        """Return everything the page of a trial's levels shows."""
        from littoral.acts.levels_page import view_levels

        return view_levels(self._folder, key, now=self._now(), progress=progress)

    def other_priors(self, page: LevelsPage, progress: Progress) -> tuple[PriorShift, ...]:
        """Return the levels of a page under other priors."""
        from littoral.acts.other_priors import other_priors

        return () if page.estimates is None else other_priors(page.trial, page.estimates, progress=progress)

    def design(self, key: str) -> DesignPage:
        """Return everything the page of a trial's design shows."""
        from littoral.acts.view_design import view_design

        return view_design(self._folder, key)

    def picture(self, page: TrialPage, entry_id: str, tank: str, look: Look) -> Path | None:
        """Return the file of one picture, or None where the trial has no such photo."""
        from littoral.acts.twin_pictures import twin_picture

        return twin_picture(page, entry_id=entry_id, tank=tank, look=look)

    def published(self, key: str, name: str) -> Path | None:
        """Return a published file of this name, or None."""
        return published_files(self._folder, key).get(name)

    def text(self, key: str) -> str:
        """Return the trial file's text in force."""
        return trial_text(self._folder, key)

    def start(self, form: Mapping[str, str]) -> str:
        """Start a trial from a form's fields and return its key."""
        from littoral.acts.start_trial import start_in_logbook

        return start_in_logbook(
            self._folder,
            title=form.get("title", ""),
            glass=form.get("glass", ""),
            start=form.get("start", ""),
            length=form.get("length", ""),
            baseline=form.get("baseline", ""),
            zone=form.get("zone", ""),
            first=form.get("first", ""),
            second=form.get("second", ""),
        )

    def override(self, key: str, act: Literal["mix", "week"], of: str, stop: Stop, *, who: str = "") -> None:
        """Note an override for a trial in the logbook."""
        from littoral.acts.record_override import record_override

        record_override(self._folder, key, act=act, of=of, stop=stop, who=who)
