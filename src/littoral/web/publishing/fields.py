"""What the forms of the page to publish from say: fields of text, read into the options of a job."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from littoral.acts.written_arrow import written_arrow
from littoral.publish.film.options import FilmOptionError, FilmOptions
from littoral.publish.still.options import StillOptionError

MOST_CHARS = 2000
"""What is read of one field."""


def film_fields(form: Mapping[str, str]) -> dict[str, Any]:
    """Return a film's options from a form's fields; FilmOptionError for a number that is none."""
    options: dict[str, Any] = {
        name: form[name] for name in ("format", "gaps", "look", "codec", "zoom", "chart") if name in form
    }
    if "height_px" in form:
        options["height_px"] = _number(form["height_px"], "height_px")
    if form.get("seconds", "").strip():
        options["seconds"] = _number(form["seconds"], "seconds")
    if "kind" in form:  # a whole form: a box that is not ticked sends nothing
        options |= {name: name in form for name in ("captions", "cards")}
    return options


def still_fields(form: Mapping[str, str]) -> dict[str, Any]:
    """Return a still's options from a form's fields; StillOptionError for a day or an arrow that is none."""
    names = {"still_kind": "kind", "size": "size", "paper": "paper", "look": "look", "file": "file"}
    options: dict[str, Any] = {name: form[field] for field, name in names.items() if field in form}
    if "still_chart" in form:
        options["chart"] = form["still_chart"]
    if "scale" in form:
        options["scale"] = 2 if form["scale"] == "2" else 1
    try:
        options["days"] = [float(day) for day in form.get("days", "").replace(",", " ").split()]
    except ValueError:
        raise StillOptionError(f"Days are {form['days'][:60]!r}; write numbers, such as 0, 14, 28.") from None
    if options.get("kind") == "twin":
        options["arrows"] = [
            written_arrow(line) for line in form.get("arrows", "")[:MOST_CHARS].splitlines() if line.strip()
        ]
    if "kind" in form:
        options["labels"] = "labels" in form
    return options


def sheet_fields(form: Mapping[str, str]) -> dict[str, Any]:
    """Return a sheet's options from a form's fields."""
    return {"paper": form.get("sheet_paper", "a4")}


def package_fields(form: Mapping[str, str]) -> dict[str, Any]:
    """Return a data package's options from a form's fields; names to hide stand one a line."""
    texts = ("licence", "photos", "author", "institution", "country", "site")
    return {
        **{name: form.get(name, "").strip()[:MOST_CHARS] for name in texts},
        "photos": form.get("photos") or "none",
        "anonymous": "anonymous" in form,
        "keep_notes": "keep_notes" in form,
        "hide": [line.strip() for line in form.get("hide", "")[:MOST_CHARS].splitlines() if line.strip()],
    }


def _number(text: str, name: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise FilmOptionError(f"{name} is {text[:20]!r}; write a number.") from None


def told(kind: str, options: Mapping[str, Any]) -> str:
    """Return in a few words what a job makes."""
    if kind == "film":
        usual = FilmOptions().as_json()
        codec = {"h264": "H.264", "vp9": "VP9", "av1": "AV1", "webp": "animated WebP"}.get(str(options["codec"]), "")
        parts = [str(options["format"]), codec, f"missing days {options['gaps']}"]
        if options["look"] == "original":
            parts.append("as photographed")
        if options["zoom"]:
            parts.append(f"enlarged: {options['zoom']}")
        if options["seconds"] != usual["seconds"]:
            parts.append(f"{options['seconds']:g} s")
        if options["height_px"] != usual["height_px"]:
            parts.append(f"{options['height_px']} px")
        return ", ".join(parts)
    if kind == "still":
        days = ", ".join(f"{day:g}" for day in options["days"])
        what = {"pair": "before and after", "days": "row of days", "twin": "twin", "chart": f"chart {options['chart']}"}
        parts = [what.get(str(options["kind"]), str(options["kind"])), str(options["size"]), str(options["paper"])]
        if days and options["kind"] != "chart":
            parts.append(f"day {days}")
        return ", ".join(parts) + (" at double size" if options["scale"] == 2 else "")
    if kind == "sheet":
        return {"a4": "A4", "letter": "Letter"}.get(str(options.get("paper")), "")
    if kind == "package":
        photos = {"none": "no photos", "measured": "corrected pictures", "originals": "original photos"}
        parts = [str(options["licence"]), photos.get(str(options["photos"]), "")]
        return ", ".join([*parts, *(["without names"] if options["anonymous"] else [])])
    return ""
