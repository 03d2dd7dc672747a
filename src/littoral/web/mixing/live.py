"""The parts of a sheet that change while a person types: written once in the template, sent alone when asked for."""

from __future__ import annotations

from markupsafe import Markup

from littoral.web.speech.page_amounts import in_visitors_units


class Live:
    """Collects each part's HTML while its sheet is rendered, by the key that the page finds it by."""

    def __init__(self) -> None:
        self.parts: dict[str, str] = {}

    def keep(self, key: str, html: str) -> Markup:
        """Note a part and give it back, as safe as the template that has rendered it.

        KeyError where two parts have one key: the page would fill only one.
        """
        if key in self.parts:
            raise KeyError(f"two live parts are called {key!r}")
        text = str(html) if html.strip() else ""
        self.parts[key] = in_visitors_units(text)
        return Markup(text)
