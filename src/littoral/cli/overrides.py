"""An override on the command line, kept in the logbook that the command began from."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

from littoral.cli.saying import aside

if TYPE_CHECKING:
    from littoral.acts.mix_and_feed.figures import Stop


def keep_override(
    stop: Stop | None, book: Path | None, trial: str | None, *, act: Literal["mix", "week"], of: str | None
) -> None:
    """Note an override in the logbook `book`, and say so; a trial file alone, or None, keeps nothing.

    `of` is the bottle or arm as it was named, None where there is only one.
    """
    if stop is None or stop.stands or book is None or not book.is_dir():
        return
    from littoral.acts.mix_and_feed.from_trial import from_trial
    from littoral.acts.record_override import record_override

    if of is None:
        forms = from_trial(book, trial)
        of = next(iter(forms.mix if act == "mix" else forms.weeks), "")
    if record_override(book, trial, act=act, of=of, stop=stop):
        aside(f"The override is noted in the logbook {book}.")
    else:
        aside(f"The same override is noted in the logbook {book} today already.")
