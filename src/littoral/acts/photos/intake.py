"""Taking photos in: what a file shows is looked at, then it is placed in time and view, then it is kept.

`look` reads and decodes and writes nothing, so that several threads can do it; `place` decides, one photo after the
other, since each may be the example the next is compared with; `keep` writes, originals before their rows.
"""

from __future__ import annotations

from bisect import bisect, insort
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import PurePosixPath
from typing import TYPE_CHECKING

from littoral.acts.photos.dating import AS_IT_IS, ClockShift, Undated, date_of_photo
from littoral.acts.photos.file_names import SUFFIXES, plain_name
from littoral.acts.photos.rows import BY_LOOK, PhotoFile, PhotoRow, ViewBy
from littoral.acts.told import made
from littoral.acts.trial_files import LARGEST_PHOTO
from littoral.errors import LittoralError
from littoral.logbook.book import Logbook
from littoral.logbook.originals import sha256_of
from littoral.trial.entries import Entry, Photo, Withdrawn
from littoral.trial.identity import photo_id
from littoral.trial.model import Trial

if TYPE_CHECKING:
    from littoral.imaging.decode import PhotoHeader
    from littoral.imaging.doubts import Resemblance
    from littoral.imaging.likeness import Look
    from littoral.imaging.mirrored import MirrorFit

LOOKED_AT_PX = 640
EXAMPLES = 3
"""So many photos of a view, the nearest in time, are what a new one is compared with."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a person said of the photos: their view, moment, how to put the camera's clock right, who, and a note."""

    view: str | None = None
    when: datetime | None = None
    clock: ClockShift = AS_IT_IS
    who: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Looked:
    """A whole photo: its file's name, bytes and hash, its header, what was assumed in decoding, and its look."""

    name: str
    data: bytes
    sha256: str
    header: PhotoHeader
    notes: tuple[str, ...]
    look: Look


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """A photo ready to be kept."""

    looked: Looked
    entry: Entry
    row: PhotoRow


