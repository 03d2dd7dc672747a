"""Commands at the bench: mix a bottle, build water."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from littoral.cli.choosing import AsJson
from littoral.cli.lines import wrapped
from littoral.cli.mixing_words import say_mixed, say_water
from littoral.cli.overrides import keep_override
from littoral.cli.plain_values import plain_value
from littoral.cli.saying import REFUSED, aside, print_json, refusals, say
from littoral.cli.written import pairs, refuse
from littoral.cli.written_labels import own_labels

if TYPE_CHECKING:
    from littoral.acts.mix_and_feed.figures import Stop

NONE: list[str] = []
Why = Annotated[bool, typer.Option("--why", help="Derive every number, line by line.")]
Anyway = Annotated[
    str, typer.Option(metavar="REASON", help="Go on although a dose passes a published limit; the reason is kept.")
]
From = Annotated[
    Path | None, typer.Option("--from", help="A trial file, or a logbook's folder, to begin from.", metavar="PATH")
]
Trial = Annotated[str | None, typer.Option("--trial", help="The trial's key, where the logbook holds several.")]
Csv = Annotated[Path | None, typer.Option("--csv", help="Write the list for a spreadsheet.", metavar="FILE")]
Pdf = Annotated[Path | None, typer.Option("--pdf", help="Write it to print.", metavar="FILE")]

MIX_OPTIONS = {
    "salts": "--salt",
    "tank_ph": "--ph",
    "net_volume": "--tank",
    "scale_step": "--scale",
    "page_url": "--url",
}
WATER_OPTIONS = {
    "levels": "--level",
    "target_gh": "--gh",
    "target_kh": "--kh",
    "target_ratio": "--ratio",
    "shelf": "--salt",
}
REPORT = ("level", "hardness", "alkalinity", "ph", "conductivity")


def mix(
    salt: Annotated[list[str], typer.Option(help='What is weighed in, "KNO3=33 g"; only "KNO3" with a target.')] = NONE,
    target: Annotated[list[str], typer.Option(help='What one dose shall add, "nitrate=5 mg/L".')] = NONE,
    recipe: Annotated[str, typer.Option(help="A published recipe by its name, instead.")] = "",
    times: Annotated[str, typer.Option(help="How many times as strong as the recipe.")] = "100",
    only: Annotated[list[str], typer.Option(help="Of the recipe, only this salt (again for more).")] = NONE,
    purity: Annotated[
        list[str], typer.Option(help='What a jar is of its salt, "KNO3=98 %"; pure unless given.')
    ] = NONE,
    own: Annotated[list[str], typer.Option(help='A substance of your own, "name=formula".')] = NONE,
    own_label: Annotated[
        list[str], typer.Option("--own-label", help='The same by its label, "bag=13-0-46 + NO3-N 13 %".')
    ] = NONE,
    counting: Annotated[
        str, typer.Option(help='How the three numbers of --own-label count: "oxides", "elements" or "not clear".')
    ] = "oxides",
    name: Annotated[str | None, typer.Option(help="What the bottle is called.")] = None,
    made_up_to: Annotated[str | None, typer.Option(help="Final volume; 500 mL unless given.")] = None,
    scale: Annotated[str | None, typer.Option(help="Smallest step of the scale; 0.01 g unless given.")] = None,
    dose: Annotated[str | None, typer.Option(help="One dose; 2.2 mL unless given.")] = None,
    tank: Annotated[str | None, typer.Option(help="Net volume of the tank; 42 L unless given.")] = None,
    in_water: Annotated[list[str], typer.Option(help='Level before the dose, "nitrate=12 mg/L".')] = NONE,
    coldest: Annotated[str | None, typer.Option(help="Coldest it will stand; 10 °C unless given.")] = None,
    ph: Annotated[str | None, typer.Option("--ph", help="The tank's pH; 7.2 unless given.")] = None,
    hardness: Annotated[str | None, typer.Option(help="The tank's hardness; 10 dGH unless given.")] = None,
    temperature: Annotated[str | None, typer.Option(help="The tank's temperature; 24 °C unless given.")] = None,
    made_on: Annotated[str | None, typer.Option(help="The day, YYYY-MM-DD; today unless given.")] = None,
    url: Annotated[str | None, typer.Option(help="Address of the bottle's page, for the code on its label.")] = None,
    anyway: Anyway = "",
    from_: From = None,
    trial: Trial = None,
    bottle: Annotated[str | None, typer.Option(help="With --from: which of its bottles.")] = None,
    show_why: Why = False,
    as_json: AsJson = False,
    pdf: Pdf = None,
    size: Annotated[str, typer.Option(help="Size of the label: small, medium or large.")] = "medium",
    csv: Csv = None,
) -> None:
    """Mix a bottle: what to weigh out, what a dose adds in this tank, whether it dissolves and keeps; and its label."""
    from littoral.acts.mix_and_feed.exports import bottle_csv, bottle_label_pdf
    from littoral.acts.mix_and_feed.figures import Refused
    from littoral.acts.mix_and_feed.mix_bottle import mix_bottle
    from littoral.acts.mix_and_feed.mix_form import MixForm, OwnForm

    with refusals():
        form = MixForm() if from_ is None else _bottle_of(from_, trial, bottle)
        how = "recipe" if recipe else "target" if target else "salts"
        given: dict[str, Any] = {
            "name": name,
            "made_up_to": made_up_to,
            "scale_step": scale,
            "dose": dose,
            "net_volume": tank,
            "coldest": coldest,
            "tank_ph": ph,
            "hardness": hardness,
            "temperature": temperature,
            "made_on": made_on,
            "page_url": url,
        }
        changed = {field: value for field, value in given.items() if value is not None}
        if salt:
            changed["salts"] = pairs("--salt", salt, example="KNO3=33 g", amount_needed=how == "salts")
        if (recipe or salt) and name is None:
            changed["name"] = recipe or "stock solution"
        form = replace(
            form,
            how=how,
            target=pairs("--target", target, example="nitrate=5 mg/L"),
            recipe=recipe,
            times=times,
            only=tuple(only),
            purity=pairs("--purity", purity, example="KNO3=98 %"),
            own=(
                *(OwnForm(called, formula) for called, formula in pairs("--own", own, example="my iron=FeSO4·7H2O")),
                *own_labels(own_label, counting),
            ),
            in_water=pairs("--in-water", in_water, example="nitrate=12 mg/L"),
            anyway=anyway,
            **changed,
        )
        mixed = mix_bottle(form)
        if isinstance(mixed, Refused):
            refuse(mixed, {**MIX_OPTIONS, "own": _own_option(own, own_label)})
            return
        if as_json:
            print_json(plain_value(mixed))
        else:
            say_mixed(mixed, show_why=show_why)
        stop_if(mixed.stop)
        keep_override(mixed.stop, from_, trial, act="mix", of=bottle)
        if pdf is not None:
            write(pdf, bottle_label_pdf(mixed, size), quiet=as_json)
        if csv is not None:
            write(csv, bottle_csv(mixed).encode("utf-8-sig"), quiet=as_json)


def water(
    level: Annotated[list[str], typer.Option(help='A level of the report, as the ion: "nitrate=12 mg/L".')] = NONE,
    hardness: Annotated[str, typer.Option(help='Hardness, "10 dGH".')] = "",
    alkalinity: Annotated[str, typer.Option(help='Alkalinity (KH), "7 dKH".')] = "",
    ph: Annotated[str, typer.Option("--ph", help="pH, as a number.")] = "",
    ph_error: Annotated[str, typer.Option("--ph-error", help="How far the pH reading may be off.")] = "0.1",
    temperature: Annotated[str, typer.Option(help="Temperature.")] = "24 °C",
    conductivity: Annotated[str, typer.Option(help="Conductivity in µS/cm.")] = "",
    altitude: Annotated[str, typer.Option(help="Altitude, for oxygen.")] = "0 m",
    gh: Annotated[str | None, typer.Option("--gh", help='Hardness to build, "6 dGH"; "" builds nothing.')] = None,
    kh: Annotated[str | None, typer.Option("--kh", help='Alkalinity to build, "3 dKH"; "" takes what comes.')] = None,
    ratio: Annotated[str | None, typer.Option(help="mg of calcium to one of magnesium; 3 unless given.")] = None,
    volume: Annotated[str | None, typer.Option(help="How much to build; 20 L unless given.")] = None,
    start_from: Annotated[str, typer.Option(help='"pure water", "this water" or "mixture".')] = "pure water",
    share: Annotated[str, typer.Option(help="Share of this water in the mixture; the most unless given.")] = "",
    salt: Annotated[list[str], typer.Option(help='A salt to build with and its step: "CaSO4·2H2O=0.1 g".')] = NONE,
    purity: Annotated[
        list[str], typer.Option(help='What a jar is of its salt, "KHCO3=98 %"; pure unless given.')
    ] = NONE,
    from_: From = None,
    trial: Trial = None,
    show_why: Why = False,
    as_json: AsJson = False,
    csv: Csv = None,
) -> None:
    """Build water: a report in every unit, CO2, ammonia and oxygen; and the salts that bring water to a target."""
    from littoral.acts.mix_and_feed.build_water import build_water
    from littoral.acts.mix_and_feed.exports import weigh_out_csv
    from littoral.acts.mix_and_feed.figures import Refused
    from littoral.acts.mix_and_feed.water_form import WaterForm

    with refusals():
        form = WaterForm() if from_ is None else forms_from(from_, trial).water
        report = {"hardness": hardness, "alkalinity": alkalinity, "ph": ph, "conductivity": conductivity}
        if level or any(report.values()):
            # a report of one's own is not mixed with the example's
            form = replace(form, levels=pairs("--level", level, example="nitrate=12 mg/L"), **report)
        given = {"target_gh": gh, "target_kh": kh, "target_ratio": ratio, "volume": volume}
        changed: dict[str, Any] = {field: value for field, value in given.items() if value is not None}
        if salt:
            changed["shelf"] = pairs("--salt", salt, example="CaSO4·2H2O=0.1 g", amount_needed=False)
        form = replace(
            form,
            ph_error=ph_error,
            temperature=temperature,
            altitude=altitude,
            start_from=start_from,
            share=share,
            purity=pairs("--purity", purity, example="KHCO3=98 %"),
            **changed,
        )
        built = build_water(form)
        if isinstance(built, Refused):
            refuse(built, WATER_OPTIONS)
            return
        if as_json:
            print_json(plain_value(built))
        else:
            say_water(built, show_why=show_why)
        if csv is not None and built.built is not None:
            write(csv, weigh_out_csv(built.built.weigh_out).encode("utf-8-sig"), quiet=as_json)


def _own_option(own: list[str], own_label: list[str]) -> str:
    """The option that a substance of one's own was given by."""
    return "--own or --own-label" if own and own_label else "--own-label" if own_label else "--own"


