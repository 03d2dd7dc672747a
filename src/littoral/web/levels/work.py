"""The work behind the page of levels: fits that take seconds, done in the background and kept between requests."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING

from littoral.errors import LittoralError
from littoral.progress import Progress
from littoral.web.source import Bench
from littoral.web.waiting import Waiting

if TYPE_CHECKING:
    from littoral.acts.levels_page import LevelsPage
    from littoral.acts.other_priors import PriorShift


class NotFittedError(LittoralError):
    """Other priors were asked for before there was a fit to compare with."""

    def __init__(self) -> None:
        super().__init__("The levels are not fitted yet. Open their page first.")


class LevelsWork:
    """The pages of levels, and what was asked for with other priors, each worked out once until something changes."""

    def __init__(self, bench: Bench, pool: ThreadPoolExecutor) -> None:
        self._bench = bench

        def fingerprint(key: str) -> str:
            return bench.levels_fingerprint(key)

        def make(key: str, progress: Progress) -> LevelsPage:
            return bench.levels(key, progress)

        self.pages: Waiting[LevelsPage] = Waiting(fingerprint, make, pool)
        self.priors: Waiting[tuple[PriorShift, ...]] = Waiting(self._of_page, self._shifts, pool)

    def _of_page(self, key: str) -> str:
        # Of the page that is being shown, which the answer must belong to.
        work = self.pages.begun(key)
        return "" if work is None else work.fingerprint

    def _shifts(self, key: str, progress: Progress) -> tuple[PriorShift, ...]:
        page = self.pages.known(key)
        if page is None:
            raise NotFittedError
        return self._bench.other_priors(page, progress)

    def close(self) -> None:
        """Take no more work."""
        self.pages.close()
        self.priors.close()
