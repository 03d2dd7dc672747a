"""Pool the findings of several keepers: their files read strictly, paired up, and what they say together."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from littoral.acts.import_package import is_package
from littoral.acts.trial_files import UnreadableFileError
from littoral.errors import Fault, FaultsError
from littoral.findings.keeper_files import KeeperFile, Paired, pair_up
from littoral.findings.model import Interval
from littoral.findings.moderators import Moderated, moderate
from littoral.findings.pooled import PooledFinding, pool_keepers
from littoral.findings.pooled_showing import Scale, as_seen, unit_text
from littoral.publish.chart import Chart
from littoral.publish.forest_chart import forest_chart
from littoral.publish.package.source import PackageSource
from littoral.publish.package.write import FINDINGS_FILE
from littoral.publish.read_findings import MAX_FINDINGS_BYTES, read_findings
from littoral.trial.measures import MEASURES
from littoral.trial.written.csv_text import UnreadableTextError, decode, read_rows

MAX_FILES = 60
"""How many keepers' files are pooled at once."""


@dataclass(frozen=True, slots=True)
class Source:
    """One keeper's file: the keeper's name, where it came from, and the bytes of its findings.json.

    `trial_id` is that of the data package it came in, the same for every package of one trial; "" without one.
    """

    keeper: str
    where: str
    data: bytes
    trial_id: str = ""


@dataclass(frozen=True, slots=True)
class Margin:
    """The margin set beforehand: in `percent`, or in the measure's unit."""

    value: float
    percent: bool


@dataclass(frozen=True, slots=True, eq=False)
class PooledFiles:
    """What several files say together: the pooled finding, what it was pooled from, and what was left out and why."""

    found: PooledFinding
    paired: Paired
    moderated: tuple[Moderated, ...]
    left_out: tuple[Fault, ...]

    def as_json(self) -> dict[str, Any]:
        """Return it as plain data; effects in `unit`, and as they are `shown` (percent, percentage points)."""
        found = self.found

        def ends(one: Interval | None) -> dict[str, Any] | None:
            if one is None:
                return None
            seen = [as_seen(found.measure, found.scale, at) for at in (one.value, one.low, one.high)]
            return {
                "value": one.value,
                "interval": {"low": one.low, "high": one.high},
                "shown": {"value": seen[0], "low": seen[1], "high": seen[2]},
            }

        pooled = found.pooled
        return {
            "measure": found.measure,
            "arms": list(self.paired.arms),
            "scale": found.scale,
            "unit": found.unit,
            "shown_in": unit_text(found.measure, found.scale, "currency", difference=True),
            "keepers": [
                {
                    "keeper": result.keeper,
                    "file": file.where,
                    "trial": file.trial_key,
                    "start": file.start,
                    "effect": ends(result.effect),
                    "weight": None if pooled is None else float(pooled.weight[place]),
                    "average_without": ends(found.without[place]) if found.without else None,
                    "design": finding.design,
                    "rule": finding.rule,
                }
                for place, (result, file, finding) in enumerate(
                    zip(found.results, self.paired.files, self.paired.chosen, strict=True)
                )
            ],
            "level": found.level,
            "average": ends(found.claim),
            "prediction": ends(found.prediction),
            "tau2": None if pooled is None else pooled.tau2,
            "i2_percent": None if pooled is None else pooled.i2_percent,
            "q": None if pooled is None else {"value": pooled.q, "df": pooled.q_df, "p_value": pooled.q_p},
            "smallest": found.smallest,
            "rule": found.rule,
            "wording": found.wording,
            "rule_text": found.rule_text,
            "next_step": found.next_step,
            "source": found.source,
            "rendered": found.rendered,
            "moderators": [
                {"name": one.name, "slope": ends(one.slope), "p_value": one.p_value, "wording": one.wording}
                for one in self.moderated
            ],
            "left_out": [str(fault) for fault in self.left_out],
        }


