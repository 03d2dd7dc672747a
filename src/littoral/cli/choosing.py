"""Options that several commands share: which logbook, which trial."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

LogbookFolder = Annotated[Path, typer.Argument(help="The logbook's folder.", metavar="LOGBOOK")]
OwnOrFolder = Annotated[
    Path | None,
    typer.Argument(
        help="The logbook's folder; your own in this computer's data folder unless given.", metavar="LOGBOOK"
    ),
]
TrialKey = Annotated[
    str | None, typer.Option("--trial", help="The trial's key; needed only where the logbook holds several.")
]
AsJson = Annotated[bool, typer.Option("--json", help="Print the result as JSON.")]
