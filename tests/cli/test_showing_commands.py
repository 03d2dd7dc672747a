"""`littoral film` and `littoral still`, on a trial of two photos whose right tank has none."""

from __future__ import annotations

import json
from pathlib import Path

import av
import pytest
import webvtt
from PIL import Image
from typer.testing import CliRunner, Result

from littoral.cli.main import app


def run(*arguments: object) -> Result:
    return CliRunner().invoke(app, [str(argument) for argument in arguments], catch_exceptions=False)


def test_a_film_of_two_photos_with_its_captions(two_photos, tmp_path: Path) -> None:
    made = run("film", two_photos.logbook, "--out", tmp_path, "--format", "square", "--height", 180, "--seconds", 4)
    assert made.exit_code == 0, made.output
    assert "libx264" in made.output
    assert "10 of 12 pictures are of days without a photo (the one before is held, and marked)" in made.output
    with av.open(tmp_path / "film.mp4") as film:
        assert sum(1 for _ in film.decode(video=0)) == 120
        assert [one["metadata"]["title"] for one in film.chapters()] == ["What was compared", "Baseline", "Findings"]
    said = " ".join(caption.text for caption in webvtt.read(tmp_path / "film.vtt"))
    assert "No photo of" in said
    assert "yet." in said


def test_a_film_as_json_in_another_codec_and_gaps(two_photos, tmp_path: Path) -> None:
    file = tmp_path / "mine.webm"
    arguments = ("--codec", "vp9", "--gaps", "cross-faded", "--look", "original", "--height", 180, "--seconds", 3)
    made = run("film", two_photos.logbook, "--out", file, *arguments, "--no-cards", "--zoom", "tall", "--json")
    assert made.exit_code == 0, made.output
    told = json.loads(made.output)
    assert told["film"] == str(file)
    assert (told["frames"], told["seconds"], told["moments"], told["without_photo"]) == (90, 3.0, 6, 10)
    assert file.with_suffix(".vtt").is_file()


def test_a_still_says_its_words(two_photos, tmp_path: Path) -> None:
    made = run("still", two_photos.logbook, "pair", "--out", tmp_path, "--size", "square", "--file", "jpeg", "--double")
    assert made.exit_code == 0, made.output
    assert "Photos of 2 planted tanks on days 0 and 5" in made.output
    with Image.open(tmp_path / "pair-square@2x.jpg") as picture:
        assert picture.size == (2160, 2160)
    twin = run(
        "still", two_photos.logbook, "--out", tmp_path, "--day", 5, "--arrow", "left 0.3 0.5 a new leaf", "--json"
    )
    assert twin.exit_code == 0, twin.output
    assert "An arrow in left tank says: a new leaf." in json.loads(twin.output)["alt"]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("film", "--format", "round"), "format is 'round'; it can be landscape, portrait, square."),
        (("film", "--zoom", "snail"), "No tank of the film shows 'snail' enlarged; drawn are tall, bare glass."),
        (("film", "--chart", "snail"), "No stand or region is called 'snail'; there are tall, bare glass."),
        (("film", "--out", "film.webm"), "film.webm does not end in .mp4, as a film in h264 does."),
        (("still", "poster"), "kind is 'poster'; it can be pair, days, twin, chart."),
        (("still", "twin", "--day", "300"), "Day 300 has no photo near it"),
        (("still", "chart", "--chart", "snail"), "The trial has no chart 'snail'; it has "),
    ],
)
def test_what_cannot_be_is_refused_in_one_line(two_photos, tmp_path, arguments, words) -> None:
    command, *more = arguments
    place = () if "--out" in more else ("--out", tmp_path)
    made = run(command, two_photos.logbook, *more, *place)
    assert made.exit_code == 1
    assert words in made.output
    assert list(tmp_path.iterdir()) == []


def test_without_photos_it_says_so(levels_logbook, tmp_path) -> None:
    for command in ("film", "still"):
        made = run(command, levels_logbook, "--out", tmp_path)
        assert made.exit_code == 1
        assert "No tank of this trial has a photo yet" in made.output
