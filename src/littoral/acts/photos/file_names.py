"""How a photo's file is called: the ending that its format has in the logbook, and its name as it is shown."""

from __future__ import annotations

from pathlib import PurePosixPath, PureWindowsPath

SUFFIXES = {"JPEG": ".jpg", "PNG": ".png", "TIFF": ".tif", "WebP": ".webp", "HEIC": ".heic"}
LONGEST_NAME = 120


def plain_name(file_name: str) -> str:
    """Return the last part of a file's name, without what does not print; it names no path here, it is only shown."""
    last = PureWindowsPath(PurePosixPath(file_name).name).name
    return "".join(letter for letter in last if letter.isprintable())[:LONGEST_NAME]
