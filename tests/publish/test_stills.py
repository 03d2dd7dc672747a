"""Stills: what stands where, the words of each, and nothing of the camera in the file."""

from __future__ import annotations

import dataclasses
import io
import itertools
import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageCms

from littoral.findings.measured import Measured, MeasuredPhoto
from littoral.publish.chart import Chart
from littoral.publish.charts import charts_of
from littoral.publish.draw import to_png
from littoral.publish.look import DARK, LIGHT
from littoral.publish.still import chart as chart_module
from littoral.publish.still.arrows import BETWEEN, Pointed, placed, rows_needed
from littoral.publish.still.chart import chart_still
from littoral.publish.still.make import NoPictureError, make_still
from littoral.publish.still.options import SIZES, Arrow, StillOptionError, StillOptions, still_options
from littoral.publish.still.saved import picture_bytes, srgb_profile, write_picture
from littoral.publish.still.scale_bar import SHARE, bar_cm
from littoral.trial.model import Trial

SECRETS = ("Ada Keeper", "SN-48151623", "Secret Camera 3000")
LATITUDE = (52.0, 31.0, 12.34)


@pytest.mark.parametrize("kind", ["pair", "days", "twin"])
@pytest.mark.parametrize("size", list(SIZES))
def test_every_kind_in_every_size(trial: Trial, measured: Measured, kind: str, size: str) -> None:
    still = make_still(trial, measured, still_options({"kind": kind, "size": size}))
    assert still.picture.size == SIZES[size]
    assert still.alt.startswith("Rendered pictures, not real tanks, of 2 planted tanks on day")
    assert len(still.days) == {"pair": 2, "days": 4, "twin": 1}[kind]
    corner = still.picture.getpixel((2, 2))
    assert corner == tuple(int(DARK.paper[i : i + 2], 16) for i in (1, 3, 5))


def test_double_size_and_light_paper(trial: Trial, measured: Measured) -> None:
    still = make_still(trial, measured, StillOptions(scale=2, paper="light"))
    assert still.picture.size == (3840, 2160)
    assert still.picture.getpixel((2, 2)) == tuple(int(LIGHT.paper[i : i + 2], 16) for i in (1, 3, 5))


def test_the_days_asked_for_are_shown_and_gaps_are_said(trial: Trial, measured: Measured) -> None:
    """The left tank lacks day 17, so day 16 is shown, said in the words and marked in the picture."""
    still = make_still(trial, measured, still_options({"kind": "days", "days": [16, 17], "size": "square"}))
    assert still.days == (16.0, 17.0)
    assert "Full (left tank): day 16, " in still.alt
    assert "day 17, " in still.alt
    assert "(no photo then; day 16 shown)" in still.alt
    pixels = np.asarray(still.picture).astype(int)
    warning = np.array([int(DARK.warning[i : i + 2], 16) for i in (1, 3, 5)])
    marked = (np.abs(pixels - warning).max(axis=2) < 10).sum(axis=0)
    whole = make_still(trial, measured, still_options({"kind": "days", "days": [15, 16], "size": "square"}))
    unmarked = (np.abs(np.asarray(whole.picture).astype(int) - warning).max(axis=2) < 10).sum(axis=0)
    assert marked[540:].sum() > unmarked[540:].sum() + 2000


def test_the_twin_has_its_names_arrows_and_a_scale_bar(trial: Trial, measured: Measured) -> None:
    options = still_options({"days": [5]})
    named, plain = (make_still(trial, measured, dataclasses.replace(options, labels=some)) for some in (True, False))
    assert np.abs(np.asarray(named.picture).astype(int) - np.asarray(plain.picture)).max() > 200
    assert "A scale bar is 10 cm long in the plane of the tank's corners." in named.alt
    views = {
        key: dataclasses.replace(view, panes=tuple(dataclasses.replace(pane, width_cm=None) for pane in view.panes))
        for key, view in trial.views.items()
    }
    unscaled = make_still(dataclasses.replace(trial, views=views), measured, options)
    assert "scale bar" not in unscaled.alt
    own = dataclasses.replace(options, arrows=(Arrow("left", 0.5, 0.5, "a snail"),))
    assert "An arrow in left tank says: a snail." in make_still(trial, measured, own).alt


