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
    """The bytes are not an image in a format that is read here."""

    def __init__(self, starts_with: bytes) -> None:
        self.starts_with = starts_with[:8]
        super().__init__(
            f"This is not a JPEG, PNG, TIFF or WebP image (it starts with {self.starts_with!r}). "
            "Export the photo as JPEG."
        )


class DamagedPhotoError(PhotoError):
    """The image ends early or its data contradict themselves."""

    def __init__(self, format_name: str, detail: str) -> None:
        self.format_name, self.detail = format_name, detail
        super().__init__(
            f"The {format_name} image is truncated or damaged ({detail}). Copy the photo from the camera again."
        )


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

    def __init__(self, format_name: str, mode: str) -> None:
        self.format_name, self.mode = format_name, mode
        super().__init__(
            f"The {format_name} image holds pixels of kind {mode!r}, whose white is not defined. "
            "Export it as 8-bit or 16-bit RGB."
        )


class NoReferencePhotoError(PhotoError):
    """None of a view's first photos can be used as the reference the others are compared with."""

    def __init__(self, tried: int) -> None:
        self.tried = tried
        super().__init__(
            f"None of the {tried} photos tried can serve as the reference of this view: each is damaged or wrongly "
            "exposed. Remove them or take the photo again."
        )
