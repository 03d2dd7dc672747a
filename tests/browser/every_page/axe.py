"""axe-core on a page: every rule of WCAG 2.0 to 2.2 (A and AA) and of its best practice.

axe-core comes with the development requirement axe-playwright-python, which carries it whole (licence MPL 2.0).
Source of the rules: Deque Systems, axe-core, "Rule Descriptions"; W3C, Web Content Accessibility Guidelines 2.2.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from importlib import resources
from typing import Any

from playwright.sync_api import Page

TAGS = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")
_RUN = """async ([tags, without]) => {
  const rules = Object.fromEntries(without.map((rule) => [rule, { enabled: false }]));
  const asked = { runOnly: { type: "tag", values: tags }, rules, resultTypes: ["violations"] };
  const { violations } = await axe.run(document, asked);
  const why = (node) => (node.any[0] ?? node.all[0] ?? node.none[0])?.message ?? "";
  const place = (node) => ({ at: node.target.join(" "), html: node.html.slice(0, 160), why: why(node) });
  return violations.map(({ id, help, nodes }) => ({ id, help, nodes: nodes.map(place) }));
}"""


@cache
def _source() -> str:
    return (resources.files("axe_playwright_python") / "axe.min.js").read_text(encoding="utf-8")


def violations(page: Page, *, without: Sequence[str] = ()) -> list[dict[str, Any]]:
    """Return what axe-core finds wrong (but for rules `without`): rule, what it asks, and the places with why."""
    page.evaluate(_source())
    found: list[dict[str, Any]] = page.evaluate(_RUN, [list(TAGS), list(without)])
    return found


def said(found: list[dict[str, Any]]) -> list[str]:
    """Return violations as lines to read, one for each place."""
    return [f"{one['id']}: {node['at']} ({node['why']}) {node['html']}" for one in found for node in one["nodes"]]
