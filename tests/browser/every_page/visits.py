"""One visit to every page of the application, and to what a page shows when something is wrong, empty or opened.

A page that no visit reaches fails tests/browser/test_every_page.py: give it a line here.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

from playwright.sync_api import Page

Book = Literal["demo", "small", "empty"]
"""The demo with photos; a trial of today without any; a logbook that holds nothing."""
KEY = "sparing-or-full"
TRIAL = f"/trial/{KEY}"
NOT_PAGES = (".json", ".csv", ".pdf", ".jpg", ".png", ".ics", ".svg", ".toml", ".js", ".webmanifest", ".ico")
"""How the addresses of data, pictures and papers end."""
NO_PAGES = frozenset(
    {
        "/static/{name}",
        "/here",  # sets a cookie and leads on
        "/trial/{key}/published/{name}",  # a file; the sheet among them is looked at by itself
        "/trial/{key}/publish/{job}/{name}",
        "/api/photos",
        "/api/session",
        "/api/today",
        "/api/entries/{id}",
        "/api/trials/{key}/entries",
        "/api/trials/{key}/audit",
        "/api/trials/{key}/photos",
        "/api/trials/{key}/photos/{sha256}",
    }
)
LEADS_ON = frozenset(
    {
        "/entry/{id}/undo",
        "/devices/code",
        "/devices/revoke",
        "/trial/{key}/publish/{job}/{act:str}",
        "/settings",
        "/trial/{key}/levels/priors",
        "/trial/{key}/photos/{id}/strokes",
        "/api/entries",
        "/api/entries/{id}/corrections",
        "/api/entries/{id}/undo",
        "/api/photos",
        "/api/photos/decisions",
        "/api/trials/{key}/photos",
    }
)
"""What is sent there is answered by data or by leading on to a page that has a visit."""


def _nothing(page: Page, at: str) -> None:
    """Leave the page as it opens."""


@dataclass(frozen=True, slots=True)
class Visit:
    """A page by a short name: its route as the application writes it, an address, and what is done there.

    `sent` is the route a form is sent to by `does`. `like` is one that is `like` another visit: it is left to the slow
    proof. {photo}, {dose} and {view} in the address are filled from the book.
    """

    name: str
    route: str
    path: str = ""
    book: Book = "demo"
    does: Callable[[Page, str], None] = _nothing
    sent: str = ""
    status: int = 200
    like: bool = False

    @property
    def address(self) -> str:
        """The address to open: `path`, else the route itself with the demo's trial."""
        return self.path or self.route.replace("{key}", KEY)


def send(page: Page, form: str, **values: str) -> None:
    """Fill a form as given and send it past what the browser itself would refuse."""
    with page.expect_navigation():
        page.evaluate(
            """([form, values]) => {
              const found = document.querySelector(form);
              for (const [name, value] of Object.entries(values)) {
                const there = [...found.elements].find((one) => one.name === name && one.type !== "submit");
                const field = there ?? found.appendChild(document.createElement("input"));
                if (!there) Object.assign(field, { type: "hidden", name });
                field.value = value;
              }
              found.submit();
            }""",
            [form, values],
        )


def sends(form: str, **values: str) -> Callable[[Page, str], None]:
    """Return what fills and sends a form."""
    return lambda page, _at: send(page, form, **values)


def sends_file(form: str, field: str, *files: tuple[str, str], **values: str) -> Callable[[Page, str], None]:
    """Return what sends a form with files, each (name, text)."""

    def does(page: Page, _at: str) -> None:
        made: list[Any] = [{"name": name, "mimeType": "", "buffer": text.encode()} for name, text in files]
        page.set_input_files(f"{form} [name={field}]", made)
        send(page, form, **values)

    return does


def _both_changed(page: Page, at: str) -> None:
    """Correct an entry in two windows: the second is shown both versions."""
    other = page.context.new_page()
    other.goto(page.url)
    send(other, "main form", note="two leaves", what="", amount="")
    other.close()
    send(page, "main form", note="three leaves")


TABLE = "date;tank;temp (C);note;mood\n2026-03-03;left;24;warm;3\n2026-03-04;left;cold;;4\n"
_FINDINGS = '{"not": "findings"}'

