"""What can be asked for as a job: each kind has a name, reads its options, and calls one act."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from littoral.errors import Fault, FaultsError, LittoralError
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
    """Options were given that a kind does not have."""

    def __init__(self, names: Sequence[str], known: Sequence[str] = ()) -> None:
        takes = f"It takes {', '.join(known)}" if known else "This has no options"
        super().__init__(f"{takes}; leave {', '.join(names)} out.")


def no_options(options: Mapping[str, Any]) -> Mapping[str, Any]:
    """Read the options of a kind that has none; NoOptionError."""
    only(options, ())
    return {}


def only(options: Mapping[str, Any], known: Sequence[str]) -> None:
    """Raise NoOptionError for options that a kind does not have."""
    if others := [name for name in options if name not in known]:
        raise NoOptionError(others, known)


def _read_sheet(options: Mapping[str, Any]) -> Mapping[str, Any]:
    from littoral.publish.pdf.papers import paper_named

    only(options, ("paper",))
    return {"paper": paper_named(str(options.get("paper", "a4")))}


def _sheet(book: Path, trial: str, out: Path, options: Mapping[str, Any], progress: Progress) -> Sequence[Path]:
    from littoral.acts.publish_results import publish_results

    written = publish_results(book, trial, out, paper=str(options["paper"]), film=False, progress=progress)
    charts = sorted(written["charts"].glob("*.svg")) + sorted(written["charts"].glob("*.pdf"))
    return written["print"], written["sheet"], written["findings"], written["schema"], *charts


PACKAGE = (
    "licence",
    "photos",
    "anonymous",
    "hide",
    "keep_notes",
    "author",
    "institution",
    "country",
    "site",
    "version",
)
"""The options of a data package: texts, two that are true or false, and `hide`, a list of names."""


def _read_package(options: Mapping[str, Any]) -> Mapping[str, Any]:
    from littoral.acts.package_trial import about_of
    from littoral.publish.package.packed import PHOTO_MODES

    only(options, PACKAGE)
    said = {name: str(options.get(name, "")) for name in ("author", "institution", "country", "site")}
    about = about_of(str(options.get("licence", "")), version=str(options.get("version", "1.0.0")), **said)
    photos = str(options.get("photos", "none"))
    if photos not in PHOTO_MODES:
        raise FaultsError([Fault(f'is "{photos[:40]}".', f"Choose {', '.join(PHOTO_MODES)}.", "photos")])
    return {
        "licence": about.licence,
        "version": about.version,
        **said,
        "photos": photos,
        "anonymous": bool(options.get("anonymous", False)),
        "keep_notes": bool(options.get("keep_notes", False)),
        "hide": [str(name) for name in options.get("hide", ())],
    }


def _package(book: Path, trial: str, out: Path, options: Mapping[str, Any], progress: Progress) -> Sequence[Path]:
    from littoral.acts.package_trial import about_of, package_trial

    said = {name: str(options[name]) for name in ("version", "author", "institution", "country", "site")}
    made = package_trial(
        book,
        trial,
        out / f"{trial}.zip",
        about=about_of(str(options["licence"]), **said),
        photos=str(options["photos"]),
        anonymous=bool(options["anonymous"]),
        hide=tuple(options["hide"]),
        keep_notes=bool(options["keep_notes"]),
        progress=progress,
    )
    return (made.path,)


def _protocol(book: Path, trial: str, out: Path, _options: Mapping[str, Any], _progress: Progress) -> Sequence[Path]:
    from littoral.acts.protocol_card import give_protocol

    card, code = out / "protocol.json", out / "protocol-code.svg"
    give_protocol(book, card, trial_key=trial, qr=code)
    return card, code


SHEET_ABOUT = "A report to read, print or send: questions, findings with their evidence, charts, pictures, methods."
PACKAGE_ABOUT = "Everything that others need to check or to pool this trial: tables, findings, photos if you like."
PROTOCOL_ABOUT = "What somebody else needs to run the same trial: design, schedule, and what is fed in mg/L a week."
KINDS: Mapping[str, Kind] = {
    kind.key: kind
    for kind in (
        Kind("film", "Film", "The tanks side by side, day by day.", _read_film, _film),
        Kind("still", "Still", "One picture or chart.", _read_still, _still),
        Kind("sheet", "Sheet", SHEET_ABOUT, _read_sheet, _sheet),
        Kind("package", "Data package", PACKAGE_ABOUT, _read_package, _package),
        Kind("protocol", "Protocol", PROTOCOL_ABOUT, no_options, _protocol),
    )
}


def kind_named(key: str) -> Kind:
    """Return a kind by its key; NoKindError."""
    if key not in KINDS:
        raise NoKindError(key)
    return KINDS[key]
