"""The directive `drawn`: a picture that the build made, for light and dark; a line of words where it was left out."""

from __future__ import annotations

import json
from pathlib import Path

from docutils import nodes
from docutils.parsers.rst import Directive
from sphinx.application import Sphinx
from sphinx.util.docutils import SphinxDirective


class Drawn(SphinxDirective):
    """`{drawn} NAME`: pictures/made/NAME-light.* and -dark.*, with the words of NAME.json; its content is a caption."""

    required_arguments = 1
    has_content = True

    def run(self) -> list[nodes.Node]:
        """Return the figure, or the words that stand in for it."""
        name = self.arguments[0]
        made = Path(self.env.srcdir) / "pictures" / "made"
        words = made / f"{name}.json"
        if not words.exists():
            return [nodes.paragraph("", f"The picture “{name}” was left out of this build.", classes=["left-out"])]
        told = json.loads(words.read_text("utf-8"))
        figure = nodes.figure(classes=["drawn", "narrow"] if told["narrow"] else ["drawn"])
        for theme in ("light", "dark"):
            uri = f"/pictures/made/{name}-{theme}.{told['kind']}"
            figure += nodes.image(uri=uri, alt=told["alt"], classes=[f"only-{theme}", "drawn"])
        if self.content:
            caption = nodes.caption()
            inner = nodes.Element()
            self.state.nested_parse(self.content, self.content_offset, inner)
            for block in inner.children:
                caption.extend(block.children)
            figure += caption
        elif told["caption"]:
            figure += nodes.caption("", told["caption"])
        return [figure]


def setup(app: Sphinx) -> dict[str, bool]:
    """Register the directive."""
    kind: type[Directive] = Drawn
    app.add_directive("drawn", kind)
    return {"parallel_read_safe": True}
