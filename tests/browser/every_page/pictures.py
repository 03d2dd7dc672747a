"""Pictures of every page, in both themes on a phone and on a desk, and contact sheets of them: `make pictures`.

python -m tests.browser.every_page.pictures DEMO_LOGBOOK OUT [THEME WIDTH [NAME ...]]
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from PIL import Image, ImageDraw
from playwright.sync_api import Error, sync_playwright
from tests.browser.conftest import ARGUMENTS, CHROMIUM
from tests.browser.every_page.visits import VISITS
from tests.browser.every_page.walk import open_visit, sites, window

THEMES = ("light", "dark")
WIDTHS = (390, 1440)
CELL_PX = {390: (300, 840), 1440: (600, 760)}
ACROSS = {390: 8, 1440: 4}
ROWS = 3


def take(demo: Path, out: Path, *, themes: Sequence[str], widths: Sequence[int], names: Sequence[str] = ()) -> None:
    """Write OUT/THEME-WIDTH/NAME.png for every visit (or those named), and OUT/THEME-WIDTH-N.png as contact sheets."""
    chosen = [visit for visit in VISITS if not names or visit.name in names]
    path = os.environ.get("LITTORAL_CHROMIUM") or next(filter(None, map(shutil.which, CHROMIUM)))
    with tempfile.TemporaryDirectory() as made_in, sync_playwright() as playwright, sites(demo, Path(made_in)) as at:
        browser = playwright.chromium.launch(executable_path=path, args=list(ARGUMENTS))
        for theme in themes:
            for width in widths:
                folder = out / f"{theme}-{width}"
                folder.mkdir(parents=True, exist_ok=True)
                context = window(browser, theme=theme, width=width)
                taken = []
                for visit in chosen:
                    page = context.new_page()
                    try:
                        open_visit(page, visit, at)
                        page.screenshot(path=folder / f"{visit.name}.png", full_page=True)
                        taken.append(folder / f"{visit.name}.png")
                    except Error as error:
                        print(f"{visit.name}: {error}", file=sys.stderr)
                    page.close()
                context.close()
                contact_sheets(taken, out / f"{theme}-{width}", cell_px=CELL_PX[width], across=ACROSS[width])
        browser.close()


def contact_sheets(taken: Sequence[Path], stem: Path, *, cell_px: tuple[int, int], across: int) -> None:
    """Write STEM-1.png, STEM-2.png, …: the top of every picture, with its name."""
    wide, high = cell_px
    for number, start in enumerate(range(0, len(taken), across * ROWS), 1):
        some = taken[start : start + across * ROWS]
        rows = -(-len(some) // across)
        sheet = Image.new("RGB", (across * (wide + 8), rows * (high + 24)), (120, 120, 120))
        draw = ImageDraw.Draw(sheet)
        for place, path in enumerate(some):
            left, top = place % across * (wide + 8), place // across * (high + 24)
            with Image.open(path) as picture:
                scaled = picture.convert("RGB").resize((wide, round(picture.height * wide / picture.width)))
            sheet.paste(scaled.crop((0, 0, wide, min(high, scaled.height))), (left, top + 20))
            draw.text((left + 2, top + 4), path.stem, fill=(255, 255, 255), font_size=14)
        sheet.save(f"{stem}-{number}.png")


if __name__ == "__main__":
    _, demo_book, folder_out, *rest = sys.argv
    take(
        Path(demo_book),
        Path(folder_out),
        themes=rest[:1] or THEMES,
        widths=[int(width) for width in rest[1:2]] or WIDTHS,
        names=rest[2:],
    )
