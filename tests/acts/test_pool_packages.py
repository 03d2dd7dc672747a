"""Pooling data packages beside findings.json: the same numbers, and one home counted once."""

from __future__ import annotations

import hashlib
import io
import json
import uuid
import zipfile
from pathlib import Path
from types import ModuleType

import pytest
from tests import packages_made

from littoral.acts.pool_findings import Source, pool_findings, source_of, sources_of
from littoral.errors import FaultsError
from littoral.publish.package.packed import FORMAT
from littoral.publish.package.source import DamagedPackageError, NoPackageError

RATIOS = [0.1, 0.2, 0.15, 0.12, 0.3, 0.22]


def packed(findings: bytes, number: int) -> bytes:
    """Return what pooling reads of a package: its descriptor and its findings."""
    listed = {
        "path": "findings.json",
        "bytes": len(findings),
        "hash": f"sha256:{hashlib.sha256(findings).hexdigest()}",
    }
    ours = {"format": FORMAT, "trial_id": uuid.UUID(int=number).urn}
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("datapackage.json", json.dumps({"littoral": ours, "resources": [listed]}))
        archive.writestr("findings.json", findings)
    return out.getvalue()


@pytest.fixture
def homes(keepers_made: ModuleType) -> dict[str, bytes]:
    found: dict[str, bytes] = keepers_made.growths(RATIOS)
    return found


def test_packages_and_files_give_the_same_as_files_alone(homes: dict[str, bytes], tmp_path: Path) -> None:
    for number, (keeper, data) in enumerate(homes.items(), start=1):
        (tmp_path / f"{keeper}.json").write_bytes(data)
        (tmp_path / f"{keeper}.zip").write_bytes(packed(data, number))
    plain = pool_findings(sources_of([str(tmp_path / f"{keeper}.json") for keeper in homes]))
    kinds = ("zip", "json")
    mixed = pool_findings(sources_of([str(tmp_path / f"{one}.{kinds[i % 2]}") for i, one in enumerate(homes)]))
    assert mixed.found.wording == plain.found.wording
    assert mixed.found.claim == plain.found.claim


def test_two_packages_of_one_trial_count_once_however_far_it_had_gone(homes: dict[str, bytes]) -> None:
    sources = [source_of(keeper, f"{keeper}.zip", packed(data, n)) for n, (keeper, data) in enumerate(homes.items(), 1)]
    later = source_of("later", "later.zip", packed(next(reversed(homes.values())), 1))
    with pytest.raises(FaultsError, match=r"later\.zip: is a package of the same trial as home 1\.zip"):
        pool_findings([*sources, later])
    left = pool_findings([*sources, later], leave_out=True)
    assert len(left.found.results) == len(homes)
    assert "One home counts once" in str(left.left_out[0])


def test_the_same_trial_named_and_without_names_is_seen_by_its_numbers(homes: dict[str, bytes]) -> None:
    first = json.loads(next(iter(homes.values())))
    first["trial"] |= {"key": "trial-1234567890", "title": "A trial of feeding", "start": "2001-01-01", "zone": "UTC"}
    first["findings"][0]["effect"] *= 1 + 1e-12
    hidden = Source("hidden", "hidden.json", json.dumps(first).encode())
    with pytest.raises(FaultsError, match="the same trial with the same numbers as home 1"):
        pool_findings([*(Source(keeper, keeper, data) for keeper, data in homes.items()), hidden])


def test_a_damaged_or_foreign_package_is_refused_with_its_name(homes: dict[str, bytes]) -> None:
    whole = packed(next(iter(homes.values())), 1)
    with pytest.raises(NoPackageError, match=r"x\.zip"):
        source_of("x", "x.zip", whole[:60])
    changed = bytearray(whole)
    place = whole.index(b'"effect"')
    changed[place + 10] ^= 1
    with pytest.raises(DamagedPackageError, match=r"x\.zip"):
        source_of("x", "x.zip", bytes(changed))


def test_a_real_package_is_read(tmp_path: Path) -> None:
    from littoral.acts.package_trial import about_of, package_trial

    own = packages_made.filled(tmp_path / "own")
    for name in ("home.zip", "folder"):
        package_trial(own, None, tmp_path / name, about=about_of("CC0-1.0"), now=packages_made.NOW)
    one, two = sources_of([str(tmp_path / "home.zip"), str(tmp_path / "folder")])
    assert one.data == two.data
    assert json.loads(one.data)["trial"]["key"] == "two-ways-of-feeding"
    assert one.trial_id == two.trial_id
    assert one.keeper == "home"
