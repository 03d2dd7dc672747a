"""A few of the spoilt inputs of benchmarks/bad_inputs.py on every run, and for ever those that once went wrong."""

from __future__ import annotations

import random
import struct
import zlib
from pathlib import Path

import pytest
from faults.apart import run_apart
from faults.bad import case, read_one, run
from faults.bad_seeds import KINDS, forms, photos, requests, tables, trial_files
from faults.spoil import spoilt

from littoral.imaging.decode import decode_photo
from littoral.imaging.photo_errors import TooManyPixelsError

KEPT = Path(__file__).parent / "bad_inputs"
TRIED = {"photo": 200, "table": 130, "trial file": 100, "form": 60, "request": 80}


@pytest.mark.parametrize(
    "kind", [pytest.param(kind, marks=pytest.mark.slow) if kind in ("form", "table") else kind for kind in KINDS]
)
def test_spoilt_inputs_are_answered_or_refused_and_write_nothing_unconfirmed(kind: str, tmp_path: Path) -> None:
    first = 1_000_000  # others than `make proof` tries
    found = run_apart("bad", kind, first, first + TRIED[kind], tmp_path)  # apart: one may take its process down
    assert found["wrong"] == []
    assert found["taken"] + found["refused"] == found["tried"] == TRIED[kind]
    assert found["refused"] > 0


def test_at_least_five_hundred_are_tried() -> None:
    assert sum(TRIED.values()) >= 500


@pytest.mark.parametrize("file", sorted(KEPT.glob("*")), ids=lambda file: file.name)
def test_what_once_went_wrong_is_refused_for_ever(file: Path) -> None:
    kind = next(kind for kind in KINDS if file.name.startswith(kind.replace(" ", "-")))
    read_one(kind, file.read_bytes())


def test_the_same_number_is_the_same_case() -> None:
    assert all(case(kind, 7) == case(kind, 7) for kind in KINDS)
    assert len({case("photo", number)[1] for number in range(50)}) > 45


def test_unspoilt_inputs_are_taken() -> None:
    """What is spoilt is good to begin with, so that what is refused is refused for the spoiling."""
    for photo in photos():
        assert decode_photo(photo).image.size > 0
    for data in trial_files()[:1]:
        assert read_one("trial file", data) == "taken"
    for data in tables():
        assert read_one("table", data) == "taken"
    assert forms()
    assert requests()


def test_a_write_that_nobody_confirmed_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    from littoral.acts import import_table as acts

    real = acts.look_at_table

    def careless(folder: Path, data: bytes, **more: object) -> object:
        (folder / "left-behind").write_bytes(data)
        return real(folder, data, **more)

    monkeypatch.setattr(acts, "look_at_table", careless)
    assert any("written by looking" in one for one in run("table", 0, 3).wrong)


def test_spoiling_changes_almost_everything() -> None:
    data = tables()[0]
    rng = random.Random(1)
    assert sum(spoilt(data, tables(), rng) != data for _ in range(100)) > 90


def _png(width: int, height: int) -> bytes:
    """Return a PNG of a few hundred bytes that says it is huge (PNG specification, third edition, 11.2)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(b"\x00" * 100_000)) + chunk(b"IEND", b"")


@pytest.mark.parametrize("side", [30_000, 65_535, 2**31 - 1])
def test_a_photo_that_says_it_is_huge_is_refused_before_a_pixel_is_decoded(side: int) -> None:
    with pytest.raises(TooManyPixelsError):
        decode_photo(_png(side, side))
