"""Spoilt photos, tables, trial files and forms, given to what reads them: a clear refusal, never a crash or a write.

Every case can be made again from its kind and number. Run as a module it prints what it found, so that a reader that
takes its whole process down is seen as well: `python -m faults.bad KIND FIRST UNTIL KEEP`.
"""

from __future__ import annotations

import asyncio
import hashlib
import json
import random
import sys
import tempfile
import traceback
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from faults.bad_seeds import TOKEN, TRIAL_FILE, forms, kind_of, photos, requests, tables, trial_files
from faults.spoil import spoilt
from littoral.errors import LittoralError
from littoral.logbook.book import Logbook
from littoral.trial.written.reader import read_trial

NOW = datetime(2026, 4, 8, 17, 30, tzinfo=UTC)
HOST = b"127.0.0.1:8765"
PLAIN = "application/x-www-form-urlencoded"


@dataclass
class Found:
    """What came of some cases of one kind: how many were taken or refused, and what went wrong, by case."""

    kind: str
    tried: int = 0
    taken: int = 0
    refused: int = 0
    wrong: list[str] = field(default_factory=list)
    answers: dict[str, int] = field(default_factory=dict)


class WrongAnswerError(AssertionError):
    """Something was answered that must not be: a failure of ours, or a write that nobody confirmed."""


def case(kind: str, number: int) -> tuple[str, bytes]:
    """Return the address (of a form, else "") and the bytes of one case."""
    rng = random.Random(f"{kind}/{number}")
    if kind == "form":
        path, body = rng.choice(forms())
        return path, spoilt(body, [one for _, one in forms()], rng)
    if kind == "request":
        path, body = rng.choice(requests())
        return path, spoilt(body, [one for _, one in requests()], rng)
    seeds = {"photo": photos, "table": tables, "trial file": trial_files}[kind]()
    return "", spoilt(rng.choice(seeds), seeds, rng)


def run(kind: str, first: int, until: int, keep: Path | None = None) -> Found:
    """Try the cases from `first` to before `until`; those that go wrong are written into the folder `keep`."""
    found = Found(kind)
    with tempfile.TemporaryDirectory() as made, _reader(kind, Path(made) / "logbook") as reads:
        for number in range(first, until):
            path, data = case(kind, number)
            found.tried += 1
            try:
                answer = reads(path, data)
            except LittoralError as error:
                answer = type(error).__name__
                found.refused += 1
            except Exception as error:  # noqa: BLE001 - what may come out is what is asked here
                found.wrong.append(f"{kind} {number} {path}: {''.join(traceback.format_exception_only(error)).strip()}")
                if keep is not None:
                    keep.mkdir(parents=True, exist_ok=True)
                    (keep / f"{kind.replace(' ', '-')}-{number}").write_bytes(data)
                continue
            else:
                found.taken += answer.startswith("taken")
                found.refused += not answer.startswith("taken")
            found.answers[answer] = found.answers.get(answer, 0) + 1
    return found


def read_one(kind: str, data: bytes, path: str = "") -> str:
    """Give one input to what reads its kind and return what came of it; anything but a refusal of ours is raised."""
    with tempfile.TemporaryDirectory() as made, _reader(kind, Path(made) / "logbook") as reads:
        try:
            return reads(path, data)
        except LittoralError as error:
            return type(error).__name__


Reads = Callable[[str, bytes], str]


@contextmanager
def _reader(kind: str, folder: Path) -> Iterator[Reads]:
    if kind == "photo":
        yield _read_photo
    elif kind == "trial file":
        yield _read_trial_file
    else:
        text = TRIAL_FILE.read_text(encoding="utf-8")
        trial, faults = read_trial(text, where="trial.toml")
        assert trial is not None, faults
        with Logbook.create(folder) as book:
            book.take_in(trial, text)
        if kind == "table":
            yield _table_reader(folder)
        else:
            with _page(folder) as reads:
                yield reads


