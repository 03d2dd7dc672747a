"""The one exception family, and faults: mistakes in the user's own data, kept as values.

An exception is for a request that failed. A fault says what is wrong in something a person wrote, where, and what
would be right; faults are collected and shown together.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass


class LittoralError(Exception):
    """Base of every error Littoral raises on purpose; the message says what, where and what would be right."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One mistake in the user's data.

    `where` names the file (and key), `line` is 1-based or None where a line makes no sense.
    """

    what: str
    right: str
    where: str
    line: int | None = None

    def __str__(self) -> str:
        place = f"{self.where}, line {self.line}" if self.line is not None else self.where
        return f"{place}: {self.what} {self.right}".rstrip()


class FaultsError(LittoralError):
    """The user's data holds mistakes; `faults` lists them all."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


EXTRAS = {
    "cv2": ("opencv-python-headless", "photos"),
    "PIL": ("pillow", "photos"),
    "pillow_heif": ("pillow-heif", "photos"),
    "vl_convert": ("vl-convert-python", "charts"),
    "pypdf": ("pypdf", "charts"),
    "av": ("av", "film"),
    "typst": ("typst", "print"),
    "segno": ("segno", "print"),
    "icalendar": ("icalendar", "calendar"),
    "openpyxl": ("openpyxl", "tables"),
    "psycopg": ("psycopg", "postgres"),
    "dask": ("dask[distributed]", "cluster"),
    "distributed": ("dask[distributed]", "cluster"),
    "fsspec": ("fsspec", "cluster"),
}
"""What is imported of each extra: the package that brings it, and the extra's name in pyproject.toml."""


class MissingExtraError(LittoralError):
    """A library of an extra that was not installed is needed: `package` is what is missing, `extra` brings it."""

    def __init__(self, package: str, extra: str) -> None:
        self.package, self.extra = package, extra
        super().__init__(f'{package} is not installed. pip install "littoral[{extra}]" brings it.')


@contextmanager
def extras_needed() -> Iterator[None]:
    """Turn the failed import of a library of an extra into MissingExtraError; a decorator or a context."""
    try:
        yield
    except ModuleNotFoundError as error:
        known = EXTRAS.get((error.name or "").partition(".")[0])
        if known is None:
            raise
        raise MissingExtraError(*known) from None
