"""What a logbook refuses: a folder without one, a trial or photo that it does not hold, a file that has changed."""

from __future__ import annotations

from pathlib import Path

from littoral.errors import LittoralError

DATABASE = "logbook.sqlite3"
"""The one file in a folder that makes it a logbook."""


class NoLogbookError(LittoralError):
    """There is no logbook in this folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        super().__init__(
            f"{folder} holds no logbook (no {DATABASE} in it). `littoral start FOLDER` begins one with three "
            "questions, `littoral import FILE` makes one from a trial file, and `littoral open` alone opens your own."
        )


class UnusableFolderError(LittoralError):
    """A folder cannot hold a logbook: it is a file, or this user may not use it."""

    def __init__(self, folder: Path, error: OSError) -> None:
        self.folder = folder
        super().__init__(
            f"{folder} cannot hold a logbook ({error.strerror or error}). "
            "Name a folder that this user can write in, or a new one."
        )


class NoTrialError(LittoralError):
    """The logbook holds no trial of this key."""

    def __init__(self, key: str, known: tuple[str, ...]) -> None:
        self.key, self.known = key, known
        super().__init__(f"no trial {key!r} in this logbook; it holds {', '.join(known) if known else 'none yet'}.")


class NoOriginalError(LittoralError):
    """The logbook holds no original of this hash."""

    def __init__(self, sha256: str) -> None:
        self.sha256 = sha256
        super().__init__(f"no original {sha256[:12]}… in this logbook.")


class UnkeptFileError(LittoralError):
    """A file that was to be kept could not be read again as it was."""

    def __init__(self, path: Path, why: str) -> None:
        self.path = path
        super().__init__(f"{path} {why}; import it again. Nothing was changed.")


class OtherTrialError(LittoralError):
    """What is to be taken over has the key of another trial of this logbook; `entry` is one that says otherwise."""

    def __init__(self, key: str, *, entry: str = "") -> None:
        self.key, self.entry = key, entry
        where = f" (entry {entry} says something else here)" if entry else " (its text is another)"
        super().__init__(
            f"this logbook holds another trial with the key {key!r}{where}. Nothing was changed. "
            "Take it into a logbook of its own: `--logbook NEWFOLDER`."
        )
