"""Starting the page: loopback only, a free port on request, one clear line where it cannot start."""

from __future__ import annotations

import socket

import pytest

from littoral.logbook.refused import NoLogbookError
from littoral.web.serve import PortTakenError, listen, serve


def test_it_listens_on_loopback_only():
    with listen(0) as listening:
        address, port = listening.getsockname()
        assert address == "127.0.0.1"
        assert listening.proto == socket.IPPROTO_TCP
        assert port > 0


def test_a_port_that_is_taken_is_named_with_the_way_out():
    with listen(0) as taken:
        port = taken.getsockname()[1]
        with pytest.raises(PortTakenError, match=f"port {port} .* cannot be used .*`--port 0` takes a free one"):
            listen(port)


def test_a_folder_without_a_logbook_is_refused_before_anything_is_served(tmp_path):
    said: list[str] = []
    with pytest.raises(NoLogbookError):
        serve(tmp_path, port=0, open_browser=False, say=said.append)
    assert said == []
    assert list(tmp_path.iterdir()) == []
