"""All that is made from the program for the documentation, by its path below `docs`. Nothing here needs Sphinx."""

from __future__ import annotations

from pathlib import Path

from docs.building import commands_page, interfaces_page, tables_page

from littoral.publish.findings_json import SCHEMA_FILE, schema_text

DOCS = Path(__file__).parents[1]


def made_pages() -> dict[str, str]:
    """Return the text of each made page and file, by its path."""
    files = {f"tables/{path}": text for path, text in tables_page.tables().items()}
    return {
        "reference/commands.md": commands_page.commands_page(),
        "reference/published-limits.md": tables_page.limits_page(),
        "reference/substances.md": tables_page.substances_page(),
        "reference/tables.md": tables_page.sources_page(),
        "reference/api.md": interfaces_page.api_page(),
        "reference/findings-schema.md": interfaces_page.findings_schema_page(),
        "tables/openapi.json": interfaces_page.openapi_text(),
        f"tables/{SCHEMA_FILE}": schema_text(),
        **files,
    }


def written_pages() -> dict[str, Path]:
    """Return each page that was written by hand, by its path below `docs`."""
    return {
        path.relative_to(DOCS).as_posix(): path
        for path in sorted(DOCS.rglob("*.md"))
        if "building" not in path.relative_to(DOCS).parts
    }