def test_the_scale_bar_is_as_long_as_it_says(trial: Trial, measured: Measured) -> None:
    """The pane is 60 cm across, so the white bar is a sixth of the picture's width."""
    still = make_still(trial, measured, still_options({"days": [5], "labels": False}))
    white = (np.asarray(still.picture)[:, : 1920 // 2] == 255).all(axis=2)
    runs = [int(row.sum()) for row in white]
    bar = max(runs)
    ratio = 140 / 92
    across = min((1920 - 88 - 18) / 2, (1080 - 122 - 62 - 52) * ratio)
    assert bar == pytest.approx(across * 10 / 60, abs=3)


@pytest.mark.parametrize(("width", "bar"), [(60.0, 10.0), (30.0, 5.0), (120.0, 20.0), (4.0, 0.5), (0.2, 0.1)])
def test_scale_bars_are_round(width: float, bar: float) -> None:
    assert bar_cm(width) == bar


@given(st.floats(0.5, 400))
def test_a_scale_bar_fits(width: float) -> None:
    assert bar_cm(width) <= SHARE * width + 1e-9 or bar_cm(width) == 0.1


@given(st.lists(st.tuples(st.floats(0, 1), st.floats(20, 160)), min_size=1, max_size=9), st.floats(500, 1800))
def test_names_over_a_picture_do_not_overlap(some: list[tuple[float, float]], room: float) -> None:
    pointers = [Pointed(f"name {place}", across, 0.5) for place, (across, _) in enumerate(some)]
    widths = [width for _, width in some]
    rows = rows_needed(widths, room)
    stand = placed(pointers, widths, room=room)
    for row in range(rows):
        boxes = sorted(
            (one.middle - width / 2, one.middle + width / 2)
            for one, width in zip(stand, widths, strict=True)
            if one.row == row
        )
        if sum(end - begin for begin, end in boxes) + BETWEEN * (len(boxes) - 1) > room:
            continue  # too many for the room whatever is done
        assert all(one[1] + BETWEEN <= other[0] + 1e-6 for one, other in itertools.pairwise(boxes))
        assert boxes[0][0] >= -1e-6
        assert boxes[-1][1] <= room + 1e-6


def _spoken(folder: Path) -> tuple[Path, MeasuredPhoto]:
    """An original full of what must not get out: a place, a serial number, a name."""
    exif = Image.Exif()
    exif[0x010F], exif[0x013B] = SECRETS[2], SECRETS[0]  # Make, Artist
    exif.get_ifd(0x8769)[0xA431] = SECRETS[1]  # BodySerialNumber
    gps = exif.get_ifd(0x8825)
    gps[1], gps[2], gps[3], gps[4] = "N", LATITUDE, "E", (13.0, 24.0, 1.5)
    path = folder / "Ada Keeper at home.jpg"
    Image.new("RGB", (160, 120), (90, 120, 60)).save(path, "JPEG", exif=exif.tobytes())
    prepared = folder / "prepared.jpg"
    Image.open(path).save(prepared, "JPEG", exif=exif.tobytes(), comment=SECRETS[0].encode())
    return path, MeasuredPhoto("photo", "0" * 64, "left", 0.5, prepared, None, None, "", (), ())


@pytest.mark.parametrize("file", ["png", "jpeg"])
@pytest.mark.parametrize("look", ["even", "original"])
def test_nothing_of_the_camera_gets_out(trial: Trial, tmp_path: Path, file: str, look: str) -> None:
    original, photo = _spoken(tmp_path)
    with Image.open(original) as shown:
        assert shown.getexif().get_ifd(0x8825)  # the original keeps its own
    options = still_options({"file": file, "look": look})
    still = make_still(trial, Measured((photo,), "test 1"), options, originals=lambda _sha256: original)
    path = tmp_path / f"out.{file}"
    write_picture(path, still.picture, alt=still.alt, file=file)
    for written in (path, path.with_suffix(".txt"), path.with_suffix(".json")):
        data = written.read_bytes()
        for secret in (*SECRETS, original.name, str(tmp_path), "GPS"):
            assert secret.encode() not in data, secret
            assert secret.encode("utf-16-le") not in data
    with Image.open(path) as shown:
        shown.load()
        assert not shown.getexif().get_ifd(0x8825)
        assert not shown.getexif().get_ifd(0x8769)
        assert set(shown.getexif()) <= {0x010E}


@pytest.mark.parametrize("file", ["png", "jpeg"])
def test_the_file_holds_its_words_and_srgb(file: str) -> None:
    alt = "Two tanks – “full” at −1.5 & <more>"
    picture = Image.new("RGB", (40, 30), (10, 200, 30))
    data = picture_bytes(picture, alt=alt, file=file, scale=2)
    assert data == picture_bytes(picture, alt=alt, file=file, scale=2)
    with Image.open(io.BytesIO(data)) as shown:
        shown.load()
        profile = ImageCms.ImageCmsProfile(io.BytesIO(shown.info["icc_profile"]))
        assert "srgb" in ImageCms.getProfileDescription(profile).lower()
        assert shown.info["dpi"][0] == pytest.approx(192, abs=0.1)
        if file == "png":
            assert shown.text["Description"] == alt  # type: ignore[attr-defined]
            assert np.array_equal(np.asarray(shown), np.asarray(picture))
        else:
            assert shown.getexif()[0x010E] == 'Two tanks - "full" at -1.5 & <more>'
        packet = shown.info["xmp"] if file == "jpeg" else shown.info["XML:com.adobe.xmp"].encode()
    told = ElementTree.fromstring(packet.decode().lstrip("\ufeff"))
    space = "{http://iptc.org/std/Iptc4xmpCore/1.0/xmlns/}"
    (words,) = told.iter(f"{space}AltTextAccessibility")
    assert "".join(words.itertext()) == alt


def test_the_profile_is_srgb_to_the_eye() -> None:
    """Converted from our profile to LittleCMS' own sRGB, colours stay what they are."""
    ramp = Image.fromarray(np.arange(768, dtype=np.uint8).reshape(16, 16, 3))
    ours = ImageCms.ImageCmsProfile(io.BytesIO(srgb_profile()))
    same = ImageCms.profileToProfile(ramp, ours, ImageCms.createProfile("sRGB"))
    assert same is not None
    assert np.abs(np.asarray(same).astype(int) - np.asarray(ramp)).max() <= 1


def test_words_stand_beside_the_picture(trial: Trial, measured: Measured, tmp_path: Path) -> None:
    still = make_still(trial, measured, still_options({"size": "square"}))
    picture, words, data = write_picture(
        tmp_path / "twin.png", still.picture, alt=still.alt, file="png", more={"days": list(still.days)}
    )
    assert words.read_text(encoding="utf-8") == f"{still.alt}\n"
    told = json.loads(data.read_text(encoding="utf-8"))
    assert told == {"file": "twin.png", "alt": still.alt, "width_px": 1080, "height_px": 1080, "days": [27.0]}
    assert picture.stat().st_size > 10_000


@pytest.fixture(scope="module")
def draw(trial: Trial, measured: Measured) -> Iterator[Callable[[float], Mapping[str, Chart]]]:
    """The charts of the small trial, few of them, in one width."""

    @cache
    def made(width_px: float) -> Mapping[str, Chart]:
        charts = charts_of(trial, measured=measured, findings=(), width_px=width_px)
        return {"canopy-height": charts["canopy-height"]}

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(chart_module, "WIDTHS_PX", (760.0,))
        yield made


def test_charts_as_stills_fill_their_size_on_dark_paper(draw: Callable[[float], Mapping[str, Chart]]) -> None:
    options = still_options({"kind": "chart", "chart": "canopy-height", "size": "portrait"})
    dark, chart = chart_still(draw, options)
    assert dark.size == SIZES["portrait"]
    paper = np.array([16, 24, 22])
    assert dark.getpixel((1, 1)) == tuple(paper)
    rows, columns = np.nonzero(np.abs(np.asarray(dark).astype(int) - paper).max(axis=2) > 40)
    assert max(np.ptp(columns) / dark.width, np.ptp(rows) / dark.height) > 0.85
    assert chart.key == "canopy-height"
    with pytest.raises(StillOptionError, match=r"no chart 'red'; it has canopy-height\."):
        chart_still(draw, dataclasses.replace(options, chart="red"))


def test_a_chart_as_a_still_is_the_chart_that_the_sheet_shows(draw: Callable[[float], Mapping[str, Chart]]) -> None:
    """The same specification drawn by the renderer's own PNG writer, in the same size: the same picture."""
    options = still_options({"kind": "chart", "chart": "canopy-height", "paper": "light", "size": "square"})

    def wordless(width_px: float) -> Mapping[str, Chart]:
        return {key: dataclasses.replace(chart, caption="") for key, chart in draw(width_px).items()}

    still, drawn = chart_still(wordless, options)
    with Image.open(io.BytesIO(to_png(drawn.spec, scale=1))) as plain:
        ratio = min((1080 - 48) / plain.width, (1080 - 48) / plain.height)
    with Image.open(io.BytesIO(to_png(drawn.spec, scale=ratio))) as large:
        own = np.asarray(large.convert("RGB")).astype(int)
    top, left = (still.height - own.shape[0]) // 2, (still.width - own.shape[1]) // 2
    part = np.asarray(still).astype(int)[top : top + own.shape[0], left : left + own.shape[1]]
    assert np.abs(part - own).mean() < 1.5


def test_a_chart_as_a_still_names_its_trial_and_says_what_its_marks_are(
    draw: Callable[[float], Mapping[str, Chart]],
) -> None:
    options = still_options({"kind": "chart", "chart": "canopy-height", "paper": "light", "size": "landscape"})
    plain, chart = chart_still(draw, options)
    titled, _ = chart_still(draw, options, title="Sparing or full feeding")
    wordless, _ = chart_still(
        lambda px: {key: dataclasses.replace(one, caption="") for key, one in draw(px).items()}, options
    )
    dark = [np.asarray(still.convert("L")) < 200 for still in (wordless, plain, titled)]
    top, foot = slice(24, 54), slice(-60, -20)
    assert dark[2][top].sum() > dark[1][top].sum() + 500  # the title stands above the chart
    assert dark[1][foot].sum() > dark[0][foot].sum() + 500  # how to read it stands below
    assert chart.caption


def test_without_photos_there_is_no_still(trial: Trial) -> None:
    with pytest.raises(NoPictureError, match="No tank of this trial has a photo yet"):
        make_still(trial, Measured((), "test 1"), StillOptions())


@pytest.mark.parametrize(
    ("written", "message"),
    [
        ({"kind": "poster"}, "kind is 'poster'; it can be pair, days, twin, chart."),
        ({"scale": 3}, "scale is 3; it is 1 or 2."),
        ({"days": "12"}, "days is '12'; list days of the trial"),
        ({"days": list(range(13))}, "13 days are named; a still shows at most 12."),
        ({"days": [float("nan")]}, "days is [nan]; list days"),
        ({"arrows": [{"tank": "left", "across": 2, "down": 0.5, "words": "x"}]}, "An arrow points at 2, 0.5."),
        ({"arrows": [{"tank": "left"}]}, "An arrow is {'tank': 'left'}."),
        ({"arrows": [{"tank": "left", "across": 0, "down": 0, "words": "x" * 81}]}, "An arrow says "),
        ({"frame": "gold"}, "A still has no option frame; it has "),
    ],
)
def test_wrong_options_are_named(written: dict[str, object], message: str) -> None:
    with pytest.raises(StillOptionError) as raised:
        still_options(written)
    assert str(raised.value).startswith(message)


def test_what_a_still_cannot_show_is_refused(trial: Trial, measured: Measured) -> None:
    with pytest.raises(StillOptionError, match=r"Day 40 has no photo near it; photos are of day 0 to day 27\."):
        make_still(trial, measured, still_options({"days": [40]}))
    arrows = (Arrow("middle", 0.5, 0.5, "x"),)
    with pytest.raises(StillOptionError, match=r"No tank 'middle' is in this still; there are left, right\."):
        make_still(trial, measured, StillOptions(arrows=arrows))
    with pytest.raises(StillOptionError, match="Arrows are drawn on a twin still"):
        make_still(trial, measured, StillOptions(kind="pair", arrows=arrows))


def test_options_survive_plain_data() -> None:
    options = StillOptions(
        "days", "portrait", 2, "light", "original", "jpeg", (0.0, 7.0), False, (Arrow("a", 0.1, 0.2, "w"),), "levels"
    )
    assert still_options(json.loads(json.dumps(options.as_json()))) == options


def test_alt_words_do_not_grow_without_end(trial: Trial, measured: Measured) -> None:
    many: Sequence[float] = tuple(float(day) for day in range(12))
    still = make_still(trial, measured, still_options({"kind": "days", "days": list(many)}))
    assert len(still.alt) < 900


def test_before_and_after_tell_of_the_same_plants_in_every_tank(trial: Trial, measured: Measured) -> None:
    """Else the words compare a red plant with a green one."""
    still = make_still(trial, measured, still_options({"kind": "pair"}))
    counts = {stand.name: still.alt.count(f" {stand.name} ") for stand in trial.stands.values()}
    assert {count for count in counts.values() if count} == {4}, counts  # two days of two tanks
    assert sum(count > 0 for count in counts.values()) == 2


def test_one_day_is_no_before_and_after(trial: Trial, measured: Measured) -> None:
    first = replace(measured, photos=tuple(photo for photo in measured.photos if photo.day < 1))
    assert make_still(trial, first, still_options({"kind": "twin"})).days == (0.0,)
    with pytest.raises(StillOptionError, match="All photos are of day 0: before and after need two days"):
        make_still(trial, first, still_options({"kind": "pair"}))