class Intake:
    """Takes photos into one trial of an open logbook; `now` is the present."""

    def __init__(self, book: Logbook, trial: Trial, *, now: datetime) -> None:
        self._book, self.trial, self._now = book, trial, now
        self._examples: dict[str, list[tuple[datetime, str]]] = {view: [] for view in trial.views}
        self._cameras: dict[str, set[str]] = {view: set() for view in trial.views}
        for entry in book.entries_of(trial.key, (Photo,)):
            self._example(entry)
        self._looks: dict[str, Look] = {}
        self._names: dict[str, str] = {}
        self._placed_data: dict[str, bytes] = {}  # of those that are placed and not on the disk yet

    def look(self, file: PhotoFile) -> Looked | PhotoRow:
        """Read a file and decode it small; a row where it is no photo that is read here, or is in the logbook."""
        try:
            data = file.read()
        except OSError as error:
            return PhotoRow(file.name, "refused", f"It cannot be read ({error.strerror or error}).")
        if len(data) > LARGEST_PHOTO:
            size = f"It is {len(data) // 1_000_000} MB; a photo may have {LARGEST_PHOTO // 1_000_000} MB."
            return PhotoRow(file.name, "refused", size)
        sha256 = sha256_of(data)
        if (there := self.known(file.name, sha256)) is not None:
            self._put_back(sha256, data)
            return there
        return self.look_at(file.name, data)

    def look_at(self, name: str, data: bytes) -> Looked | PhotoRow:
        """Decode a photo's bytes small; a row where they are no photo that is read here."""
        from littoral.imaging.decode import decode_photo
        from littoral.imaging.likeness import look_at
        from littoral.imaging.photo_errors import PhotoError

        try:
            decoded = decode_photo(data, width_px=LOOKED_AT_PX)
        except PhotoError as error:
            return PhotoRow(name, "refused", str(error))
        return Looked(name, data, sha256_of(data), decoded.header, decoded.notes, look_at(decoded.image))

    def place(self, looked: Looked, wanted: Wanted) -> Placed | PhotoRow:
        """Place a photo in time and view; a row where that has to be asked, or the same file was placed before."""
        from littoral.imaging.doubts import propose

        if looked.sha256 in self._names:
            return PhotoRow(looked.name, "duplicate", f"It is the same file as {self._names[looked.sha256]}.")
        header = looked.header
        dated = date_of_photo(
            looked.name,
            exif_taken=header.exif_taken,
            exif_offset=header.exif_offset,
            trial=self.trial,
            now=self._now,
            told=wanted.when,
            shift=wanted.clock,
        )
        if isinstance(dated, Undated):
            return self._undated(looked, dated)
        alike = self._alike(looked, dated.at)
        proposal = propose(alike)
        view, by = self._view_told(looked.name, wanted)
        if view is None and proposal.view is not None:
            view, by = proposal.view, "look"
        if view is None:
            some = any(one is not None for one in alike.values())
            said = "It is like the photos of no view so far." if some else "No view has a photo yet to compare it with."
            return PhotoRow(
                looked.name, "asked", f"{said} Which view does it show?", asks="view", at=dated.at,
                choices=proposal.order,
            )  # fmt: skip
        found = (*dated.doubts, *self._doubts(looked, view, dated.at, alike))
        if by == "look":
            found = (*found, BY_LOOK)
        return self._placed(looked, view, by, found, dated.at, dated.by, dated.note, wanted)

    def keep(self, placed: Sequence[Placed]) -> tuple[PhotoRow, ...]:
        """Keep photos and return their rows: once this returns they are on the disk. Raises what `Logbook` raises."""
        kept: dict[str, tuple[str, int]] = {}
        for one in placed:
            suffix = SUFFIXES[one.looked.header.format]
            self._book.keep_bytes(one.looked.data, suffix)
            self.keep_look(one.looked)
            kept[one.looked.sha256] = (suffix, len(one.looked.data))
            self._placed_data.pop(one.looked.sha256, None)
        added = {entry.id for entry in self._book.add([one.entry for one in placed], kept=kept)}
        again = "It is in the logbook already."
        return tuple(
            one.row if one.entry.id in added else replace(one.row, state="duplicate", said=again) for one in placed
        )

    def doubts_about(self, looked: Looked, view: str, at: datetime) -> tuple[str, ...]:
        """Return what makes a person look twice at a photo of `view` taken `at` (UTC)."""
        return self._doubts(looked, view, at, self._alike(looked, at))

    def keep_look(self, looked: Looked) -> None:
        """Keep how a photo looks, which later ones are compared with."""
        self._book.keep_cached("looks", f"{looked.sha256}.look", looked.look.to_bytes())

    def _doubts(
        self, looked: Looked, view: str, at: datetime, alike: Mapping[str, Resemblance | None]
    ) -> tuple[str, ...]:
        from littoral.imaging.doubts import doubts, looks_mirrored, with_mirror

        names = {key: one.name for key, one in self.trial.views.items()}
        found = doubts(looked.look, view, self._near(view, at), alike, names)
        if not looks_mirrored(alike[view], found):
            return found
        return with_mirror(found, self._mirror_fit(looked, view, at))

    def _mirror_fit(self, looked: Looked, view: str, at: datetime) -> MirrorFit | None:
        """Bring a photo onto the nearest one of its view that can be read; None where there is none."""
        from littoral.imaging.decode import decode_photo
        from littoral.imaging.mirrored import mirror_fit
        from littoral.imaging.photo_errors import PhotoError

        for _, sha256 in self._nearest(view, at):
            try:
                data = self._placed_data.get(sha256) or self._book.original(sha256).read_bytes()
                earlier = decode_photo(data, width_px=LOOKED_AT_PX).image
            except (OSError, PhotoError, LittoralError):
                continue
            return mirror_fit(decode_photo(looked.data, width_px=LOOKED_AT_PX).image, earlier)
        return None

    def _placed(
        self,
        looked: Looked,
        view: str,
        by: ViewBy,
        found: tuple[str, ...],
        at: datetime,
        dated_by: str,
        note: str,
        wanted: Wanted,
    ) -> Placed:
        shown = self.trial.views[view]
        photo = Photo(
            looked.sha256,
            view,
            dated_by,  # type: ignore[arg-type]
            plain_name(looked.name) or f"{view}{SUFFIXES[looked.header.format]}",
            doubts=found,
            camera=looked.header.camera,
        )
        entry = made(
            self.trial,
            photo,
            identity=photo_id(looked.sha256, view, trial=self.trial.key),
            at=at,
            zone=self.trial.zone,
            tank=shown.panes[0].tank if len(shown.panes) == 1 else None,
            who=wanted.who,
            note="; ".join(filter(None, (wanted.note.strip(), note))),
        )
        row = PhotoRow(
            looked.name,
            "to decide" if found else "added",
            " ".join(_sentence(doubt) for doubt in found),
            view=view,
            view_by=by,
            at=at,
            photo=entry.id,
            doubts=found,
            remarks=self._remarks(looked, view, note),
        )
        self._names[looked.sha256] = looked.name
        self._looks[looked.sha256] = looked.look
        self._placed_data[looked.sha256] = looked.data
        self._example(entry)
        return Placed(looked, entry, row)

    def _remarks(self, looked: Looked, view: str, note: str) -> tuple[str, ...]:
        remarks = [_sentence(one) for one in (*looked.notes, *filter(None, (note,)))]
        if looked.header.has_place:
            remarks.append("It holds the place where it was taken: that stays in the original and is never published.")
        if (camera := looked.header.camera) and self._cameras[view] and camera not in self._cameras[view]:
            remarks.append(f"It was taken by another camera ({camera}) than this view's photos before it.")
        return tuple(remarks)

    def _put_back(self, sha256: str, data: bytes) -> None:
        """Write an original that got lost from the disk."""
        if self._book.read_only is None and not (path := self._book.original(sha256)).exists():
            self._book.keep_bytes(data, path.suffix)

    def known(self, name: str, sha256: str) -> PhotoRow | None:
        """Return the row of a photo whose content is in the trial already, whatever its name or view; else None."""
        ids = {photo_id(sha256, view, trial=self.trial.key): view for view in self.trial.views}
        for identity in self._book.ids_among(ids):
            entry, ahead = self._book.entry(identity)
            last = ahead or entry
            said = "It is in the logbook already."
            if isinstance(last.payload, Withdrawn):
                said = "It was added before and then undone; it stays undone."
            elif isinstance(last.payload, Photo) and last.payload.decided == "set aside":
                said = "It was added before and then set aside; it stays so."
            return PhotoRow(name, "duplicate", said, view=ids[identity], at=entry.at, photo=last.id)
        return None

    def _undated(self, looked: Looked, undated: Undated) -> PhotoRow:
        said = f"It {undated.why} When was it taken?"
        if undated.propose:
            said += f" {undated.propose} would fit: was the camera's clock wrong?"
        return PhotoRow(looked.name, "asked", said, asks="date", propose_when=undated.propose)

    def _view_told(self, name: str, wanted: Wanted) -> tuple[str | None, ViewBy]:
        if wanted.view is not None:
            return wanted.view, "told"
        if len(self.trial.views) == 1:
            return next(iter(self.trial.views)), "only view"
        hinted = hinted_view(name, self.trial)
        return hinted, "folder" if hinted else ""

    def _alike(self, looked: Looked, at: datetime) -> dict[str, Resemblance | None]:
        from littoral.imaging.doubts import resemblance

        return {view: resemblance(looked.look, self._near(view, at)) for view in self.trial.views}

    def _near(self, view: str, at: datetime) -> list[Look]:
        near = sorted(self._nearest(view, at))
        return [look for _, sha256 in near if (look := self._look_of(sha256)) is not None]

    def _nearest(self, view: str, at: datetime) -> list[tuple[datetime, str]]:
        all_ = self._examples[view]  # by time
        here = bisect(all_, (at, ""))
        about = all_[max(0, here - EXAMPLES) : here + EXAMPLES]
        return sorted(about, key=lambda one: abs(one[0] - at))[:EXAMPLES]

    def _example(self, entry: Entry) -> None:
        if isinstance(entry.payload, Photo) and (entry.payload.used or entry.payload.doubts == (BY_LOOK,)):
            insort(self._examples[entry.payload.view], (entry.at, entry.payload.sha256))
            self._cameras[entry.payload.view] |= {entry.payload.camera} - {""}

    def _look_of(self, sha256: str) -> Look | None:
        """Return the look of a photo in the logbook, from the cache or anew; None where it cannot be read any more."""
        from littoral.imaging.decode import decode_photo
        from littoral.imaging.likeness import look_at, look_from
        from littoral.imaging.photo_errors import PhotoError

        if sha256 not in self._looks:
            name = f"{sha256}.look"
            try:
                found = look_from(self._book.cache_path("looks", name).read_bytes())
            except OSError:
                found = None
            if found is None:
                try:
                    data = self._book.original(sha256).read_bytes()
                    found = look_at(decode_photo(data, width_px=LOOKED_AT_PX).image)
                except (OSError, PhotoError, LittoralError):
                    return None
                if self._book.read_only is None:
                    self._book.keep_cached("looks", name, found.to_bytes())
            self._looks[sha256] = found
        return self._looks[sha256]


def hinted_view(name: str, trial: Trial) -> str | None:
    """Return the one view that a file's folders name: by its short name, its name, its folder of photos or its tank."""
    parts = {part.casefold() for part in PurePosixPath(name.replace("\\", "/")).parts[:-1]}
    hits = set()
    for view in trial.views.values():
        called = {view.key, view.name, PurePosixPath(view.photos).name}
        if len(view.panes) == 1:
            called.add(view.panes[0].tank)
        if parts & {one.casefold() for one in called if one}:
            hits.add(view.key)
    return hits.pop() if len(hits) == 1 else None


def _sentence(text: str) -> str:
    whole = text[:1].upper() + text[1:]
    return whole if whole.endswith((".", "?", "!")) else f"{whole}."
