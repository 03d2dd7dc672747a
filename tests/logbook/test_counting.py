"""Entries counted and picked out by the database, against reading them all."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

import pytest

from littoral.acts.list_trials import fingerprint, list_trials
from littoral.logbook.book import Logbook
from littoral.logbook.payloads import kind_of
from littoral.trial.entries import Dose, Note, Overridden, Photo, Withdrawn


@pytest.fixture
def key(filled) -> str:
    with Logbook.open(filled.folder) as book:
        return book.trials()[0]


def test_counts_are_those_of_the_entries_in_force(filled, key):
    with Logbook.open(filled.folder) as book:
        in_force = book.entries(key)
        assert book.counts(key) == Counter(kind_of(entry.payload) for entry in in_force)
        assert book.counts("nothing") == {}
    (listed,) = list_trials(filled.folder)
    photos = sum(isinstance(entry.payload, Photo) for entry in in_force)
    assert (listed.photos, listed.entries) == (photos, len(in_force) - photos)


def test_kinds_are_picked_out_in_order(filled, key):
    with Logbook.open(filled.folder) as book:
        wanted = tuple(entry for entry in book.entries(key) if isinstance(entry.payload, Dose | Note))
        assert wanted
        assert book.entries_of(key, (Dose, Note)) == wanted


def test_the_last_entry_is_the_last_in_force(filled, key):
    with Logbook.open(filled.folder) as book:
        entries = book.entries(key)
        assert book.last_entry(key) == entries[-1]
        kind = type(entries[-1].payload)
        others = [entry for entry in entries if not isinstance(entry.payload, kind)]
        assert book.last_entry(key, but=(kind, Overridden)) == others[-1]
        assert book.last_entry("nothing") is None


def test_versions_hold_every_entry_once(filled, key):
    with Logbook.open(filled.folder) as book:
        every = book.entries(key)
        first, until = every[0].at - timedelta(days=999), every[-1].at + timedelta(days=999)
        chains = book.versions_within(key, first, until)
        assert tuple(chain[0] for chain in chains if not isinstance(chain[0].payload, Withdrawn)) == every
        ids = [entry.id for chain in chains for entry in chain]
        assert len(ids) == len(set(ids))
        for chain in chains:
            assert all(newer.supersedes == older.id for newer, older in pairwise(chain))
        assert book.versions_within(key, until, until) == ()


def test_the_fingerprint_changes_with_each_entry(filled, key):
    before = fingerprint(filled.folder, key)
    assert fingerprint(filled.folder, key) == before
    with Logbook.open(filled.folder) as book:
        entry = book.entries(key)[-1]
        row = book.last_row_of(key)
        book.add((type(entry)("one-more", entry.at, entry.zone, "left", Note("x"), trial=key),))
        assert book.last_row_of(key) > row
    assert fingerprint(filled.folder, key) != before


def test_what_came_since_adds_up_to_the_whole(filled, key):
    with Logbook.open(filled.folder) as book:
        entry = next(one for one in book.entries(key) if isinstance(one.payload, Dose))
        row, before = book.last_row_of(key), Counter(book.counts(key))
        steps = (
            replace(entry, id="n1", payload=Note("x"), supersedes=None, origin=""),
            replace(entry, id="n2", payload=Note("y"), supersedes="n1", origin=""),
            replace(entry, id="n3", payload=Withdrawn("gone"), supersedes=entry.id, origin=""),
            replace(entry, id="n4", payload=entry.payload, supersedes="n3", origin=""),
            replace(entry, id="n5", payload=Withdrawn("gone"), supersedes="n2", origin=""),
        )
        for step in steps:
            book.add((step,))
            now = Counter(before)
            now.update(book.counts(key, after=row))
            assert +now == book.counts(key) == Counter(kind_of(one.payload) for one in book.entries(key))
            assert list_trials(filled.folder)[0].entries + list_trials(filled.folder)[0].photos == now.total()
        assert book.counts(key, after=book.last_row_of(key)) == {}
