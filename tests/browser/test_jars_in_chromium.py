"""A jar's purity in real Chromium: asked for by a button, typed, and the weigh-out follows; at a phone's width, too."""

from __future__ import annotations

from urllib.parse import urlencode

import pytest

pytest.importorskip("playwright", reason="Playwright is not installed; it is in the development requirements")
from playwright.sync_api import expect

pytestmark = pytest.mark.browser
AWAKE = "#sheet[data-awake]"
MAGNESIUM = {"how": "target", "target.1.is": "1 mg/L", "target.1.of": "magnesium", "salts.1.of": "MgSO4·7H2O",
             "without": "salts.2,salts.3"}  # fmt: skip


@pytest.mark.parametrize("width", [1440, 390])
def test_a_jars_purity_is_typed_and_the_weigh_out_grows(demo_site, width, visit):
    page = visit(f"{demo_site}/mix?{urlencode(MAGNESIUM)}", ready=AWAKE, width=width)
    weigh = page.locator("[data-figure='weigh.MgSO4·7H2O']")
    other = page.locator("[data-figure='other.MgSO4·7H2O.MgSO4 anhydrous']")
    expect(weigh).to_have_text("96.8 g")
    expect(other).to_have_text("47.27 g")
    page.get_by_role("button", name="a jar’s purity").click()
    page.get_by_label("purity of a jar, amount 1").fill("98")
    page.get_by_label("purity of a jar 1", exact=True).fill("MgSO4·7H2O")
    expect(weigh).to_have_text("98.77 g")
    expect(other).to_have_text("47.27 g")  # of another jar, which counts as pure
    why = page.locator("details[data-why='other.MgSO4·7H2O.MgSO4 anhydrous']")
    why.locator("summary").click()
    expect(why).to_contain_text("× 0.98 (purity)")
    assert page.evaluate("() => document.documentElement.scrollWidth") <= width
