"""Files that come in with a form: which addresses take them, how many, how large; read whole and kept nowhere."""

from __future__ import annotations

from collections.abc import AsyncGenerator
from dataclasses import dataclass

from starlette.datastructures import FormData, Headers, UploadFile
from starlette.formparsers import MultiPartException, MultiPartParser

from littoral.web.limits import MAX_UPLOAD_BYTES, MAX_UPLOAD_FIELDS, MAX_UPLOAD_FILES

UPLOAD_PATHS = frozenset({"/pool"})
"""The addresses whose form may carry files; every other takes plain fields only."""

UPLOAD_TYPE = "multipart/form-data"


@dataclass(frozen=True, slots=True)
class Upload:
    """One file as it was sent: the field it stands in, its name without any folder, and its bytes."""

    field: str
    name: str
    data: bytes


@dataclass(frozen=True, slots=True)
class Sent:
    """What a form with files held: plain fields by name, each once, and the files that were chosen."""

    fields: dict[str, str]
    files: tuple[Upload, ...]


def body_limit(path: str) -> int | None:
    """Return how many bytes a form with files may have at this address; None where it takes none."""
    return MAX_UPLOAD_BYTES if path in UPLOAD_PATHS else None


async def read_upload(headers: Headers, body: bytes) -> Sent | None:
    """Return what a whole multipart body holds; None where it is none, or has more fields or files than are taken."""

    async def stream() -> AsyncGenerator[bytes, None]:
        yield body

    parser = MultiPartParser(
        headers, stream(), max_files=MAX_UPLOAD_FILES, max_fields=MAX_UPLOAD_FIELDS, max_part_size=MAX_UPLOAD_BYTES
    )
    parser.spool_max_size = MAX_UPLOAD_BYTES + 1  # in memory to the last byte: nothing is written to the disk
    try:
        form = await parser.parse()
    except (MultiPartException, ValueError, KeyError):  # broken bodies end in either, by the part that is broken
        return None
    try:
        return await _sent(form)
    finally:
        await form.close()


async def _sent(form: FormData) -> Sent | None:
    fields: dict[str, str] = {}
    files = []
    for name, value in form.multi_items():
        if isinstance(value, UploadFile):
            data = await value.read()
            if value.filename or data:
                plain = (value.filename or "").replace("\\", "/").rpartition("/")[2]
                files.append(Upload(name, plain, data))
        elif name in fields:
            return None
        else:
            fields[name] = value
    return Sent(fields, tuple(files))
