"""Places that work is not sent to, and what is said then."""

from __future__ import annotations

import pickle
import socket
from pathlib import Path

import pytest

from littoral.acts.measure_photos import measure_photos
from littoral.findings.machines.cluster import checked, connected
from littoral.findings.machines.refused import (
    NoAddressError,
    NoSchedulerError,
    OpenToOthersError,
    OtherVersionsError,
    PhotoAwayError,
)


@pytest.mark.parametrize("address", ["tcp://127.0.0.1:8786", "tcp://[::1]:8786", "tcp://localhost:1", "tls://bench:9"])
def test_this_computer_and_tls_are_taken(address: str) -> None:
    assert checked(address, unprotected=False) == address


@pytest.mark.parametrize("address", ["tcp://10.0.0.7:8786", "tcp://bench.example:8786", "tcp://0.0.0.0:8786"])
def test_another_computer_without_tls_needs_a_word(address: str) -> None:
    with pytest.raises(OpenToOthersError, match="--unprotected"):
        checked(address, unprotected=False)
    assert checked(address, unprotected=True) == address


@pytest.mark.parametrize(
    "place", ["0", "four", "-1", "http://127.0.0.1:80", "tcp://127.0.0.1", "tcp://:9", "tcp://a:b"]
)
def test_what_is_no_place_is_refused(place: str, tmp_path: Path) -> None:
    with pytest.raises(NoAddressError, match="is no place to work at"):
        measure_photos(tmp_path, on=place)


def test_nobody_at_the_address_is_said_at_once() -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))  # bound and not listening: whoever calls is turned away
        address = f"tcp://127.0.0.1:{taken.getsockname()[1]}"
        with pytest.raises(NoSchedulerError, match="dask scheduler"), connected(address, answer_s=0.5):
            pass


@pytest.mark.parametrize("error", [OtherVersionsError("a", "b"), PhotoAwayError("s3://x", "gone")])
def test_what_a_worker_raises_comes_back_whole(error: Exception) -> None:
    again = pickle.loads(pickle.dumps(error))
    assert (type(again), str(again)) == (type(error), str(error))
