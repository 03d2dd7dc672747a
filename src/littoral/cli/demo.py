"""The demo: the whole job once, on the invented trial with rendered photos."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path
from typing import Annotated

import typer

from littoral.cli.choosing import AsJson
from littoral.cli.saying import print_json, progress_bar, refusals, say


def demo(
    out: Annotated[Path, typer.Option(help="Where to; the folder is made.", metavar="DIR")] = Path("littoral-demo"),
    seed: Annotated[int, typer.Option(help="Another seed draws other plants and another phone.")] = 1,
    as_json: AsJson = False,
) -> None:
    """Render the demo trial and do the whole job on it: import, measure, answer, publish."""
    from littoral.acts.answer_questions import answer_questions
    from littoral.acts.clear_demo import clear_demo
    from littoral.acts.import_trial import import_trial
    from littoral.acts.publish_results import publish_results
    from littoral.cli.tables import findings_table
    from littoral.errors import extras_needed

    book, results = out / "logbook", out / "results"
    with refusals(), progress_bar(quiet=as_json) as progress:
        with extras_needed():
            from littoral.demo.scenario import write_demo
        clear_demo(book)
        trial_file = write_demo(out, seed=seed, progress=progress)
        import_trial(book, trial_file, progress=progress)
        answered = answer_questions(book, None, progress=progress)
        written = publish_results(book, None, results, progress=progress)
    if as_json:
        print_json({"files": {name: str(path) for name, path in written.items()}, "logbook": str(book)})
        return
    say(findings_table(answered.trial, answered.findings))
    say()
    for name, path in written.items():
        say(f"{name:<10} {path}")
    say(f"{'page':<10} {_command()} open {book}")


def _command() -> str:
    """Return how this very command was called, so that the line that is printed can be run as it stands."""
    called = Path(sys.argv[0])
    return "littoral" if shutil.which("littoral") else f"{sys.executable} -m littoral" if called.suffix else str(called)
