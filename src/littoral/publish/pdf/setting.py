"""Setting a document by typst: our template, somebody's data, the same bytes each time.

What a person wrote goes in as data and is set as it stands; nothing of it is read as typst.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from importlib import resources
from typing import Any

from littoral.errors import LittoralError, extras_needed

FULL = "does not fit"  # what a template says when it gives up


class NotSetError(LittoralError):
    """A document does not fit its paper; `what` is the document, `right` what would do."""

    def __init__(self, *, what: str, right: str) -> None:
        self.what = what
        self.right = right
        super().__init__(f"print: {what}. {right}")


@extras_needed()
def set_pdf(template: str, data: Mapping[str, Any], *, what: str, right: str, pictures: tuple[str, ...] = ()) -> bytes:
    """Return a PDF of a template of this folder with its data, which must be fit for JSON.

    `pictures` are SVG texts, which the template finds by their number. System fonts are not used and no date is
    written, so the same data give the same bytes. Raises NotSetError where it does not fit (`what`, `right` are its
    words), MissingExtraError without typst.
    """
    import typst

    source = resources.files("littoral.publish.pdf").joinpath(template).read_text(encoding="utf-8")
    inputs = {"data": json.dumps(data, ensure_ascii=False)} | {f"picture{i}": svg for i, svg in enumerate(pictures)}
    try:
        return bytes(
            typst.compile(source.encode(), format="pdf", ignore_system_fonts=True, sys_inputs=inputs, timestamp=0)
        )
    except typst.TypstError as error:
        if FULL in str(error):
            raise NotSetError(what=what, right=right) from None
        raise
