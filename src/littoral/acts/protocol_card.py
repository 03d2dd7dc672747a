"""Give the protocol of a trial to somebody else, as a file and as a code to scan; start a trial from one."""

from __future__ import annotations

import json
import secrets
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path
from typing import Any

from littoral.acts.choosing import chosen_trial
from littoral.acts.machine_zone import machine_zone
from littoral.acts.start_trial import TRIAL_FILE, FolderInUseError
from littoral.acts.trial_files import read_small
from littoral.errors import Fault, FaultsError, extras_needed
from littoral.feeding.bottles import Bottle
from littoral.feeding.matched import Matched
from littoral.logbook.book import Logbook
from littoral.logbook.originals import sha256_of
from littoral.logbook.whole_files import write_whole
from littoral.tank.volume import VolumeError, net_volume_l
from littoral.trial.card_code import PREFIX, decoded, encoded
from littoral.trial.protocol import ProtocolError, protocol_of, read_protocol
from littoral.trial.written.document import read_document
from littoral.trial.written.entries_csv import COLUMNS
from littoral.trial.written.from_protocol import OwnTanks, trial_text_of
from littoral.trial.written.reader import read_trial
from littoral.trial.written.starting import starting_text

LARGEST_VERSION = 25
"""The largest QR code (117 modules across) that a phone reads off a clean printed page: common practice, no source."""


@dataclass(frozen=True, slots=True)
class GivenProtocol:
    """A protocol that was written: its file and SHA-256, the code's text, and what the QR code holds.

    `whole` is False where the protocol is too long for one QR code: that then holds the link and the file's hash.
    """

    path: Path
    sha256: str
    code: str
    whole: bool
    qr_text: str
    qr: Path | None

    def as_json(self) -> dict[str, Any]:
        """Return it as plain data."""
        return asdict(self) | {"path": str(self.path), "qr": None if self.qr is None else str(self.qr)}


@dataclass(frozen=True, slots=True)
class StartedFrom:
    """A trial file that was made from a protocol; `todo` counts what is still to fill in, `matched` is by regime."""

    trial_file: Path
    todo: int
    matched: Mapping[str, tuple[Matched, ...]]


@extras_needed()
def give_protocol(
    source: Path, to: Path, *, trial_key: str | None = None, qr: Path | None = None, link: str = ""
) -> GivenProtocol:
    """Write the protocol of a trial (a logbook's folder or a trial file) to `to`, and a QR code of it to `qr`.

    `qr` ends in .svg or .png; `link` is where the file will lie. FaultsError, ProtocolError, UnwrittenFileError,
    MissingExtraError where a QR code is asked for without segno.
    """
    plain = _protocol(source, trial_key)
    data = (json.dumps(plain, ensure_ascii=False, indent=1) + "\n").encode()
    if qr is not None and qr.suffix.lower() not in (".svg", ".png"):
        raise FaultsError([Fault(f'is "{qr.name[:40]}".', "Name a file that ends in .svg or .png.", "qr")])
    code, sha256 = encoded(plain), sha256_of(data)
    whole, text = True, code
    if qr is not None:
        whole = _fits(code)
        text = code if whole else f"{link}#sha256={sha256}" if link else f"littoral protocol {to.name} sha256={sha256}"
        write_whole(qr, _drawn(text, qr.suffix.lower()))
    write_whole(to, data)
    return GivenProtocol(to, sha256, code, whole, text, qr)


