"""No template holds words of its own: all that a person reads goes through the catalogue."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import littoral.web

TEMPLATES = Path(littoral.web.__file__).parent / "templates"
_JINJA = re.compile(r"\{#.*?#\}|\{%.*?%\}|\{\{.*?\}\}", re.DOTALL)
_NO_WORDS = re.compile(r"\{% (set data|macro address).*?\{% end(set|macro) %\}", re.DOTALL)  # attributes, an address
_SILENT = re.compile(r"<(script|style|svg|code|kbd)\b.*?</\1>", re.DOTALL)
_TAG = re.compile(r"<[^<>]*>", re.DOTALL)
_SHOWN = re.compile(r'\b(?:aria-label|alt|title|placeholder)="([^"]*)"')
_WORD = re.compile(r"[^\W\d_]{2,}")
SIGNS = {
    "mL",
    "cm",
    "px",
    "mg",
    "ΔE",
    "CO",
    "Littoral",
    "html",
    "doctype",
    "nbsp",
    "larr",
    "rarr",
    "amp",
    "min",
    "lsaquo",
    "rsaquo",
}
"""Units, names and entities that are the same in every language."""

_IN_ADDRESS = re.compile(r"(?:href|action|src)=\"[^\">]*\?[^>]*\|\s*(?:format|numerals)\b[^>]*>")


@pytest.mark.parametrize(
    "path", sorted(TEMPLATES.rglob("*.html")), ids=lambda path: path.relative_to(TEMPLATES).as_posix()
)
def test_all_visible_words_of_a_template_are_said(path: Path) -> None:
    bare = _SILENT.sub(" ", _JINJA.sub(" ", _NO_WORDS.sub(" ", path.read_text(encoding="utf-8"))))
    shown = [_TAG.sub(" ", bare), *_SHOWN.findall(bare)]
    left = [word for text in shown for word in _WORD.findall(text) if word not in SIGNS]
    assert not _IN_ADDRESS.search(path.read_text(encoding="utf-8")), "an address holds no number of a language"
    assert left == [], "say them: {{ _(“…”) }}, then `make words`"
