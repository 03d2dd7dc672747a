"""The command that shows and changes the language and units a logbook speaks in."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated

import typer

from littoral.cli.choosing import AsJson, LogbookFolder
from littoral.cli.saying import print_json, refusals, say
from littoral.errors import Fault, FaultsError


def settings(
    logbook: LogbookFolder,
    change: Annotated[
        list[str] | None,
        typer.Option("--set", help="What to change, such as language=de or volume=gal.", metavar="NAME=VALUE"),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Show the language and units a logbook speaks in, or change them; LITTORAL_LANGUAGE holds for one command."""
    from littoral.acts.choose_manner import choices_of, choose_manner, manner_of

    with refusals():
        said = dict(_parts(one) for one in change or ())
        chosen = choose_manner(logbook, said) if said else manner_of(logbook)
    if as_json:
        print_json(asdict(chosen))
        return
    for name, value in asdict(chosen).items():
        say(f"{name} = {value}  ({', '.join(choices_of(name))})")


def _parts(text: str) -> tuple[str, str]:
    name, sign, value = text.partition("=")
    if not sign:
        raise FaultsError([Fault(f'"{text[:40]}" has no "=".', "Write it like language=de.", "--set")])
    return name.strip().replace("-", "_"), value.strip()
