"""Where a logbook's database is: the file in its folder, or a PostgreSQL server that a note in the folder names.

The note holds the id of the logbook, which the database holds too, so that a wrong address never mixes two benches. It
holds the address without its password: that comes from LITTORAL_DATABASE_URL, or from where libpq looks for it.
"""

from __future__ import annotations

import json
import os
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import URL, make_url
from sqlalchemy.exc import ArgumentError

from littoral.errors import LittoralError
from littoral.logbook.refused import DATABASE
from littoral.logbook.whole_files import write_whole

VARIABLE = "LITTORAL_DATABASE_URL"
NOTE = "database.json"
"""The file in a folder that makes it a logbook whose entries are on a server."""
FORMAT = "littoral database 1"
SCHEMES = ("postgresql+psycopg", "postgresql", "postgres")
SECRETS = ("password", "sslpassword", "passfile")
EXAMPLE = "postgresql+psycopg://littoral@db.example.org/bench?sslmode=verify-full"


class WrongAddressError(LittoralError):
    """A database's address that cannot be one; it is not said again, since it may hold a password."""

    def __init__(self, why: str) -> None:
        super().__init__(f"the database's address cannot be used: {why}. Write one such as {EXAMPLE}.")


class UnreadableNoteError(LittoralError):
    """The note that says where a logbook's database is cannot be read, or there is a database file beside it."""

    def __init__(self, folder: Path, why: str, right: str) -> None:
        self.folder = folder
        super().__init__(f"{folder / NOTE} {why}. Nothing was changed. {right}")


class OtherDatabaseError(LittoralError):
    """The database on the server is not the one of this folder."""

    def __init__(self, folder: Path, address: str, why: str) -> None:
        self.folder, self.address = folder, address
        super().__init__(
            f"{address} is not the database of {folder}: {why}. Nothing was changed. "
            f"Look at {VARIABLE} and at {NOTE} in the folder, or name an empty database for a new logbook."
        )


@dataclass(frozen=True, slots=True)
class Note:
    """The id of a logbook on a server, and the server's address without its password."""

    logbook: str
    address: str


def is_logbook(folder: Path) -> bool:
    """Return whether a folder holds a logbook, in a file of its own or on a server. Raises OSError."""
    return (folder / DATABASE).is_file() or (folder / NOTE).is_file()


def read_note(folder: Path) -> Note | None:
    """Return what the folder says of a server, None where it has its own file or none at all. UnreadableNoteError."""
    try:
        text = (folder / NOTE).read_text("utf-8")
    except FileNotFoundError:
        return None
    except OSError as error:
        why = f"cannot be read ({error.strerror})"
        raise UnreadableNoteError(folder, why, "Let this user read it.") from None
    if (folder / DATABASE).exists():
        right = "Move the one aside that is not in use."
        raise UnreadableNoteError(folder, f"names a server, and {DATABASE} is there too", right)
    try:
        said = json.loads(text)
        if said["format"] != FORMAT:
            raise ValueError(f"its format is {said['format']!r}")
        return Note(str(said["logbook"]), str(said["address"]))
    except (ValueError, KeyError, TypeError) as error:
        raise UnreadableNoteError(folder, f"cannot be understood ({error})", "Put a copy of it back.") from None


def write_note(folder: Path, note: Note) -> None:
    """Write the note; UnwrittenFileError."""
    said = {"format": FORMAT, "logbook": note.logbook, "address": note.address}
    write_whole(folder / NOTE, (json.dumps(said, indent=1) + "\n").encode())


def address_of(written: str) -> URL:
    """Return the address of a PostgreSQL database as it was written; WrongAddressError, which never repeats it."""
    try:
        url = make_url(written.strip())
    except (ArgumentError, ValueError):
        raise WrongAddressError("it has not the form of one") from None
    if url.drivername not in SCHEMES:
        raise WrongAddressError("only PostgreSQL can hold a shared bench")
    if not url.database:
        raise WrongAddressError("it names no database")
    return url.set(drivername=SCHEMES[0])


def address_asked() -> URL | None:
    """Return the address in LITTORAL_DATABASE_URL, None where it is not set; WrongAddressError."""
    written = os.environ.get(VARIABLE, "")
    return address_of(written) if written.strip() else None


def address_for(note: Note) -> URL:
    """Return where to find the database of a note: what is asked for now, or the note's own. WrongAddressError."""
    return address_asked() or address_of(note.address)


def without_secrets(url: URL) -> str:
    """Return an address that may be kept and shown."""
    bare = url.difference_update_query(SECRETS)
    return URL.create(
        bare.drivername, bare.username, None, bare.host, bare.port, bare.database, bare.query
    ).render_as_string()


def address_words(url: URL) -> str:
    """Return a database's place as people say it: neither password nor user."""
    hosts = url.query.get("host", "")
    host = url.host or (hosts if isinstance(hosts, str) else ", ".join(hosts)) or "this computer"
    port = f":{url.port}" if url.port else ""
    return f'the database "{url.database}" at {host}{port}'


def redacted(text: str, url: URL) -> str:
    """Return a server's words on one line, any password of the address taken out."""
    secrets = [url.password, *(url.query.get(name) for name in SECRETS)]
    for secret in secrets:
        if isinstance(secret, str) and secret:
            text = text.replace(secret, "…")
    return " ".join(text.split())
