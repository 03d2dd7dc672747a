"""What the phone tests do alike: open a page, keep it for offline, write a note, wait until it is sent."""

from __future__ import annotations

import pytest

pytest.importorskip("playwright", reason="Playwright is not installed; it is in the development requirements")
from playwright.sync_api import BrowserContext, Page

KEY = "sparing-or-full"


READY = "html[data-phone=ready]"


NOTE = f"/entry/note?trial={KEY}&tank=left"


CARE = f"/entry/care?trial={KEY}&tank=left"


CAMERA = f"/camera?trial={KEY}&tank=left"


def visit(context: BrowserContext, address: str) -> Page:
    page = context.new_page()
    page.goto(address)
    page.wait_for_selector(READY)
    return page


def keep_for_offline(page: Page) -> None:
    """Wait until the worker keeps Today and the forms of the left tank that are used here."""
    page.evaluate(
        """async (wanted) => {
          await navigator.serviceWorker.ready;
          const kept = async (address) => (await caches.open('littoral-pages')).match(new URL(address, location.href));
          while (!(await Promise.all(wanted.map(kept))).every(Boolean)) {
            await new Promise((done) => { setTimeout(done, 100); });
          }
        }""",
        ["/today", NOTE, CARE, NOTE.replace("left", "right"), CAMERA],
    )


def until_sent(page: Page) -> None:
    page.wait_for_selector("#kept[hidden]", state="attached")


def send_now(*pages: Page) -> None:
    """Press "Send now" in every page, without waiting for what comes of it."""
    for page in pages:
        page.evaluate(
            "() => { for (const one of document.querySelectorAll('#kept > button')) setTimeout(() => one.click()); }"
        )


def until_kept(page: Page, count: int) -> None:
    page.wait_for_function("(count) => document.querySelectorAll('#kept li').length === count", arg=count)


def note(page: Page, text: str) -> None:
    """Write a note in the form that is open, and send it."""
    page.locator("textarea").fill(text)
    page.locator("form.entry .send button").click()


def take_photo(page: Page) -> None:
    page.wait_for_selector("#camera[data-state=live]")
    page.locator("[data-part=shutter]").click()
    page.locator("[data-part=keep]").click()
    page.wait_for_selector("#camera[data-state=done]")


def kept_forms(context: BrowserContext, computer) -> Page:
    """Look at Today once with a connection, so that its pages are on the phone."""
    page = visit(context, f"{computer.address}/today")
    keep_for_offline(page)
    return page
