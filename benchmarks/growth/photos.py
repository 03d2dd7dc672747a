"""One view of so many small rendered photos in a process of its own: taken in, measured, one photo more. Prints JSON.

Run: python benchmarks/growth/photos.py COUNT. Processor seconds of one worker; the photos are sixteen of the demo's
again and again, each with a content of its own. What a photo of 12 megapixels takes is a row of `make bench`.
"""

from __future__ import annotations

import json
import sys
import tempfile
from datetime import date, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))
from intake_rows import numbered

from growth.point import cpu_s, peak_mb

RENDERED = 16


def run(count: int) -> dict[str, float]:
    """Return seconds of each stage and MB of memory at the peak."""
    from littoral.acts.import_trial import import_trial
    from littoral.acts.measure_photos import measure_photos
    from littoral.demo.scenario import write_demo

    with tempfile.TemporaryDirectory() as temporary:
        files, book = Path(temporary) / "files", Path(temporary) / "logbook"
        trial = write_demo(files, days=RENDERED, size=(400, 300), workers=1)
        (files / "entries.csv").unlink()
        text = trial.read_text(encoding="utf-8").replace(f'length = "{RENDERED} days"', f'length = "{count + 1} days"')
        trial.write_text(text, encoding="utf-8")
        base = [path.read_bytes() for path in sorted((files / "photos" / "left").iterdir())]
        for view in ("left", "right"):
            for path in (files / "photos" / view).iterdir():
                path.unlink()

        def shot(number: int) -> None:
            on = date(2026, 3, 2) + timedelta(days=number)
            data = numbered(base[number % len(base)], number)
            (files / "photos" / "left" / f"left-{on}-1330.jpg").write_bytes(data)

        for number in range(count):
            shot(number)
        found: dict[str, float] = {"photos": count}
        found["take in"] = cpu_s(lambda: import_trial(book, trial))
        found["measure"] = cpu_s(lambda: measure_photos(book, on="1"))
        found["measured already"] = cpu_s(lambda: measure_photos(book, on="1"))
        shot(count)
        import_trial(book, trial)
        found["measure one photo more"] = cpu_s(lambda: measure_photos(book, on="1"))
        found["memory, MB"] = peak_mb()
    return found


if __name__ == "__main__":
    print(json.dumps(run(int(sys.argv[1]))))