def sources_of(files: Sequence[str]) -> tuple[Source, ...]:
    """Return the files named on a command line, each "FILE" or "KEEPER=FILE"; UnreadableFileError, FaultsError.

    A file is a findings.json or a data package (NoPackageError, DamagedPackageError). One without a keeper's name is
    called by its own, or by its folder's where it is called findings.json.
    """
    if len(files) > MAX_FILES:
        what = f"{len(files)} files were named, at most {MAX_FILES} are pooled."
        raise FaultsError([Fault(what, "Name fewer files.", "the files")])
    found = []
    for text in files:
        keeper, equals, rest = text.partition("=")
        named = bool(equals and keeper.strip() and rest) and not Path(text).exists()
        path = Path(rest if named else text)
        name = keeper.strip() if named else _called(path)
        if is_package(path):
            found.append(_of_package(name, str(path), path))
        else:
            found.append(Source(name, str(path), _bytes(path)))
    return tuple(found)


def source_of(keeper: str, where: str, data: bytes) -> Source:
    """Return a file that was sent: a findings.json, or a data package as a zip file.

    NoPackageError, DamagedPackageError.
    """
    return _of_package(keeper, where, data) if data.startswith(b"PK") else Source(keeper, where, data)


def _of_package(keeper: str, where: str, package: Path | bytes) -> Source:
    with PackageSource(package, where=where) as source:
        trial_id = str(source.descriptor["littoral"].get("trial_id") or "")
        return Source(keeper, where, source.read(FINDINGS_FILE), trial_id)


def keeper_names(file_names: Sequence[str]) -> tuple[str, ...]:
    """Return what keepers are called whose files came without folders: by the file's name, "home 2" for findings.json.

    Names are told apart by a number where they are the same: whether two files are one home only their numbers can say.
    """
    found: list[str] = []
    for place, file_name in enumerate(file_names, start=1):
        stem = " ".join(Path(file_name).stem.split())[:60]
        name = plain = f"home {place}" if stem.lower() in ("", "findings") else stem
        number = 1
        while name in found:
            number += 1
            name = f"{plain} ({number})"
        found.append(name)
    return tuple(found)


def _called(path: Path) -> str:
    if path.stem.lower() != "findings":
        return path.stem
    around = path.resolve().parent
    return around.parent.name if around.name == "results" and around.parent.name else around.name or path.stem


def _bytes(path: Path) -> bytes:
    """Return a file's bytes, one more than are read at most: whoever reads them says that there are too many."""
    try:
        with path.open("rb") as file:
            return file.read(MAX_FINDINGS_BYTES + 1)
    except OSError as error:
        raise UnreadableFileError(path, f"cannot be read ({error.strerror}). Name a findings.json.") from None


def moderators_of(texts: Sequence[str]) -> dict[str, Mapping[str, float]]:
    """Return moderators of "NAME=FILE.csv": {name: {keeper: value}}. UnreadableFileError, FaultsError."""
    found: dict[str, Mapping[str, float]] = {}
    for text in texts:
        name, equals, file = text.partition("=")
        if not (equals and name.strip() and file.strip()):
            raise FaultsError([Fault(f'is "{text[:60]}".', 'Write it like "light=light.csv".', "--moderator")])
        found[name.strip()] = read_moderator(_bytes(Path(file.strip())), where=file.strip())
    return found


def read_moderator(data: bytes, *, where: str) -> Mapping[str, float]:
    """Return {keeper: value} of a CSV with the columns keeper and value. FaultsError with all that is wrong."""
    try:
        table = read_rows(decode(data), columns=("keeper", "value"), needed=("keeper", "value"))
    except UnreadableTextError as error:
        raise FaultsError([Fault(error.what, error.right, where, error.line)]) from None
    values: dict[str, float] = {}
    faults = []
    for row in table.rows:
        keeper, text = row.cells.get("keeper", "").strip(), row.cells.get("value", "").strip()
        number = _number(text)
        if number is None:
            faults.append(Fault(f'value is "{text[:40]}".', "Write a number, such as 42 or 0.5.", where, row.line))
        elif not keeper or keeper in values:
            what = f"{keeper!r} stands there twice." if keeper else "keeper is empty."
            faults.append(Fault(what, "One line for each keeper.", where, row.line))
        else:
            values[keeper] = number
    if faults:
        raise FaultsError(faults)
    return values