VISITS = (
    Visit("home", "/"),
    Visit("home-empty", "/", "/", "empty"),
    Visit("first", "/start"),
    Visit("first-empty", "/start", "/start", "empty"),
    Visit("first-wrong", "/start", "/start", "empty", does=sends("main form", tanks="", glass="wide", dose="a bit"),
          sent="/start", status=422),
    Visit("again", "/trial/{key}/again"),
    Visit("again-wrong", "/trial/{key}/again", TRIAL + "/again", does=sends("main form", start="some day"),
          sent="/trial/{key}/again", status=422),
    Visit("start", "/new"),
    Visit("start-wrong", "/new", "/new", does=sends("main form", title="", start="some day"), sent="/new", status=422),
    Visit("trial", "/trial/{key}"),
    Visit("trial-original", "/trial/{key}", f"{TRIAL}?day=20&look=original", like=True),
    Visit("trial-without-photos", "/trial/{key}", TRIAL, "small"),
    Visit("design", "/trial/{key}/design"),
    Visit("trial-file", "/trial/{key}/file"),
    Visit("publish", "/trial/{key}/publish"),
    Visit("publish-wrong", "/trial/{key}/publish", TRIAL + "/publish",
          does=sends("#film form", seconds="a while"), sent="/trial/{key}/publish", status=422),
    Visit("publish-without-photos", "/trial/{key}/publish", TRIAL + "/publish", "small", like=True),
    Visit("levels", "/trial/{key}/levels"),
    Visit("draw-view", "/trial/{key}/views/{view}", TRIAL + "/views/{view}"),
    Visit("history", "/history"),
    Visit("history-empty", "/history", "/history", "empty", like=True),
    Visit("decide", "/trial/{key}/decide"),
    Visit("pool", "/pool"),
    Visit("pool-wrong", "/pool", "/pool", does=sends_file(".bench", "files", ("a.json", _FINDINGS)), sent="/pool",
          status=422),
    Visit("growth-test", "/growth-test"),
    Visit("growth-test-answer", "/growth-test", "/growth-test?example", does=sends(".bench"), sent="/growth-test"),
    Visit("growth-test-wrong", "/growth-test", "/growth-test", does=sends(".bench", table="a,b\n1,2"),
          sent="/growth-test", status=422),
    Visit("mix", "/mix"),
    Visit("mix-of-trial", "/mix", f"/mix?trial={KEY}", like=True),
    Visit("water", "/water"),
    Visit("water-of-trial", "/water", f"/water?trial={KEY}", like=True),
    Visit("week", "/week"),
    Visit("week-of-trial", "/week", f"/week?trial={KEY}"),
    Visit("costs", "/costs"),
    Visit("costs-of-trial", "/costs", f"/costs?trial={KEY}", like=True),
    Visit("today", "/today"),
    Visit("today-due", "/today", "/today", "small"),
    Visit("today-wrong", "/today", "/today", "small", does=sends(".amount-of", amount="a bit"), sent="/today",
          status=422),
    Visit("today-empty", "/today", "/today", "empty"),
    *(Visit(f"entry-{kind}", "/entry/{kind}", f"/entry/{kind}?trial={KEY}&tank=left",
            like=kind not in ("score", "dose"))
      for kind in ("dose", "trim", "reading", "gauge", "score", "note")),
    Visit("entry-wrong", "/entry/{kind}", f"/entry/dose?trial={KEY}&tank=left",
          does=sends("main form.entry, main form[action^='/entry']", amount="a lot", when="some day"),
          sent="/entry/{kind}", status=422),
    Visit("entry-empty", "/entry/{kind}", "/entry/note", "empty"),
    Visit("entries", "/trial/{key}/entries", TRIAL + "/entries", "small"),
    Visit("entries-demo", "/trial/{key}/entries", like=True),
    Visit("correct", "/entry/{id}/correct", "/entry/{dose}/correct", "small"),
    Visit("correct-wrong", "/entry/{id}/correct", "/entry/{dose}/correct", "small",
          does=sends("main form", when="some day", amount="a lot"), sent="/entry/{id}/correct", status=422),
    Visit("correct-both", "/entry/{id}/correct", "/entry/{note}/correct", "small", does=_both_changed,
          sent="/entry/{id}/correct", status=409),
    Visit("audit", "/trial/{key}/audit"),
    Visit("devices", "/devices"),
    Visit("settings", "/settings"),
    Visit("devices-code", "/devices", "/devices", "small", does=sends(".make-code")),
    Visit("pair", "/pair", like=True),
    Visit("pair-wrong", "/pair", "/pair", does=sends("main form", code="no", name=""), sent="/pair", status=403),
    Visit("import", "/trial/{key}/import"),
    Visit("import-wrong", "/trial/{key}/import", TRIAL + "/import", does=sends_file("main form", "file", ("a.csv", "")),
          sent="/trial/{key}/import", status=422),
    Visit("import-look", "/trial/{key}/import/{held}", TRIAL + "/import",
          does=sends_file("main form", "file", ("past records.csv", TABLE)), like=True),
    Visit("import-faults", "/trial/{key}/import/{held}", TRIAL + "/import",
          does=lambda page, at: (sends_file("main form", "file", ("past records.csv", TABLE))(page, at),
                                 send(page, "main form", do="write"))[0],
          sent="/trial/{key}/import/{held}", status=422),
    Visit("offline", "/offline"),
    Visit("camera-choose", "/camera"),
    Visit("camera", "/camera", f"/camera?trial={KEY}&view={{view}}"),
    Visit("camera-empty", "/camera", "/camera", "empty", like=True),
    Visit("photos-add", "/trial/{key}/photos/add"),
    Visit("photos", "/trial/{key}/photos"),
    Visit("photos-none", "/trial/{key}/photos", TRIAL + "/photos", "small"),
    Visit("photo", "/trial/{key}/photos/{id}", TRIAL + "/photos/{photo}"),
    Visit("photo-wrong", "/trial/{key}/photos/{id}", TRIAL + "/photos/{photo}",
          does=sends("main form[method=post]", decision="set aside", reason=""), sent="/trial/{key}/photos/{id}",
          status=422),
    Visit("colour", "/trial/{key}/colour"),
    Visit("series", "/trial/{key}/series"),
    Visit("series-none", "/trial/{key}/series", TRIAL + "/series", "small", like=True),
    Visit("not-there", "/trial/{key}", "/trial/no-such-trial", status=404),
    Visit("no-address", "", "/no/such/address", status=404),
)  # fmt: skip