def start_from_protocol(
    folder: Path,
    card: str,
    *,
    start: str | None = None,
    zone: str | None = None,
    glass: str = "60 x 30 x 30 cm",
    fill: str = "",
    substrate: str = "5 cm",
    bottles_of: Path | None = None,
    seed: int | None = None,
) -> StartedFrom:
    """Write a trial file for one's own tanks from a protocol: `card` is its file, or the text of its code.

    Bottles are those of another trial file of one's own (`bottles_of`): doses that come nearest to what the protocol
    asks for are worked out. Without one, each feed is left to fill in, and `check` names every place.
    FolderInUseError, UnreadableFileError, ProtocolError, CodeError, FaultsError.
    """
    if folder.exists() and any(folder.iterdir()):
        raise FolderInUseError(folder)
    protocol = read_protocol(_plain(card))
    begin = start or date.today().isoformat()
    # what a person writes of their tanks is checked where every trial is: in a trial file that is not kept
    probe = starting_text(
        title=str(protocol["title"]), start=begin, zone=zone or machine_zone(), glass=glass, fill=fill,
        substrate=substrate, seed=1,
    )  # fmt: skip
    trial, faults = read_trial(probe, where="the new trial")
    if trial is None:
        raise FaultsError([Fault(one.what, one.right, one.where) for one in faults])
    values = read_document(probe, where="").values
    vessel = trial.tanks["left"].vessel
    assert values is not None
    assert vessel is not None
    try:
        volume_l = net_volume_l(vessel)
    except VolumeError as error:
        raise FaultsError([Fault(f"{error.what}.", error.right, "glass")]) from None
    written, own = _bottles(bottles_of)
    made = trial_text_of(
        protocol,
        key=trial.key,
        start=trial.start,
        zone=trial.zone,
        seed=secrets.randbelow(2**31) if seed is None else seed,
        tanks=OwnTanks(glass, str(values["tanks"]["left"]["fill"]), substrate, volume_l),
        bottles=written,
        own=own,
    )
    found, mistakes = read_trial(made.text, where=TRIAL_FILE)
    if made.todo == 0 and found is None:
        raise ProtocolError(f"the trial file that this protocol gives has a mistake: {mistakes[0]}")
    for view in found.views if found is not None else {"left": None, "right": None}:
        (folder / "photos" / view).mkdir(parents=True, exist_ok=True)
    write_whole(folder / TRIAL_FILE, made.text.encode())
    write_whole(folder / "entries.csv", (",".join(COLUMNS) + "\n").encode())
    return StartedFrom(folder / TRIAL_FILE, made.todo, made.matched)


def _protocol(source: Path, trial_key: str | None) -> dict[str, Any]:
    if source.is_dir():
        with Logbook.open(source) as book:
            key = chosen_trial(book, trial_key)
            trial, text = book.trial(key), book.trial_text(key)
    else:
        text = read_small(source).decode("utf-8-sig", errors="replace")
        read, faults = read_trial(text, where=source.name)
        if read is None:
            raise FaultsError(faults)
        trial = read
    values = read_document(text, where=trial.key).values
    assert values is not None, "it was read just now"
    return protocol_of(trial, values)


def _plain(card: str) -> Any:
    if card.strip().startswith(PREFIX):
        return decoded(card)
    text = read_small(Path(card)).decode("utf-8-sig", errors="replace")
    if text.strip().startswith(PREFIX):
        return decoded(text)
    try:
        return json.loads(text)
    except (ValueError, RecursionError) as error:
        right = "Name the file that `littoral protocol LOGBOOK` wrote."
        raise ProtocolError(f"{card} is no protocol ({error}). {right}") from None


def _bottles(file: Path | None) -> tuple[Mapping[str, Any], tuple[Bottle, ...]]:
    if file is None:
        return {}, ()
    text = read_small(file).decode("utf-8-sig", errors="replace")
    trial, faults = read_trial(text, where=file.name)
    if trial is None:
        raise FaultsError(faults)
    if not trial.bottles:
        raise FaultsError([Fault("has no bottles.", "Name a trial file of yours with [bottles.…].", file.name)])
    values = read_document(text, where=file.name).values
    assert values is not None
    return values["bottles"], tuple(trial.bottles.values())


def _fits(code: str) -> bool:
    import segno
    from segno.encoder import DataOverflowError

    try:
        return int(segno.make(code, error="l", micro=False).version) <= LARGEST_VERSION
    except DataOverflowError:
        return False


def _drawn(text: str, suffix: str) -> bytes:
    import io

    import segno

    out = io.BytesIO()
    kind = suffix.removeprefix(".")
    segno.make(text, error="l", micro=False).save(out, kind=kind, scale=4, border=4, dark="#000", light="#fff")
    return out.getvalue()