def forms_from(path: Path, trial: str | None) -> Any:
    """Return the forms filled from a trial file or a logbook's folder."""
    from littoral.acts.mix_and_feed.from_trial import from_file, from_trial

    return from_trial(path, trial) if path.is_dir() else from_file(path)


def stop_if(stop: Stop | None) -> None:
    """Say that a dose passes a published limit; exit with REFUSED where no reason was given."""
    if stop is None:
        return
    aside(wrapped(stop.words, indent=""))
    if stop.stands:
        aside(
            'Stopped. To go on all the same: --anyway "your reason". It is printed with the result, and noted in the '
            "logbook where --from names one."
        )
        raise typer.Exit(REFUSED)


def write(path: Path, data: bytes, *, quiet: bool) -> None:
    """Write a file whole, and say so."""
    from littoral.logbook.whole_files import write_whole

    write_whole(path, data)
    (aside if quiet else say)(f"wrote {path}")


def _bottle_of(path: Path, trial: str | None, key: str | None) -> Any:
    from littoral.errors import Fault, FaultsError

    forms = forms_from(path, trial).mix
    if key is None and len(forms) == 1:
        return next(iter(forms.values()))
    if key not in forms:
        known = f"Mixed bottles there: {', '.join(forms) or 'none'}."
        raise FaultsError([Fault("does not say which bottle." if key is None else "is none.", known, "--bottle")])
    return forms[key]
