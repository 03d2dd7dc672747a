"""Gathering every sentence there is to translate, from the source, and compiling what was translated: `make words`.

Only `make words` and the tests come here: it needs the source tree and writes into it.
"""

from __future__ import annotations

import ast
import sys
import tomllib
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po
from jinja2.ext import babel_extract

from littoral.speech.manner import LANGUAGES
from littoral.speech.say import forms_of

PACKAGE = Path(__file__).parents[1]
CATALOGUES = Path(__file__).parent / "catalogues"
TEMPLATE = "littoral.pot"
SPOKEN = ("_", "gettext", "say", "later", "translated")
COUNTED = ("ngettext", "say_n", "translated_n")
JINJA = {"trimmed": "true", "newstyle_gettext": "true", "trim_blocks": "true", "lstrip_blocks": "true", "silent": "no"}
TEXTS_OF_TABLES = {"findings/rules.toml": ("text", "more", "less", "pairs", "seen", "before", "blocks", "tested")}
"""The tables of TOML files whose texts are said to people as they stand."""

Message = str | tuple[str, str]


def messages() -> Iterator[tuple[Message, str, int]]:
    """Yield each message of the source, or its two forms, with its file (within the package) and line."""
    for path in sorted(PACKAGE.rglob("*.py")):
        source = path.read_text(encoding="utf-8")
        if "littoral.speech" in source and path.parent != Path(__file__).parent:
            yield from _calls(path, list(_calls_in(source)))
    for path in sorted(PACKAGE.rglob("templates/**/*.html")):
        yield from _calls(
            path, [found[:3] for found in babel_extract(BytesIO(path.read_bytes()), _keywords(), (), JINJA)]
        )
    for name, tables in TEXTS_OF_TABLES.items():
        written = tomllib.loads((PACKAGE / name).read_text(encoding="utf-8"))
        for table in tables:
            for text in written[table].values():
                yield text, name, 1


def _calls_in(source: str) -> Iterator[tuple[int, str, list[str | None]]]:
    """Yield line, function and literal texts of each call in Python source that may say something."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in _keywords():
            given = [a.value if isinstance(a, ast.Constant) and isinstance(a.value, str) else None for a in node.args]
            yield node.lineno, node.func.id, given


def _keywords() -> tuple[str, ...]:
    return (*SPOKEN, *COUNTED, "counted")


def _calls(path: Path, found: list[Any]) -> Iterator[tuple[Message, str, int]]:
    where = path.relative_to(PACKAGE).as_posix()
    for line, function, given in found:
        texts = [given] if isinstance(given, str) or given is None else list(given)
        if function == "counted":
            if len(texts) > 1 and texts[1]:
                yield forms_of(texts[1]), where, line
        elif function in COUNTED:
            if len(texts) > 1 and texts[0] and texts[1]:
                yield (texts[0], texts[1]), where, line
        elif texts and texts[0]:
            yield texts[0], where, line


def gathered() -> Catalog:
    """Return the catalogue of all messages, in English alone, with the files that say them."""
    catalogue = Catalog(project="Littoral", copyright_holder="The Littoral developers", charset="utf-8")
    for message, where, _ in messages():
        catalogue.add(message, locations=[(where, 0)])
    for one in catalogue:
        one.flags.discard("python-format")  # placeholders are compared by our own test, for braces too
        one.flags.discard("python-brace-format")
        one.locations = list(dict.fromkeys(one.locations))
    return catalogue


def translations(language: str) -> Catalog:
    """Return what stands in a language's .po file."""
    with (CATALOGUES / f"{language}.po").open("rb") as file:
        return read_po(file, locale=language, domain="littoral")


def compiled(catalogue: Catalog) -> bytes:
    """Return a catalogue as a .mo file."""
    written = BytesIO()
    write_mo(written, catalogue)
    return written.getvalue()


def renew(language: str, template: Catalog) -> int:
    """Bring a language's .po up to the messages there are, compile it, and return how many lack a translation."""
    path = CATALOGUES / f"{language}.po"
    catalogue = translations(language) if path.exists() else Catalog(locale=language, domain="littoral")
    catalogue.update(template, no_fuzzy_matching=True)
    catalogue.obsolete.clear()
    catalogue.fuzzy = False
    with path.open("wb") as file:
        write_po(file, catalogue, width=120, omit_header=False, include_lineno=False, sort_output=True)
    path.with_suffix(".mo").write_bytes(compiled(translations(language)))
    return sum(not all(texts_of(one.string)) for one in translations(language) if one.id)


def texts_of(string: Any) -> tuple[str, ...]:
    """Return the one or several texts of a message or a translation."""
    return (string,) if isinstance(string, str) else tuple(string)


def main() -> int:
    """Write the template and every language; say what lacks."""
    CATALOGUES.mkdir(exist_ok=True)
    template = gathered()
    template.creation_date = template.revision_date = _never()
    with (CATALOGUES / TEMPLATE).open("wb") as file:
        write_po(file, template, width=120, include_lineno=False, sort_output=True)
    missing = {language: renew(language, template) for language in LANGUAGES if language != "en"}
    print(f"{len(template)} messages")
    for language, many in missing.items():
        print(f"{language}: {many} without a translation")
    return 1 if any(missing.values()) else 0


def _never() -> Any:
    from datetime import UTC, datetime

    return datetime(2026, 1, 1, tzinfo=UTC)  # a date of making would change the file each time


if __name__ == "__main__":
    sys.exit(main())
