"""Sphinx: Markdown pages, a plain theme whose scripts and styles come out of its package, our own colours."""

from __future__ import annotations

from littoral import __version__
from littoral.publish.look import DARK, LIGHT, Paper

project = "Littoral"
author = "The Littoral developers"
copyright = "The Littoral developers, Apache-2.0"
release = __version__
html_show_copyright = False
extensions = ["myst_parser", "docs.building.drawn"]
source_suffix = {".md": "markdown"}
exclude_patterns = ["building"]
myst_heading_anchors = 4
myst_enable_extensions = ["colon_fence", "deflist"]
suppress_warnings = ["misc.highlighting_failure"]
html_theme = "furo"
html_title = "Littoral"
html_static_path = ["style"]
html_css_files = ["docs.css"]
html_copy_source = False
html_show_sourcelink = False
html_show_sphinx = False
templates_path: list[str] = []
pygments_style = "a11y-high-contrast-light"
pygments_dark_style = "a11y-high-contrast-dark"
html_sidebars = {
    "**": ["sidebar/brand.html", "sidebar/search.html", "sidebar/scroll-start.html", "sidebar/navigation.html",
           "sidebar/scroll-end.html"],
}  # fmt: skip


def _colours(of: Paper, *, link: str, accent: str) -> dict[str, str]:
    """Return the theme's colours from those of everything published; `link` and `accent` are page.css's."""
    return {
        "color-foreground-primary": of.ink,
        "color-foreground-secondary": of.soft,
        "color-foreground-muted": of.soft,
        "color-foreground-border": of.line,
        "color-background-primary": of.paper,
        "color-background-secondary": of.shade,
        "color-background-hover": of.grid,
        "color-background-hover--transparent": f"{of.grid}00",
        "color-background-border": of.grid,
        "color-background-item": of.shade,
        "color-brand-primary": link,
        "color-brand-content": link,
        "color-brand-visited": link,
        "color-highlight-on-target": of.grid,
        "color-inline-code-background": of.shade,
        "color-accent": accent,
        "font-stack": '"Seravek", "Gill Sans Nova", Ubuntu, Calibri, "Liberation Sans", "Noto Sans", sans-serif',
        "font-stack--monospace": 'ui-monospace, "Liberation Mono", "DejaVu Sans Mono", monospace',
        "font-stack--headings": '"Iowan Old Style", Palatino, "URW Palladio L", P052, "Liberation Serif", serif',
    }


html_theme_options = {
    "light_css_variables": _colours(LIGHT, link="#14608f", accent="#aa6000"),
    "dark_css_variables": _colours(DARK, link="#8cc8f0", accent="#e2a040"),
    "top_of_page_buttons": [],
}
