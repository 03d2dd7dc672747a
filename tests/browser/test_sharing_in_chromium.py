"""A phone is paired over this computer's real address, records, looks no more once its key is taken back."""

from __future__ import annotations

import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import expect

from littoral.logbook.book import Logbook
from littoral.trial.written.reader import read_trial
from littoral.web.access.opening import NotLocalError, shared_addresses
from littoral.web.access.share import Share

pytestmark = pytest.mark.browser
TEXT = (Path(__file__).parents[1] / "trial" / "whole-trial.toml").read_text(encoding="utf-8")
PROGRAM = """
import sys
from pathlib import Path
from littoral.web.access.share import Share
from littoral.web.serve import serve

serve(Path(sys.argv[1]), port=0, open_browser=False, share=Share(), say=lambda text: print(text, "\\nEND", flush=True))
"""


@pytest.fixture
def shared(tmp_path: Path) -> Iterator[tuple[str, str, str]]:
    """Serve a logbook with a trial to the network; gives the address here, the one there, and the first code."""
    try:
        shared_addresses(Share())
    except NotLocalError:
        pytest.skip("this computer is in no local network")
    trial, _ = read_trial(TEXT, where="trial.toml")
    assert trial is not None
    with Logbook.create(tmp_path / "logbook") as book:
        book.take_in(trial, TEXT)
    command = [sys.executable, "-c", PROGRAM, str(tmp_path / "logbook")]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        said = "".join(iter(process.stdout.readline, "END\n"))
        addresses = re.findall(r"http://[^\s/]+", said)
        code = re.search(r"type (\w{4} \w{4}) ", said)
        assert code is not None
        try:
            yield addresses[0], addresses[1], code[1]
        finally:
            process.send_signal(signal.SIGINT)
            process.stdout.read()


def test_a_phone_is_paired_takes_a_table_in_and_is_let_go(chromium, shared, tmp_path) -> None:
    here_address, there, code = shared
    asked: set[str] = set()
    phone = chromium.new_context(viewport={"width": 390, "height": 844}).new_page()
    phone.on("request", lambda request: asked.add(re.match(r"\w+://[^/]+", request.url)[0]))
    phone.goto(f"{there}/")
    assert phone.url == f"{there}/pair"
    phone.get_by_label("Code").fill(code.lower())
    phone.get_by_label("Whose device is it?").fill("Mira’s phone")
    phone.get_by_role("button", name="Pair it").click()
    expect(phone.get_by_role("link", name=re.compile("Sparing or full"))).to_be_visible()
    assert phone.evaluate("document.cookie") == ""

    table = tmp_path / "log.csv"
    table.write_text("date;tank;temp (C)\n2026-03-03;left;24\n2026-03-04;left;25\n", encoding="utf-8")
    phone.goto(f"{there}/trial/sparing-or-full/import")
    phone.get_by_label("The file").set_input_files(table)
    phone.get_by_role("button", name="Look at it").click()
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390
    phone.get_by_role("button", name="Write 2 new entries").click()
    expect(phone.get_by_text("2 new entries from log.csv.")).to_be_visible()
    assert asked == {there}

    here = chromium.new_context().new_page()
    here.goto(f"{here_address}/devices")
    here.get_by_role("button", name="Take back the key of Mira’s phone").click()
    expect(here.get_by_text("No device is paired.")).to_be_visible()
    phone.goto(f"{there}/")
    assert phone.url == f"{there}/pair"
