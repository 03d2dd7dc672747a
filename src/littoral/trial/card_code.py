"""A protocol as one line of text that fits a QR code: JSON, deflated (RFC 1950), in base 45 (RFC 9285).

QR codes hold the 45 characters of base 45 in 5.5 bits each, so that this is the shortest text that every scanner reads.
"""

from __future__ import annotations

import json
import zlib
from typing import Any

from littoral.errors import LittoralError

PREFIX = "LITTORAL1:"
LARGEST_BYTES = 200_000
"""A protocol unpacked: far above any that a person writes."""
_ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"
_VALUE = {letter: value for value, letter in enumerate(_ALPHABET)}


class CodeError(LittoralError):
    """A line of text that is no protocol."""

    def __init__(self, why: str) -> None:
        self.why = why
        super().__init__(f"this code holds no protocol: {why}. Scan it again, or ask for the protocol's file.")


def encoded(plain: Any) -> str:
    """Return plain data as a code's text."""
    data = json.dumps(plain, ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode()
    return PREFIX + base45(zlib.compress(data, 9))


def decoded(text: str) -> Any:
    """Return the plain data of a code's text; CodeError where it is none, cut off, or unpacks to too much."""
    body = text.strip()
    if not body.startswith(PREFIX):
        raise CodeError(f"it does not begin with {PREFIX}")
    unpacking = zlib.decompressobj()
    try:
        data = unpacking.decompress(from_base45(body[len(PREFIX) :]), LARGEST_BYTES)
        if unpacking.unconsumed_tail:
            raise CodeError(f"it unpacks to more than {LARGEST_BYTES:,} bytes")
        if not unpacking.eof:
            raise CodeError("its end is missing")
        return json.loads(data)
    except (ValueError, zlib.error, RecursionError) as error:
        raise CodeError(f"it cannot be read ({error})") from None


def base45(data: bytes) -> str:
    """Return bytes in base 45: three characters for two bytes, two for a last one (RFC 9285, section 4)."""
    text = []
    for place in range(0, len(data), 2):
        pair = data[place : place + 2]
        value = int.from_bytes(pair, "big")
        for _ in range(3 if len(pair) == 2 else 2):
            value, letter = divmod(value, 45)
            text.append(_ALPHABET[letter])
    return "".join(text)


def from_base45(text: str) -> bytes:
    """Return the bytes of a text in base 45; ValueError where it is none."""
    data = bytearray()
    for place in range(0, len(text), 3):
        part = text[place : place + 3]
        if len(part) == 1 or any(letter not in _VALUE for letter in part):
            raise ValueError("it is no text in base 45")
        value = sum(_VALUE[letter] * 45**power for power, letter in enumerate(part))
        size = 2 if len(part) == 3 else 1
        if value >= 256**size:
            raise ValueError("it is no text in base 45")
        data += value.to_bytes(size, "big")
    return bytes(data)
