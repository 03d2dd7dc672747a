"""Stands and views: which plants stand where, and what is drawn on the photos."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import get_args

from littoral.trial.model import CHART_EDITIONS, Pane, Point, Region, RegionKind, Stand, View
from littoral.trial.written.amounts import amount, frame_px
from littoral.trial.written.report import show_path, suggest
from littoral.trial.written.shapes import corners_in, polygon_in
from littoral.trial.written.table import Key, Table
from littoral.trial.written.values import flag, one_of, region_name, some_of, text

STAND_KEYS = {
    "name": Key('"red stem plant"', "name shown; the short name unless given"),
    "tanks": Key('["left", "right"]', "tanks that it stands in; all unless given"),
}
VIEW_KEYS = {
    "name": Key('"left tank, front"', "name shown; the short name unless given"),
    "photos": Key('"photos/left"', "folder of its photos, seen from the trial file", required=True),
    "match": Key('"*.jpg"', "which files of the folder; all photos unless given"),
    "frame": Key('"1600 x 1200 px"', "size of the photo that the points were read on", required=True),
    "camera_locked": Key("false", "whether exposure and white balance were fixed; false unless given"),
    "tanks": Key("{ left = { … } }", "a table [views.….tanks.…] for each tank in the frame", required=True),
}
PANE_KEYS = {
    "corners": Key(
        "[[100, 140], [1500, 140], [1500, 1060], [100, 1060]]",
        "front glass: top left, top right, bottom right, bottom left; the whole frame unless given",
    ),
    "width": Key('"60 cm"', "distance between the left and right corners; without it nothing is measured in cm"),
    "regions": Key('[{ stand = "red-stem", polygon = […] }]', "what is measured in this tank", required=True),
}
REGION_KINDS: tuple[RegionKind, ...] = get_args(RegionKind)
REGION_KEYS = {
    "stand": Key('"red-stem"', "short name of the stand that is outlined"),
    "stone": Key('"stone"', "name for a stone: greening is measured on it"),
    "wood": Key('"root"', "name for wood: greening is measured on it"),
    "glass": Key('"front glass"', "name for a piece of bare glass: greening is measured on it"),
    "card": Key('"grey card"', "name for a grey card in the water"),
    "polygon": Key("[[300, 200], [520, 200], [520, 900], [300, 900]]", "points around it, in pixels", required=True),
    "reflects": Key('"18 %"', "share of the light that a card reflects, where it is known"),
    "chart": Key('"after Nov 2014"', "edition of a 24-patch chart; its polygon is the outer corners of the patches"),
    "look": Key('"auto"', 'how a stand is told from its background: "auto", "chroma" or "green"'),
}


def read_stands(root: Table, tanks: Iterable[str]) -> dict[str, Stand]:
    """Read every `[stands.…]`."""
    known = tuple(tanks)
    return {
        key: Stand(
            key=key,
            name=table.optional("name", text, key),
            tanks=table.optional("tanks", some_of(known, "tanks"), known),
        )
        for key, table in root.tables("stands", STAND_KEYS, "a stand").items()
    }


def read_views(root: Table, tanks: Iterable[str], stands: Mapping[str, Stand]) -> dict[str, View]:
    """Read every `[views.…]`."""
    known = tuple(tanks)
    tables = root.tables("views", VIEW_KEYS, "a view")
    return {key: _view(key, table, known, stands) for key, table in tables.items()}


def _view(key: str, table: Table, tanks: tuple[str, ...], stands: Mapping[str, Stand]) -> View:
    frame = table.required("frame", frame_px, None)
    if "tanks" not in table:
        table.wrong_at(
            table.path,
            f"{show_path(table.path)} shows no tank.",
            f"Add a table for each tank in the frame, such as [views.{key}.tanks.{tanks[0] if tanks else 'left'}].",
        )
    return View(
        key=key,
        name=table.optional("name", text, key),
        photos=table.required("photos", text, ""),
        match=table.optional("match", text, "*"),
        frame_px=frame or (1, 1),
        panes=read_panes(table, tanks, frame, stands),
        camera_locked=table.optional("camera_locked", flag, False),
    )


def read_panes(
    table: Table, tanks: tuple[str, ...], frame: tuple[int, int] | None, stands: Mapping[str, Stand]
) -> tuple[Pane, ...]:
    """Read the tanks of a view: a table for each, under `tanks`."""
    panes = []
    for tank, pane in table.tables("tanks", PANE_KEYS, "a tank in a view").items():
        if tank not in tanks:
            pane.wrong_at(
                pane.path, f'{show_path(pane.path)}: there is no tank "{tank}".', suggest(tank, tanks, "tanks")
            )
        panes.append(_pane(tank, pane, frame, stands if tank in tanks else None))
    return tuple(panes)


def _pane(tank: str, table: Table, frame: tuple[int, int] | None, stands: Mapping[str, Stand] | None) -> Pane:
    rows = table.listed("regions", REGION_KEYS, "a region")
    if not rows and not table.report.is_wrong((*table.path, "regions")):
        what = f"{show_path(table.path)} has no regions, so nothing in it is measured."
        table.wrong_at(table.path, what, f"Add `regions = {PANE_KEYS['regions'].example}`.")
    regions: list[Region] = []
    for row in rows:
        region = _region(row, frame)
        if region is None:
            continue
        if any(region.key == other.key for other in regions):
            what = f'is "{region.key}", as another region of this tank is.'
            row.wrong(region.kind, what, "Give every region of a tank its own short name.")
        if region.kind == "stand" and stands is not None:
            _check_stand(region.key, row, tank, stands)
        regions.append(region)
    return Pane(
        tank=tank,
        regions=tuple(regions),
        corners_px=table.optional("corners", corners_in(frame), None),
        width_cm=table.optional("width", amount("length", above_zero=True), None),
    )


def _region(row: Table, frame: tuple[int, int] | None) -> Region | None:
    kinds = [kind for kind in REGION_KINDS if kind in row]
    polygon: tuple[Point, ...] = row.required("polygon", polygon_in(frame), ())
    if len(kinds) != 1:
        found = f"is both {' and '.join(kinds)}" if kinds else "does not say what it outlines"
        right = f'Give one of {", ".join(REGION_KINDS)}, such as `stand = "red-stem"`.'
        row.wrong_at(row.path, f"{show_path(row.path)} {found}.", right)
        return None
    kind = kinds[0]
    if "look" in row and kind != "stand":
        row.wrong("look", f"is given for {kind}.", "Only a stand has a look: leave it out.")
    look = row.optional("look", one_of(("auto", "chroma", "green"), "looks"), "auto")
    if "reflects" in row and kind != "card":
        row.wrong("reflects", f"is given for {kind}.", "Only a card has a known share: leave it out.")
    reflects = row.optional("reflects", amount("fraction", above_zero=True, at_most=1.0), None)
    chart = _chart(row, kind, polygon)
    key = row.required(kind, region_name, "")
    return Region(key=key, kind=kind, polygon_px=polygon, look=look, reflects=reflects, chart=chart) if key else None


def _chart(row: Table, kind: RegionKind, polygon: tuple[Point, ...]) -> str | None:
    """Read the edition of a chart, and check that it can be one."""
    chart = row.optional("chart", one_of(CHART_EDITIONS, "editions"), None)
    if chart is not None and kind != "card":
        row.wrong("chart", f"is given for {kind}.", "Only a card can be a chart: leave it out.")
    elif chart is not None and "reflects" in row:
        row.wrong("reflects", "is given for a chart.", "What a chart's patches are is known: leave it out.")
    elif chart is not None and polygon and len(polygon) != 4:
        row.wrong("polygon", f"has {len(polygon)} points.", "A chart has four: the outer corners of its patches.")
    return chart


def _check_stand(key: str, row: Table, tank: str, stands: Mapping[str, Stand]) -> None:
    stand = stands.get(key)
    if stand is None:
        row.wrong("stand", f'is "{key}", which is not described.', suggest(key, stands, "stands"))
    elif tank not in stand.tanks and not row.report.is_wrong(("stands", key)):
        right = f'Add "{tank}" to [stands.{key}] tanks, or outline another stand.'
        row.wrong("stand", f'is "{key}", which does not stand in tank "{tank}".', right)
