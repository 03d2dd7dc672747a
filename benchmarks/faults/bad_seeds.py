"""What is spoilt: small valid photos, tables, trial files and forms, made here."""

from __future__ import annotations

import io
import json
import random
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from urllib.parse import urlencode

KINDS = ("photo", "table", "trial file", "form", "request")
TRIAL_FILE = Path(__file__).parents[2] / "tests" / "trial" / "whole-trial.toml"


@cache
def photos() -> tuple[bytes, ...]:
    """Return one small photo of every kind that is read, some with EXIF."""
    from PIL import Image

    rng = random.Random("photos")
    pixels = bytes(rng.randrange(256) for _ in range(48 * 36 * 3))
    colour = Image.frombytes("RGB", (48, 36), pixels)
    exif = colour.getexif()
    exif[0x0132] = "2026:03:08 18:30:00"
    exif[0x0112] = 6
    found = []
    for image, options in (
        (colour, {"format": "JPEG", "exif": exif.tobytes(), "quality": 85}),
        (colour, {"format": "JPEG", "progressive": True}),
        (colour.convert("CMYK"), {"format": "JPEG"}),
        (colour, {"format": "PNG", "exif": exif.tobytes()}),
        (colour.convert("RGBA"), {"format": "PNG"}),
        (colour.convert("P"), {"format": "PNG"}),
        (colour.convert("L"), {"format": "PNG"}),
        (Image.frombytes("I;16", (24, 36), pixels[: 24 * 36 * 2]), {"format": "PNG"}),
        (colour, {"format": "TIFF", "compression": "tiff_lzw"}),
        (colour, {"format": "TIFF"}),
        (colour, {"format": "WEBP", "exif": exif.tobytes()}),
        (colour.convert("RGBA"), {"format": "WEBP", "lossless": True}),
    ):
        out = io.BytesIO()
        image.save(out, **options)
        found.append(out.getvalue())
    return tuple(found)


@cache
def tables() -> tuple[bytes, ...]:
    """Return tables as keepers, sensors and spreadsheets write them."""
    wide = (
        "My log\n\nDate;Tank;Temp (°C);NO3 mg/l;pH;macro (mL);Notes\n03.03.2026 18:30;left;24,5;10;6,8;2,2;fine\n"
        '04.03.2026;right;24,9;<5;;;"two\nlines"\n'
    )
    long = "date,time,tank,kind,what,amount,note,who\n2026-03-03,18:00,left,dose,macro,2 strokes,,M\n"
    long += '2026-03-04,,left,water change,,40 %,,\n2026-03-05,,left,reading,nitrate,"10 mg/L (7.5-15), card",,\n'
    sensor = "time,temperature (C),light (h)\n"
    sensor += "".join(f"2026-03-03T{n // 4:02d}:{n % 4 * 15:02d}:00,24.{n % 10},0.25\n" for n in range(96))
    found = [text.encode(code) for text in (wide, long, sensor) for code in ("utf-8", "utf-16", "cp1252")]
    try:
        import openpyxl
    except ModuleNotFoundError:
        return tuple(found)
    book = openpyxl.Workbook()
    for line in long.splitlines()[:3]:
        book.active.append(line.split(","))
    out = io.BytesIO()
    book.save(out)
    return (*found, out.getvalue(), out.getvalue())


@cache
def trial_files() -> tuple[bytes, ...]:
    """Return trial files: the whole one, and a short one."""
    whole = TRIAL_FILE.read_bytes()
    head, _, _ = whole.partition(b"[bottles.")
    return whole, head


FORMS: tuple[tuple[str, Mapping[str, str]], ...] = (
    ("/new", {"title": "Mine", "glass": "60 x 30 x 30 cm", "start": "2026-03-02", "length": "8 weeks",
              "baseline": "2 weeks", "first": "sparing", "second": "full", "zone": "Europe/Berlin"}),
    ("/mix.json", {"salt-1": "KNO3", "grams-1": "33 g", "made_up_to": "500 mL", "net_volume": "50 L"}),
    ("/water.json", {"net_volume": "50 L", "GH": "6 dGH", "KH": "4 dKH"}),
    ("/week.json", {"net_volume": "50 L", "bottle-1": "macro", "change": "40 %"}),
    ("/costs.json", {"net_volume": "50 L", "weeks": "52"}),
    ("/pair", {"code": "AAAA AAAA", "name": "phone"}),
    ("/devices/code", {"role": "reader"}),
    ("/devices/revoke", {"device": "0011223344556677"}),
    ("/trial/sparing-or-full/import/nothing", {"do": "write", "means-0": "date", "header": "1", "every": "row"}),
)  # fmt: skip
"""Each form of the page, filled in so that what is spoilt reaches far."""


def forms() -> tuple[tuple[str, bytes], ...]:
    """Return the path and body of each form, without its token."""
    return tuple((path, urlencode(fields).encode()) for path, fields in FORMS)


ENTRIES: tuple[Mapping[str, str], ...] = (
    {"act": "dose", "tank": "left", "what": "macro", "amount": "2 strokes", "when": "2026-03-03 18:00"},
    {"act": "reading", "tank": "left", "what": "nitrate", "amount": "10 mg/L (7.5-15), card", "when": "2026-03-04"},
    {"act": "planned", "item": "2026-03-08/left/dose macro"},
)


def requests() -> tuple[tuple[str, bytes], ...]:
    """Return what a phone sends, and the table that a browser sends: address and body."""
    told = tuple(("/api/entries", json.dumps(entry).encode()) for entry in ENTRIES)
    gone = (
        ("/api/entries/nothing/undo", b'{"reason": "wrong"}'),
        ("/api/entries/x/corrections", b'{"amount": "3 mL"}'),
    )
    sent = tuple(("/api/photos?trial=sparing-or-full&view=left&when=2026-03-08%2018:30", photo) for photo in photos())
    brought = tuple(("/trial/sparing-or-full/import", _parts(table)) for table in tables())
    return (*told * 4, *gone, *sent, *brought)


def _parts(table: bytes) -> bytes:
    """Return a form that brings a table; its token is put in by whoever sends it."""
    head = b'--b\r\nContent-Disposition: form-data; name="token"\r\n\r\n' + TOKEN + b"\r\n--b\r\n"
    return head + b'Content-Disposition: form-data; name="file"; filename="a.csv"\r\n\r\n' + table + b"\r\n--b--\r\n"


TOKEN = b"TOKEN-OF-THE-PAGE"
"""Stands in a body where the page's token goes."""


def kind_of(address: str) -> str:
    """Return the content type that is sent to an address."""
    if address.startswith("/api/photos"):
        return "image/jpeg"
    if address.startswith("/api/"):
        return "application/json"
    return "multipart/form-data; boundary=b" if address.endswith("/import") else "application/x-www-form-urlencoded"
