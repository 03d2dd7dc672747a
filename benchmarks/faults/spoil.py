"""Spoiling bytes at random, the same way every time for the same number."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence

ODD_NUMBERS = tuple(
    value.to_bytes(size, order)
    for size in (1, 2, 4)
    for order in ("little", "big")
    for value in (0, 1, 2 ** (8 * size - 1) - 1, 2 ** (8 * size - 1), 2 ** (8 * size) - 1)
)
ODD_TEXT = (
    b"\x00", b"\xff\xfe", b"\xef\xbb\xbf", b"\r", b"\n\n", b'"', b"'", b'"""', b"'''", b",", b";", b"\t", b"=",
    b"[", b"]",
    b"[[", b"{", b"}", b"#", b"%", b"%00", b"%2e%2e%2f", b"&", b"+", b"-", b"1e999", b"nan", b"inf", b"-0", b"9" * 400,
    b"0x", b"1,500", b"1.500", "²".encode(), "٣".encode(), "\u202e".encode(), "\u2028".encode(), "😀".encode(),
    b"\xed\xa0\x80",
    b"=1+1", b"@SUM(A1)", b"../../etc/passwd", b"<script>", b"${7*7}", b"9999-12-31", b"0001-01-01", b"24:60",
    b"2026-03-29 02:30",
    b"A" * 3000, b"[" * 300, b"a." * 300,
)  # fmt: skip


def spoilt(data: bytes, others: Sequence[bytes], rng: random.Random) -> bytes:
    """Return `data` changed in one to six ways; `others` may be spliced in."""
    found = bytearray(data)
    for _ in range(rng.choice((1, 1, 1, 2, 2, 3, 6))):
        rng.choice(WAYS)(found, others, rng)
    return bytes(found)


def _place(found: bytearray, rng: random.Random) -> int:
    """Return a place, often near the beginning, where headers are."""
    reach = len(found) if rng.random() < 0.6 else min(len(found), 64)
    return rng.randrange(reach + 1)


def _flip(found: bytearray, _others: Sequence[bytes], rng: random.Random) -> None:
    if found:
        found[min(_place(found, rng), len(found) - 1)] ^= 1 << rng.randrange(8)


def _byte(found: bytearray, _others: Sequence[bytes], rng: random.Random) -> None:
    if found:
        found[min(_place(found, rng), len(found) - 1)] = rng.randrange(256)


def _odd_number(found: bytearray, _others: Sequence[bytes], rng: random.Random) -> None:
    at, number = _place(found, rng), rng.choice(ODD_NUMBERS)
    found[at : at + len(number)] = number


def _odd_text(found: bytearray, _others: Sequence[bytes], rng: random.Random) -> None:
    at = _place(found, rng)
    found[at : at + rng.choice((0, 0, 1, 5))] = rng.choice(ODD_TEXT)


def _cut(found: bytearray, _others: Sequence[bytes], rng: random.Random) -> None:
    del found[_place(found, rng) :]


def _take_out(found: bytearray, _others: Sequence[bytes], rng: random.Random) -> None:
    at = _place(found, rng)
    del found[at : at + rng.choice((1, 2, 4, 16, 100))]


def _double(found: bytearray, _others: Sequence[bytes], rng: random.Random) -> None:
    at = _place(found, rng)
    found[at:at] = found[at : at + rng.choice((1, 4, 30, 200))] * rng.choice((1, 2, 20))


def _even_out(found: bytearray, _others: Sequence[bytes], rng: random.Random) -> None:
    at, length = _place(found, rng), rng.choice((2, 8, 40))
    found[at : at + length] = bytes([rng.choice((0, 255, 32))]) * length


def _splice(found: bytearray, others: Sequence[bytes], rng: random.Random) -> None:
    other = rng.choice(others)
    at = _place(found, rng)
    found[at:] = other[rng.randrange(len(other)) :]


def _swap_lines(found: bytearray, _others: Sequence[bytes], rng: random.Random) -> None:
    lines = bytes(found).split(b"\n")
    one, two = rng.randrange(len(lines)), rng.randrange(len(lines))
    lines[one], lines[two] = lines[two], lines[one]
    found[:] = b"\n".join(lines)


Way = Callable[[bytearray, Sequence[bytes], random.Random], None]
WAYS: tuple[Way, ...] = (
    _flip, _byte, _odd_number, _odd_text, _odd_text, _cut, _take_out, _double, _even_out, _splice, _swap_lines,
)  # fmt: skip
