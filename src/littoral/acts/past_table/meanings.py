"""What each column of a table means: proposed from its header, or chosen by a person."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from littoral.acts.past_table.grid import Grid, letters_of
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.trial.gauges import GAUGES
from littoral.trial.model import Trial
from littoral.trial.written.moments import looks_like_date

LEFT_OUT = ""
LONGEST_NAME = 120
"""Characters of a column's name that are looked at."""
PLAIN = {
    "date": "date",
    "time": "time of day",
    "moment": "date and time",
    "tank": "tank",
    "kind": "kind of entry",
    "what": "what (bottle, nutrient, …)",
    "amount": "amount",
    "note": "note",
    "who": "who did it",
    "water change": "water changed",
    "top-up": "water added",
    "care": "time of care",
}
"""Meanings that are the same in every trial, and how the page calls them."""

_WORDS = {
    "date": "date day datum fecha data tag",
    "time": "time clock hour uhrzeit zeit hora ora heure",
    "moment": "timestamp datetime date/time dateandtime logged loggedat recordedat zeitstempel unixtime epoch",
    "tank": "tank aquarium becken bac acuario vasca",
    "kind": "kind type event entry art",
    "what": "what item which bottle product",
    "amount": "amount quantity value dose menge cantidad",
    "note": "note notes remark remarks comment comments observation observations notiz bemerkung",
    "who": "who by person keeper observer",
    "water change": "waterchange change wc changed wasserwechsel",
    "top-up": "topup topoff evaporation addedwater",
    "care": "care minutes work effort",
    "temperature": "temperature temp watertemp watertemperature t temperatur température temperatura",
    "ph": "ph phvalue",
    "conductivity": "conductivity ec cond leitfähigkeit leitwert",
    "kh": "kh carbonatehardness alkalinity",
    "gh": "gh generalhardness totalhardness hardness",
    "par": "par ppfd",
    "co2 bubbles": "co2bubbles bubbles bubblerate bubblecount",
    "light": "light photoperiod lighthours lightson",
    "nitrate": "nitrate no3 nitrat",
    "nitrite": "nitrite no2 nitrit",
    "ammonium": "ammonium nh4",
    "phosphate": "phosphate po4 phosphat",
    "potassium": "potassium k kalium",
    "iron": "iron fe eisen",
    "calcium": "calcium ca",
    "magnesium": "magnesium mg",
}
_MEANING_OF = {word: meaning for meaning, words in _WORDS.items() for word in words.split()}
_AS_ELEMENT = re.compile(
    r"(no3|no2|nh4|nh3|po4|nitrate|nitrite|ammonium|phosphate)[\s_-]*(as[\s_-]*)?[\s_-]+(n|p)\b", re.I
)
_UNIT = re.compile(
    r"[(\[]\s*([^)\]]{1,20})\s*[)\]]|\s+in\s+(\S{1,12})\s*$|\s(mg/l|ppm|°[cf]|[µu]s/cm|ms/cm|dkh|dgh)\s*$", re.I
)
_USUAL_UNIT = {
    "temperature": "°C", "conductivity": "µS/cm", "kh": "dKH", "gh": "dGH", "par": "µmol/m²/s", "light": "h",
    "co2 bubbles": "per min", "ph": "", "water change": "%", "top-up": "L", "care": "min",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its place from 0, header, meaning ("": left out), and the unit of its bare numbers.

    `unsure` says why a person should look, "" where there is nothing to say.
    """

    place: int
    header: str
    meaning: str
    unit: str = ""
    unsure: str = ""

    @property
    def letters(self) -> str:
        """The column as a spreadsheet names it: "B"."""
        return letters_of(self.place)


def meanings_for(trial: Trial) -> dict[str, str]:
    """Return everything that a column of a trial's table may mean, and how the page calls it."""
    readings = {f"reading {key}": gauge.name for key, gauge in GAUGES.items()}
    readings |= {f"reading {key}": nutrient.name for key, nutrient in NUTRIENTS.items()}
    doses = {f"dose {key}": f"dose of {key}" for key in trial.bottles}
    return {LEFT_OUT: "left out", **PLAIN, **readings, **doses}


def find_header(grid: Grid) -> int:
    """Return which row (from 0) names the columns: the first that names a date or a time, else the first of words."""
    for number, row in enumerate(grid.rows[:60]):
        known = {_meaning(cell) for cell in row}
        if known & {"date", "moment"} or ("time" in known and len([cell for cell in row if cell]) > 1):
            return number
    return next((n for n, row in enumerate(grid.rows[:60]) if sum(map(_is_words, row)) >= 2), 0)


def propose(grid: Grid, header: int, trial: Trial) -> tuple[Column, ...]:
    """Return what each column seems to mean. A meaning that only one column can have goes to the first."""
    known = meanings_for(trial)
    below = grid.rows[header + 1 : header + 40]
    columns: list[Column] = []
    taken: set[str] = set()
    for place in range(grid.width):
        name = grid.rows[header][place][:LONGEST_NAME] if place < len(grid.rows[header]) else ""
        column = _column(place, name, [row[place] for row in below if place < len(row) and row[place]], known, trial)
        if column.meaning in taken:
            column = Column(place, name, LEFT_OUT, unsure="another column means the same already")
        if column.meaning:
            taken.add(column.meaning)
        columns.append(column)
    return tuple(columns)


def _column(place: int, name: str, cells: Sequence[str], known: Mapping[str, str], trial: Trial) -> Column:
    if match := _AS_ELEMENT.search(name):
        element = {"n": "nitrogen", "p": "phosphorus"}[match[3].lower()]
        said = f"counted as {element} alone; Littoral keeps the whole ion, so work it out first or leave it out"
        return Column(place, name, LEFT_OUT, unsure=said)
    meaning = _meaning(name)
    said_unit = _unit_in(name)
    if meaning in GAUGES or meaning in NUTRIENTS:
        unit = said_unit or _USUAL_UNIT.get(meaning, "mg/L")
        unsure = "" if said_unit or not unit else f"the header names no unit; {unit} is only the usual one"
        return Column(place, name, f"reading {meaning}", unit, unsure)
    bare = _bare(re.sub(r"[(\[].*$", "", name)).removeprefix("dose")
    bottles = {_bare(word): key for key, one in trial.bottles.items() for word in (one.name, key)}
    bottle = bottles.get(bare)
    if bottle is not None and meaning != "what":
        unsure = "" if said_unit else "the header names no unit; mL is only the usual one"
        return Column(place, name, f"dose {bottle}", said_unit or "mL", unsure)
    if meaning in ("date", "time") and cells and all(_is_moment(cell) for cell in cells[:10]):
        meaning = "moment"
    meaning = meaning or ("note" if _is_note(name) else "")
    if meaning in known:
        unit = _USUAL_UNIT.get(meaning, "") and (said_unit or _USUAL_UNIT[meaning])
        return Column(place, name, meaning, unit)
    return Column(place, name, LEFT_OUT)


def _is_moment(cell: str) -> bool:
    head, _, rest = cell.replace("T", " ").partition(" ")
    return (looks_like_date(head) and ":" in rest) or (cell.isdecimal() and len(cell) in (10, 13))


def _meaning(header: str) -> str:
    words = re.sub(r"[(\[].*$", "", header)
    return _MEANING_OF.get(_bare(words)) or _MEANING_OF.get(
        _bare(re.split(r"\s+in\s+|\s+mg/l|\s+ppm|\s+°", words, flags=re.I)[0]), ""
    )


def _is_note(header: str) -> bool:
    """Tell whether a header begins with a word for notes, whatever follows."""
    return _MEANING_OF.get(_bare(header.split()[0]) if header.split() else "") == "note"


def _bare(text: str) -> str:
    return re.sub(r"[^\w/]|_", "", text.translate(str.maketrans("₀₁₂₃₄₅₆₇₈₉", "0123456789"))).casefold().strip("/")


def _unit_in(header: str) -> str:
    match = _UNIT.search(header)
    found = next((part for part in match.groups() if part), "") if match else ""
    said = {"c": "°C", "f": "°F", "celsius": "°C", "fahrenheit": "°F", "degc": "°C", "degf": "°F"}
    return said.get(found.casefold().strip(), found.strip())


def _is_words(cell: str) -> bool:
    return bool(cell) and not re.search(r"[0-9]", cell) and len(cell) < 60