def _number(text: str) -> float | None:
    try:
        value = float(text if "." in text else text.replace(",", "."))
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def scale_of(text: str, *, where: str) -> Scale | None:
    """Return "ratio" or "difference" as written, None where nothing is. FaultsError."""
    match text.strip().lower():
        case "":
            return None
        case "ratio" | "difference" as scale:
            return scale
        case _:
            raise FaultsError([Fault(f'is "{text[:40]}".', 'Write "ratio" or "difference".', where)])


def margin_of(text: str, *, where: str) -> Margin | None:
    """Return a margin as written, "10 %" or "0.005"; None where nothing is. FaultsError."""
    plain = text.strip()
    if not plain:
        return None
    value = _number(plain.removesuffix("%").strip())
    if value is None or value <= 0:
        raise FaultsError([Fault(f'is "{text[:40]}".', 'Write a number above 0, or "10 %" for ratios.', where)])
    return Margin(value, percent=plain.endswith("%"))


def pool_findings(
    sources: Sequence[Source],
    *,
    measure: str = "",
    question: str = "",
    scale: Scale | None = None,
    smallest: Margin | None = None,
    moderators: Mapping[str, Mapping[str, float]] | None = None,
    leave_out: bool = False,
) -> PooledFiles:
    """Pool what the files say of one measure (or one question); see `findings.keeper_files.pair_up`.

    `smallest` is the margin set beforehand: in percent where ratios are pooled, else in the measure's unit. A file that
    is no findings.json, or does not fit the others, refuses the whole (FaultsError with every reason), or is left out
    and told where `leave_out` is set. Raises KeepersError.
    """
    if measure and measure not in MEASURES:
        raise FaultsError([Fault(f"{measure[:60]!r} is no measure.", f"There are {', '.join(MEASURES)}.", "measure")])
    if len(sources) > MAX_FILES:
        what = f"{len(sources)} files were given, at most {MAX_FILES} are pooled."
        raise FaultsError([Fault(what, "Give fewer files.", "the files")])
    files: list[KeeperFile] = []
    faults: list[Fault] = []
    of_trial: dict[str, str] = {}
    for source in sources:
        if source.trial_id and source.trial_id in of_trial:
            what = f"is a package of the same trial as {of_trial[source.trial_id]}."
            faults.append(Fault(what, "One home counts once: leave one of them out.", source.where))
            continue
        of_trial[source.trial_id] = source.where
        read = read_findings(source.data, keeper=source.keeper, where=source.where)
        if isinstance(read, KeeperFile):
            files.append(read)
        else:
            faults += read
    if faults and not (leave_out and files):
        raise FaultsError(faults)
    paired = pair_up(files, measure=measure, question=question, scale=scale)
    left_out = (*faults, *paired.unfit)
    if left_out and not leave_out:
        raise FaultsError(left_out)
    found = pool_keepers(
        paired.measure,
        paired.results,
        arms=paired.arms,
        smallest=_margin(smallest, paired),
        rendered=any(file.rendered for file in paired.files),
        scale=paired.scale,
        currency=_currency(paired),
    )
    moderated = tuple(moderate(found, name, values) for name, values in (moderators or {}).items())
    return PooledFiles(found, paired, moderated, left_out)


def _margin(smallest: Margin | None, paired: Paired) -> float | None:
    if smallest is None:
        return None
    if smallest.percent != (paired.scale == "ratio"):
        how = (
            'in percent, such as "10 %"'
            if paired.scale == "ratio"
            else f"in {MEASURES[paired.measure].unit}, without %"
        )
        right = f"A {paired.scale} of {paired.measure} is pooled: write the margin {how}."
        raise FaultsError([Fault(f"is {smallest.value:g}{' %' if smallest.percent else ''}.", right, "smallest")])
    return math.log1p(smallest.value / 100) if smallest.percent else smallest.value


def forest(done: PooledFiles, *, width_px: float = 760) -> Chart | None:
    """Return the picture of what was pooled; None where no keeper is left."""
    return forest_chart(done.found, arms=done.paired.arms, width_px=width_px, currency=_currency(done.paired))


def _currency(paired: Paired) -> str:
    units = {finding.unit for finding in paired.chosen}
    return units.pop().split(" ")[0] if paired.measure == "cost" and len(units) == 1 else ""
