"""Why a photo was refused: one class per reason."""

from __future__ import annotations

from littoral.errors import LittoralError


class PhotoError(LittoralError):
    """A photo was refused; the subclass says why."""


class EmptyPhotoError(PhotoError):
    """The file holds no bytes."""

    def __init__(self) -> None:
        super().__init__("The file is empty (0 bytes). Copy the photo from the camera again.")


class NotAPhotoError(PhotoError):
    """The bytes are not an image in a format that is read here; `looks_like` says what they are, where that shows."""

    def __init__(self, data: bytes) -> None:
        self.looks_like = _looks_like(data)
        told = f"it looks like {self.looks_like}" if self.looks_like else "what it is instead cannot be told"
        super().__init__(f"This is not a JPEG, HEIC, PNG, TIFF or WebP image; {told}. Export the photo as JPEG.")


class DamagedPhotoError(PhotoError):
    """The image ends early (`cut_short`), or its data contradict themselves or use what is not read here.

    `detail` is a plain sentence without its full stop, where there is more to say. What the decoder met is the cause.
    """

    def __init__(self, format_name: str, *, cut_short: bool = False, detail: str = "") -> None:
        self.format_name, self.cut_short, self.detail = format_name, cut_short, detail
        again = "Copy the photo from the camera again"
        if cut_short:
            super().__init__(f"The {format_name} image is cut short: its end is missing. {again}.")
            return
        what = f"is damaged: {detail}" if detail else "is damaged, or written in a way that is not read here"
        super().__init__(f"The {format_name} image {what}. {again}, or export it as JPEG.")


class TooManyPixelsError(PhotoError):
    """The header promises more pixels than are decoded here; nothing was decoded."""

    def __init__(self, *, width_px: int, height_px: int, limit_px: int, format_name: str) -> None:
        self.width_px, self.height_px, self.limit_px, self.format_name = width_px, height_px, limit_px, format_name
        megapixels = width_px * height_px / 1e6
        super().__init__(
            f"The {format_name} header says {width_px} x {height_px} pixels ({megapixels:.0f} megapixels); "
            f"at most {limit_px / 1e6:.0f} megapixels are read. Export the photo at a smaller size."
        )


class UnsupportedPixelsError(PhotoError):
    """A valid image whose kind of pixels has no defined brightness here, such as floating point."""

    def __init__(self, format_name: str, *, pixels: str) -> None:
        self.format_name, self.pixels = format_name, pixels
        super().__init__(
            f"The {format_name} image holds {pixels}, of which none is defined as white. "
            "Export it as 8-bit or 16-bit RGB."
        )


class NoReferencePhotoError(PhotoError):
    """None of a view's first photos can be used as the reference the others are compared with.

    It is kept with what was measured, so it is said in English whoever asks.
    """

    def __init__(self, tried: int) -> None:
        self.tried = tried
        super().__init__(
            f"Of {tried} {'photo' if tried == 1 else 'photos'} tried none can serve as the reference of this view: "
            "each is damaged or wrongly exposed. Remove them or take the photo again."
        )


_SIGNATURES = {
    b"GIF8": "a GIF",
    b"BM": "a BMP image",
    b"%PDF": "a PDF document",
    b"PK\x03\x04": "a ZIP archive or an office document",
    b"\x1a\x45\xdf\xa3": "a film",
    b"FUJIFILM": "a camera's raw file",
    b"IIU\0": "a camera's raw file",
    b"II+\0": "a TIFF image of the big kind",
    b"MM\0+": "a TIFF image of the big kind",
    b"\xff\x0a": "a JPEG XL image",
    b"\0\0\0\x0cJXL ": "a JPEG XL image",
    b"\0\0\0\x0cjP": "a JPEG 2000 image",
    b"\x89PNG": "a PNG image whose beginning is damaged",
}
_BRANDS = {b"avif": "AVIF", b"avis": "AVIF", b"crx ": "CR3 raw"}


def _looks_like(data: bytes) -> str:
    """Return what a file looks like by its first bytes, "" where they tell nothing.

    ISO base media files (HEIC photos and films) name their brand behind "ftyp": ISO/IEC 14496-12, section 4.3.
    """
    if data[4:8] == b"ftyp":
        brand = _BRANDS.get(data[8:12])
        return f"a photo in {brand} format" if brand else "a film"
    for start, name in _SIGNATURES.items():
        if data.startswith(start):
            return name
    if not any(data):
        return "nothing but zeros, as after a broken copy"
    beginning = data[:400].decode("utf-8", errors="ignore").strip()
    if beginning.startswith("<"):
        return "a web page or a drawing (HTML or SVG)"
    readable = all(letter.isprintable() or letter.isspace() for letter in beginning)
    return "text" if beginning and readable and len(beginning.encode()) >= min(len(data.strip()), 390) else ""
