"""The label of a bottle mixed at home, in three sizes.

What a size cannot hold is left out by rule, the least urgent first, and the label then says "see sheet". The name, the
signal word, the pictograms, the hazard codes, the salts, the dose and the dates are never left out; the largest holds
all.
"""

from __future__ import annotations

from dataclasses import dataclass
from io import BytesIO
from typing import Any, Literal

from littoral.chemistry.ghs import GhsLabel
from littoral.errors import extras_needed
from littoral.publish.pdf.pictograms import pictogram
from littoral.publish.pdf.setting import set_pdf

Size = Literal["small", "medium", "large"]
SIZES: dict[Size, tuple[float, float]] = {"small": (50.0, 30.0), "medium": (70.0, 50.0), "large": (100.0, 70.0)}
"""Width and height in mm."""
SHEET = "See the safety data sheets."
NO_STATEMENT = "No hazard statement follows by arithmetic from its salts; that proves nothing."
SEE_SHEET = "see sheet"


@dataclass(frozen=True, slots=True)
class BottleLabel:
    """What stands on a bottle's label; all text is ready to print.

    `composition` are lines such as ("KNO3", "33 g"), `holds` what a millilitre holds, `dose` one sentence; dates are
    YYYY-MM-DD. `ghs` is of the diluted bottle, `not_told` what could not be told of its hazards, `url` leads back to
    the bottle's page, "" where there is none; `anyway` is the reason of a dose that passes a published limit.
    """

    name: str
    volume: str
    composition: tuple[tuple[str, str], ...]
    holds: tuple[tuple[str, str], ...]
    dose: str
    made_on: str
    discard_after: str
    keep: str
    ghs: GhsLabel
    not_told: tuple[str, ...]
    url: str
    anyway: str = ""


@extras_needed()
def label_pdf(label: BottleLabel, size: Size) -> bytes:
    """Return one label as a PDF of SIZES[size] mm, the same bytes for the same label.

    Raises NotSetError where even the shortest form does not fit; MissingExtraError without typst or segno.
    """
    width, height = SIZES[size]
    pictures = [pictogram(code) for code in label.ghs.pictograms]
    # on the small one three pictograms leave no room for a code: they come first
    with_code = bool(label.url) and not (size == "small" and len(pictures) > 2)
    if with_code:
        pictures.append(_code(label.url))
    data = {
        "title": f"Label: {label.name}",
        "width": width,
        "height": height,
        "size": size,
        "code": with_code,
        "pictograms": len(label.ghs.pictograms),
        "variants": [_paragraphs(label, left_out) for left_out in range(1 if size == "large" else MOST_LEFT_OUT + 1)],
    }
    what = f"the label of {label.name[:60]} does not fit {width:g} x {height:g} mm"
    right = "Take the next larger size, give it a shorter name, or split it into bottles of fewer salts."
    return set_pdf("bottle_label.typ", data, what=what, right=right, pictures=tuple(pictures))


MOST_LEFT_OUT = 6
"""Steps of leaving out: 1 what is not told, 2 what a mL holds, 3 precautions, 4 keeping, 5 texts of the hazards, 6 the
reason for a dose that passes a limit."""


def _paragraphs(label: BottleLabel, left_out: int) -> list[dict[str, Any]]:
    """The label's paragraphs with so many steps left out; `weight` and `scale` are for the template."""
    short = left_out > 0
    found: list[dict[str, Any]] = [_line(f"{label.name}, {label.volume}", weight="bold", scale=1.35)]
    ghs = label.ghs
    if ghs.signal:
        found.append(_line(ghs.signal, weight="bold", scale=1.25))
    found += _hazards(ghs, left_out)
    found.append(_line(" + ".join(_held(f"{grams} {name}") for name, grams in label.composition)))
    if left_out < 2 and label.holds:
        found.append(
            _line("1 mL holds " + ", ".join(_held(f"{symbol} {mg.removesuffix('/mL')}") for symbol, mg in label.holds))
        )
    found.append(_line(label.dose, weight="bold"))
    found.append(_line(f"Made on {label.made_on}, discard after {label.discard_after}."))
    if left_out < 4:
        found.append(_line(label.keep))
    if label.anyway:
        why = f"; given because: {label.anyway}" if left_out < 6 else f": {SEE_SHEET}"
        found.append(_line(f"The dose passes a published limit{why}"))
    if left_out < 1 and label.not_told:
        found.append(_line(f"Not told: {'; '.join(label.not_told)}."))
    found.append(_line(f"{SHEET}{' Shortened: ' + SEE_SHEET + '.' if short and (ghs.h or ghs.p) else ''}"))
    return found


def _hazards(ghs: GhsLabel, left_out: int) -> list[dict[str, Any]]:
    if not ghs.h:
        return [_line(NO_STATEMENT)] if left_out < 4 else []
    if left_out >= 5:
        return [_line(f"{', '.join(one.code for one in ghs.h)}: {SEE_SHEET}")]
    found = [_line(" ".join(f"{one.code} {one.text}" for one in ghs.h))]
    if left_out < 3:
        found.append(_line(" ".join(f"{one.code} {one.text}" for one in ghs.p)))
    else:
        codes = ", ".join(one.code for one in ghs.p)
        found.append(_line(f"{codes}: {SEE_SHEET}"))
    return found


def _held(text: str) -> str:
    """A number stays with its unit and its name on one line."""
    return text.replace(" ", "\u00a0")


def _line(text: str, *, weight: str = "regular", scale: float = 1.0) -> dict[str, Any]:
    return {"text": text, "weight": weight, "scale": scale}


def _code(url: str) -> str:
    """A QR code as SVG text, with error correction that stands a thumb on it, and the quiet zone of its standard."""
    import segno

    buffer = BytesIO()
    segno.make_qr(url, error="m", boost_error=False).save(buffer, kind="svg", border=4, xmldecl=False, nl=False)
    return buffer.getvalue().decode()
