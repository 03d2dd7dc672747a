"""Files that come in with the form for pooling: read whole, in memory, and kept nowhere."""

from __future__ import annotations

from collections.abc import AsyncGenerator
from dataclasses import dataclass

from starlette.datastructures import FormData, Headers, UploadFile
from starlette.formparsers import MultiPartException, MultiPartParser

from littoral.web.limits import MAX_POOL_BYTES, MAX_POOL_FIELDS, MAX_POOL_FILES


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


async def read_upload(headers: Headers, body: bytes) -> Sent | None:
    """Return what a whole multipart body holds; None where it is none, or has more fields or files than are taken."""

    async def stream() -> AsyncGenerator[bytes, None]:
        yield body

    parser = MultiPartParser(
        headers, stream(), max_files=MAX_POOL_FILES, max_fields=MAX_POOL_FIELDS, max_part_size=MAX_POOL_BYTES
    )
    parser.spool_max_size = MAX_POOL_BYTES + 1  # in memory to the last byte: nothing is written to the disk
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
