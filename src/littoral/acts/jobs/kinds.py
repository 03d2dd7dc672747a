"""What can be asked for as a job: each kind has a name, reads its options, and calls one act."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from littoral.errors import LittoralError
from littoral.progress import Progress

Run = Callable[[Path, str, Path, Mapping[str, Any], Progress], Sequence[Path]]
"""(logbook, trial's key, folder to write in, options, progress) gives the files it wrote, the main one first."""
Read = Callable[[Mapping[str, Any]], Mapping[str, Any]]
"""Checks options before a job is kept: returns them whole, raises a LittoralError for what is wrong."""


class NoKindError(LittoralError):
    """A kind of job that there is not."""

    def __init__(self, kind: str) -> None:
        self.kind = kind
        super().__init__(f"There is no job {kind!r}; there are {', '.join(KINDS)}.")


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of job; `about` says in a sentence what comes of it."""

    key: str
    name: str
    about: str
    read: Read
    run: Run


def _read_film(options: Mapping[str, Any]) -> Mapping[str, Any]:
    from littoral.publish.film.options import film_options

    return film_options(options).as_json()


def _film(book: Path, trial: str, out: Path, options: Mapping[str, Any], progress: Progress) -> Sequence[Path]:
    from littoral.acts.film_trial import film_trial

    film = film_trial(book, trial, out, options, progress=progress)
    return film.encoded.path, film.captions


def _read_still(options: Mapping[str, Any]) -> Mapping[str, Any]:
    from littoral.publish.still.options import still_options

    return still_options(options).as_json()


def _still(book: Path, trial: str, out: Path, options: Mapping[str, Any], progress: Progress) -> Sequence[Path]:
    from littoral.acts.still_trial import still_trial

    still = still_trial(book, trial, out, options, progress=progress)
    return still.picture, still.words, still.data


class NoOptionError(LittoralError):
    """Options were given where there are none."""

    def __init__(self, names: Sequence[str]) -> None:
        super().__init__(f"This has no options; leave {', '.join(names)} out.")


def no_options(options: Mapping[str, Any]) -> Mapping[str, Any]:
    """Read the options of a kind that has none; NoOptionError."""
    if options:
        raise NoOptionError(tuple(options))
    return {}


def _sheet(book: Path, trial: str, out: Path, _options: Mapping[str, Any], progress: Progress) -> Sequence[Path]:
    from littoral.acts.publish_results import publish_results

    written = publish_results(book, trial, out, film=False, progress=progress)
    return written["sheet"], written["findings"], written["schema"]


SHEET_ABOUT = "One page to read, print or send: questions, findings with their evidence, charts, pictures, methods."
KINDS: Mapping[str, Kind] = {
    kind.key: kind
    for kind in (
        Kind("film", "Film", "The tanks side by side, day by day.", _read_film, _film),
        Kind("still", "Still", "One picture or chart.", _read_still, _still),
        Kind("sheet", "Sheet", SHEET_ABOUT, no_options, _sheet),
    )
}


def kind_named(key: str) -> Kind:
    """Return a kind by its key; NoKindError."""
    if key not in KINDS:
        raise NoKindError(key)
    return KINDS[key]
