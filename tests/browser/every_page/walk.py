"""Opening every page: the three logbooks, what an address is filled with, and when a page has come to rest."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import httpx
from playwright.sync_api import Browser, BrowserContext, Page
from tests.browser.conftest import served
from tests.browser.every_page.visits import KEY, Book, Visit

from littoral.acts.keep_devices import pair_device, revoke_device
from littoral.acts.record_entry import record_dose, record_note
from littoral.logbook.book import Logbook
from littoral.trial.written.reader import read_trial

_TEXT = (Path(__file__).parents[2] / "trial" / "whole-trial.toml").read_text(encoding="utf-8")
_SCHEDULE = """
[schedule]
doses_at = "18:00"
tests = [{ of = ["nitrate", "ph"], on = "every day", at = "17:00" }]
trims = [{ of = ["red-stem"], every = "14 days" }]
photos = [{ on = "every day", at = "19:00" }]
"""
AT_REST = """() =>
  document.documentElement.dataset.phone === "ready"
  && !document.querySelector("progress[data-from]")
  && (!window.vegaEmbed || document.querySelectorAll(".charts:not([data-drawn])").length === 0)
  && [...document.images].every((image) => image.loading === "lazy" || image.complete)
"""
"""A page has come to rest: its scripts ran, nothing is waited for, its charts are drawn."""


@dataclass(frozen=True, slots=True)
class Site:
    """A served logbook and what addresses in it are filled with; `door` is opened first where a key is needed."""

    address: str
    filled: dict[str, str]
    door: str = ""


def small_book(folder: Path, *, today: date) -> dict[str, str]:
    """Make a trial of today without photos, with a dose and a note; return their ids."""
    text = _TEXT.replace("start = 2026-03-02", f"start = {today - timedelta(days=16)}") + _SCHEDULE
    trial, faults = read_trial(text, where="trial.toml")
    assert trial is not None, faults
    with Logbook.create(folder) as book:
        book.take_in(trial, text)
    dose = record_dose(folder, "left", "macro", "2 strokes").entries[0].id
    note = record_note(folder, "left", "a new leaf").entries[0].id
    now = datetime.now(UTC)
    pair_device(folder, "Mira’s phone", role="keeper", now=now)
    revoke_device(folder, pair_device(folder, "a guest", role="reader", now=now).device.id, now=now)
    return {"dose": dose, "note": note}


@contextmanager
def sites(demo: Path, made_in: Path, *, demo_at: str = "") -> Iterator[dict[Book, Site]]:
    """Serve the demo (or take it served at `demo_at`), a small trial and an empty logbook."""
    given = small_book(made_in / "small", today=date.today())
    Logbook.create(made_in / "empty").close()
    with ExitStack() as open_now:
        demo_address = demo_at or open_now.enter_context(served(demo))
        photos = httpx.get(f"{demo_address}/api/trials/{KEY}/photos").json()["photos"]
        # Shared, so that pairing is there to be seen; a proxy's address asks for no network of this computer's own.
        door = open_now.enter_context(served(made_in / "small", proxy="https://tanks.example"))
        yield {
            "demo": Site(demo_address, {"photo": photos[len(photos) // 2]["photo"], "view": "left"}),
            "small": Site(door.split("/here")[0], given, door),
            "empty": Site(open_now.enter_context(served(made_in / "empty")), {}),
        }


def window(chromium: Browser, *, theme: str, width: int) -> BrowserContext:
    """Return a fresh window that keeps nothing; moving parts stand still, so that what is seen is what stays."""
    height = 844 if width < 600 else 900
    context = chromium.new_context(
        viewport={"width": width, "height": height},
        color_scheme=theme,  # type: ignore[arg-type]
        reduced_motion="reduce",
        service_workers="block",
    )
    context.set_default_timeout(120_000)
    return context


def open_visit(page: Page, visit: Visit, at: dict[Book, Site]) -> int:
    """Open a page, do what the visit does there, wait until it rests; return the status it answered with."""
    site = at[visit.book]
    answers = [200]

    def note(answer: object) -> None:
        if answer.request.is_navigation_request() and answer.frame == page.main_frame:  # type: ignore[attr-defined]
            answers.append(answer.status)  # type: ignore[attr-defined]

    if site.door and not page.context.cookies(site.address):
        page.goto(site.door)
    page.on("response", note)
    page.goto(site.address + visit.address.format(**site.filled))
    page.wait_for_function(AT_REST)
    visit.does(page, site.address)
    page.wait_for_function(AT_REST)
    page.remove_listener("response", note)
    return answers[-1]


def open_folded(page: Page) -> None:
    """Open every folded part."""
    page.evaluate("() => document.querySelectorAll('details').forEach((part) => { part.open = true; })")
