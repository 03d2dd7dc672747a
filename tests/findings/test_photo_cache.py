"""The names of what was made of a view's first photos: quick ones and those by the rule are the same."""

from __future__ import annotations

from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from littoral.findings.photo_cache import PhotoCache


class Nowhere:
    def cache_path(self, kind: str, name: str) -> Path:
        return Path(kind) / name


@given(st.lists(st.text(max_size=5), max_size=12))
def test_names_made_one_from_another_are_those_made_whole(hashes: list[str]) -> None:
    cache = PhotoCache(Nowhere(), ["a view"], hashes)  # type: ignore[arg-type]
    quick = list(cache._first_keys())
    assert quick == [(tried, cache._start_key(tried, of_all=False)) for tried in range(1, len(hashes))]