def _read_photo(_path: str, data: bytes) -> str:
    from littoral.imaging.decode import decode_photo, read_header

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of tags that play no part here
        read_header(data)
        decoded = decode_photo(data, width_px=32)
    if decoded.image.ndim != 3 or decoded.image.dtype != "uint8":
        raise WrongAnswerError("the pixels are not what they are said to be")
    return "taken"


def _read_trial_file(_path: str, data: bytes) -> str:
    trial, faults = read_trial(data.decode("utf-8", "replace"), where="trial.toml")
    if trial is None and not faults:
        raise WrongAnswerError("no trial, and not why")
    for fault in faults:
        if not str(fault):
            raise WrongAnswerError("a fault without words")
    return "taken" if trial is not None else "refused"


def _table_reader(folder: Path) -> Reads:
    from littoral.acts.import_table import Choices, import_table, look_at_table
    from littoral.errors import FaultsError

    def read(_path: str, data: bytes) -> str:
        before = _state(folder)
        try:
            looked = look_at_table(folder, data, choices=Choices(tank="left"), now=NOW)
            looked.as_json()
            if looked.faults:
                try:
                    import_table(folder, data, choices=Choices(tank="left"), now=NOW)
                except FaultsError:
                    return "refused with problems"
                raise WrongAnswerError("written in spite of its problems")
        finally:
            if _state(folder) != before:
                raise WrongAnswerError("something was written by looking")
        return "taken"

    return read


@contextmanager
def _page(folder: Path) -> Iterator[Reads]:
    from littoral.web.app import create_app

    app = create_app(folder, port=8765, today=lambda: date(2026, 4, 8))
    token = app.state.token

    def read(path: str, data: bytes) -> str:
        before = _state(folder)
        told = kind_of(path)
        body = data.replace(TOKEN, token.encode())
        if told == PLAIN:
            body += b"&" + urlencode({"token": token}).encode()
        status = asyncio.run(_post(app, path, body, told, token))
        written = _state(folder) != before
        if status >= 500:
            raise WrongAnswerError(f"answered {status}")
        if written and status >= 400:
            raise WrongAnswerError(f"refused with {status}, and something was written")
        return f"taken {status}" if status < 400 else f"refused {status}"

    try:
        yield read
    finally:
        app.state.waiting.close()


async def _post(app: Any, address: str, body: bytes, kind: str, token: str) -> int:
    path, _, query = address.partition("?")
    sent: list[dict[str, Any]] = []
    waiting = [{"type": "http.request", "body": body, "more_body": False}]

    async def receive() -> dict[str, Any]:
        return waiting.pop() if waiting else {"type": "http.disconnect"}

    async def send(message: dict[str, Any]) -> None:
        sent.append(message)

    headers = [(b"host", HOST), (b"origin", b"http://" + HOST), (b"content-length", str(len(body)).encode()),
               (b"content-type", kind.encode()), (b"accept", b"text/html"),
               (b"x-littoral-token", token.encode())]  # fmt: skip
    scope = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": "POST", "scheme": "http",
        "path": path, "raw_path": path.encode(), "query_string": query.encode(), "root_path": "", "headers": headers,
        "server": ("127.0.0.1", 8765), "client": ("127.0.0.1", 5000),
    }  # fmt: skip
    await app(scope, receive, send)
    return int(sent[0]["status"])


def _state(folder: Path) -> tuple[tuple[str, str], ...]:
    """Return every file of a logbook with its content's hash; what is computed anew at any time is left out."""
    files = (path for path in sorted(folder.rglob("*")) if path.is_file() and "cache" not in path.parts)
    return tuple((str(path), hashlib.sha256(path.read_bytes()).hexdigest()) for path in files)


if __name__ == "__main__":
    _kind, _first, _until, _keep = sys.argv[1:]
    print(json.dumps(asdict(run(_kind, int(_first), int(_until), Path(_keep)))))
