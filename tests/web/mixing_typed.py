"""How the tests of mixing and feeding read a sheet and type into it."""

from __future__ import annotations

import html
import re

import pytest

from littoral.trial.written.starting import starting_text
from littoral.web.mixing.sheets import SHEETS

PATHS = tuple(sheet.path for sheet in SHEETS)


def fields_in(text: str) -> dict[str, str]:
    """Return what a browser would send of a page's form: every input and select with its text."""
    form = text[text.index('<form id="sheet"') : text.index("</form>")]
    found = {
        html.unescape(name): html.unescape(value)
        for name, value in re.findall(r'<input[^>]* name="([^"]*)"[^>]* value="([^"]*)"', form)
    }
    for name, options in re.findall(r'<select name="([^"]*)"[^>]*>(.*?)</select>', form):
        found[name] = html.unescape(re.search(r'value="([^"]*)" selected', options)[1])
    return found


@pytest.fixture
def typed(asking):
    """Open a sheet, type something over, and give the answer that the page gets."""

    def type_over(path: str, **changes: str):
        sent = {**fields_in(asking.get(path).text), **{n.replace("__", "."): t for n, t in changes.items()}}
        sent["token"] = asking.app.state.token
        answer = asking("POST", f"{path.partition('?')[0]}.json", data=sent, headers={"origin": asking.base})
        assert answer.status_code == 200, answer.text
        return answer.json()

    return type_over


def words(part: str) -> str:
    """Return a part's text as a person reads it, derivations left out."""
    closed = re.sub(r"<details.*?</details>", "", part, flags=re.DOTALL)
    plain = html.unescape(re.sub(r"<[^>]*>", "", closed))
    return " ".join(plain.replace("\u2060", "").split())


LAID_OUT = {
    "bottles__1__cylinder": "12.0 11.8 12.1 mL", "weekly__1__amount": "4 strokes", "weekly__1__of": "macro",
    "weekly__1__laid_out": "half after the water change", "doses__1__amount": "", "doses__1__of": "",
    "doses__1__on": "",
}  # fmt: skip


TRIAL = starting_text(title="A trial", start="2026-03-02", zone="Europe/Berlin", seed=1)
