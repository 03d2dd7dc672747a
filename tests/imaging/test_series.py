"""A whole series through both passes: growth, algae and colour come out as drawn; odd photos are reported, not lost."""

from __future__ import annotations

import threading
import weakref

import cv2
import numpy as np
import pytest

from littoral.imaging.measure import COLOUR_FLOOR
from littoral.imaging.photo_errors import DamagedPhotoError, EmptyPhotoError, NoReferencePhotoError
from littoral.imaging.series import (
    make_reference,
    measure_series,
    prepare_photo,
)
from littoral.speech.manner import PSEUDO, Manner, speaking

HEIGHTS = (100, 110, 125, 140, 160, 180, 205, 230)
ALGAE = (0.0, 0.0, 0.0, 0.1, 0.2, 0.3, 0.4, 0.5)


def framing(seed: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    corners = np.array([[0, 0], [640, 0], [640, 480], [0, 480]], dtype=np.float32)
    moved = corners + rng.uniform(-9, 9, 2) + rng.uniform(-2, 2, (4, 2))
    return np.asarray(cv2.getPerspectiveTransform(corners, moved.astype(np.float32)))


def photos(tank) -> list[bytes]:
    rng = np.random.default_rng(1)
    made = []
    for i, (tall, algae) in enumerate(zip(HEIGHTS, ALGAE, strict=True)):
        picture = tank.draw(red_px=tall, green_px=100, algae=algae, seed=i)
        gains = tuple(rng.uniform(0.75, 1.3, 3))
        made.append(tank.jpeg(tank.shoot(picture, gains=gains, matrix=framing(i) if i else None, seed=i)))
    return made


def run(data: list[bytes], view, *, workers: int = 2, progress=None):
    kept: dict[int, np.ndarray] = {}
    return measure_series(
        data.__getitem__,
        len(data),
        view,
        store=kept.__setitem__,
        load=kept.__getitem__,
        workers=workers,
        progress=progress,
    ), kept


def region(frame, key: str):
    return next(one for one in frame.regions if one.region == key)


@pytest.fixture(scope="module")
def measured(tank):
    return run(photos(tank), tank.view())


def test_heights_and_cover_are_those_drawn(measured) -> None:
    frames, _ = measured
    for frame, tall in zip(frames, HEIGHTS, strict=True):
        red, green = region(frame, "red"), region(frame, "green")
        assert red.height_px == pytest.approx(tall, rel=0.03)
        assert red.height_cm == pytest.approx(tall / 10, rel=0.03)  # 600 px are 60 cm
        assert red.cover == pytest.approx(tall * 80 / (250 * 120), abs=0.02)
        assert green.height_px == pytest.approx(100, rel=0.03)
        assert green.width_cm == pytest.approx(8.0, abs=0.3)


def test_colour_stays_though_the_camera_does_not(measured) -> None:
    frames, _ = measured
    a = np.array([[region(frame, key).a for key in ("red", "green")] for frame in frames])
    assert np.ptp(a, axis=0).max() < 2.0
    assert a[:, 0].mean() > 35
    assert a[:, 1].mean() < -20
    for frame in frames[1:]:
        assert frame.colour_residual is not None
        assert region(frame, "red").colour_error > COLOUR_FLOOR


def test_algae_grow_on_the_stone_and_nowhere_before(measured) -> None:
    frames, _ = measured
    for frame, algae in zip(frames, ALGAE, strict=True):
        assert region(frame, "stone").algae == pytest.approx(algae, abs=0.04)


def test_prepared_images_lie_on_each_other(measured) -> None:
    frames, kept = measured
    assert all(frame.align_residual_px is not None and frame.align_residual_px < 0.6 for frame in frames)
    still = np.stack([kept[i][20:140, 60:580].astype(float) for i in range(len(frames))])
    assert np.abs(still - still[0]).mean() < 6


def test_the_number_of_workers_changes_nothing(tank) -> None:
    data = photos(tank)[:4]
    one, _ = run(data, tank.view(), workers=1)
    two, _ = run(data, tank.view(), workers=3)
    assert one == two


def test_odd_photos_are_reported_in_their_place(tank) -> None:
    data = photos(tank)[:4]
    data[1:1] = [b"", data[0][: len(data[0]) // 2], tank.jpeg(np.zeros((480, 640, 3), np.uint8))]
    steps: list[tuple[int, int, str]] = []
    frames, kept = run(data, tank.view(), progress=lambda done, total, what: steps.append((done, total, what)))
    assert [frame.index for frame in frames] == list(range(7))
    assert isinstance(frames[1].refused, EmptyPhotoError)
    assert isinstance(frames[2].refused, DamagedPhotoError)
    assert sorted(kept) == [0, 3, 4, 5, 6]
    assert "the photo is nearly black" in frames[3].flags
    assert region(frames[3], "red").cover == 0
    assert region(frames[6], "red").height_px == pytest.approx(HEIGHTS[3], rel=0.03)
    assert [done for done, _, _ in steps] == list(range(1, 15))
    assert {total for _, total, _ in steps} == {14}
    assert threading.active_count() < 10


def test_no_photo_can_serve_as_reference(tank) -> None:
    dark = tank.jpeg(np.zeros((480, 640, 3), np.uint8))
    # what is kept with the measures is said in one language
    with speaking(Manner(language=PSEUDO)), pytest.raises(NoReferencePhotoError, match="Of 2 photos tried none"):
        run([dark, b"no photo"], tank.view())
    assert run([], tank.view())[0] == ()


def test_a_photo_of_another_shape_is_flagged(tank) -> None:
    data = photos(tank)
    reference = make_reference(data[:2], tank.view())
    turned = tank.jpeg(np.ascontiguousarray(np.rot90(tank.shoot(tank.draw()))))
    prepared = prepare_photo(turned, tank.view(), reference)
    assert prepared.image.shape == (480, 640, 3)
    assert any("is not the view's" in flag for flag in prepared.flags)
    assert any("not aligned" in flag for flag in prepared.flags)


def test_without_a_reference_a_photo_is_only_scaled(tank) -> None:
    prepared = prepare_photo(photos(tank)[0], tank.view())
    assert prepared.image.shape == (480, 640, 3)
    assert (prepared.colour_residual, prepared.align_residual_px) == (None, None)


def test_change_is_told_against_the_first_days(tank) -> None:
    """A red plant that pales: ΔE00 rises from the first days on, and the green one beside it stays."""
    data = []
    for i, paler in enumerate((0, 0, 0, 15, 40)):
        picture = tank.draw(seed=i)
        red = picture[300:400, 120:200]
        red += np.array([0.0, 1.2, 1.0]) * paler
        data.append(tank.jpeg(tank.shoot(picture, gains=(1.0 + 0.1 * i, 1.0, 0.9), seed=i)))
    frames, _ = run(data, tank.view())
    change = {key: [region(frame, key).change for frame in frames] for key in ("red", "green")}
    assert change["red"][4] > 8 > change["red"][3] > 3 > max(change["red"][:3])
    assert max(change["green"]) < 1.5
    red = region(frames[0], "red")
    assert red.chroma == pytest.approx(np.hypot(red.a, red.b))
    assert red.yellowed is None  # a red stand does not yellow
    assert region(frames[0], "green").yellowed == 0.0
    assert red.scale_error is None  # nothing is known of the card


def test_haze_and_film_are_told(measured, tank) -> None:
    frames, _ = measured
    assert all(frame.clarity == pytest.approx(1.0, abs=0.15) for frame in frames)
    stone = region(frames[-1], "stone")
    assert stone.film == pytest.approx(stone.algae, abs=0.03)
    assert stone.spots == pytest.approx(stone.algae - stone.film)
    clear = tank.shoot(tank.draw(), seed=3)
    hazy = cv2.GaussianBlur(clear, (0, 0), 1.5) * 0.7 + 60
    made, _ = run([tank.jpeg(clear), tank.jpeg(clear), tank.jpeg(hazy.astype(np.uint8))], tank.view())
    assert made[2].clarity < 0.7 * made[1].clarity


def test_no_prepared_image_is_held_once_it_was_stored(tank):
    """Memory does not grow with the photos: in the second pass none of the first pass's images is alive but a few."""
    shots = [tank.jpeg(tank.shoot(tank.draw(seed=n), seed=n)) for n in range(12)]
    stored, alive, most = {}, [], 0

    def store(i, image):
        stored[i] = image.copy()
        alive.append(weakref.ref(image if image.base is None else image.base))

    def load(i):
        nonlocal most
        most = max(most, sum(one() is not None for one in alive))
        return stored[i]

    measure_series(shots.__getitem__, len(shots), tank.view(), store=store, load=load, workers=1)
    assert most <= 4
