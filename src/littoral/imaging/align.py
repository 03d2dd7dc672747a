"""Bring a photo to its view: points of the reference outside the plants are found again, and a homography fitted.

Points are followed (pyramidal Lucas-Kanade) on log luminance with its local mean and contrast taken out, so that
exposure, white balance and tone curve do not matter. Half of the points fit, the other half verify. Where the start is
too far off, the tank's corners are looked for by correlation, then ORB features. A homography cannot mend parallax: a
hand moved sideways by 1 cm at 1 m shifts the back of a 30 cm deep tank by 0.3 % of its width.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from littoral.imaging.frames import Mask

FEATURE_WIDTH_PX = 640
MAX_POINTS = 240
MIN_POINTS = 12
MAX_MOVE = 0.12
"""A photo that must be moved by more than this share of the frame's width is not aligned but flagged."""
MAX_RESIDUAL_PX = 3.0
"""Median residual on the verifying points, in pixels of a 1,200 px wide frame (and at least 1.5), above which a fit is
not used."""
WORTH = 0.75
"""A fit must lower the residual of the photo as it is to this share of it."""

Matrix = NDArray[np.float64]
Points = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class AlignReference:
    """What of the reference photo is looked for in the others: its texture, points (n, 2) there, and tank corners."""

    size_px: tuple[int, int]
    feature_scale: float
    texture: NDArray[np.uint8]
    points: Points
    corners: Points | None


@dataclass(frozen=True, slots=True, eq=False)
class Alignment:
    """`matrix` (3, 3) takes pixels of the photo as decoded to the working frame.

    `residual_px` is the median distance left on points that did not take part in the fit, in working pixels; None
    where the photo was only scaled. `flags` are plain sentences.
    """

    matrix: Matrix
    residual_px: float | None
    flags: tuple[str, ...]


def align_reference(
    image: NDArray[np.uint8], *, trusted: Mask, corners_px: NDArray[np.float64] | None = None
) -> AlignReference:
    """Prepare the reference photo, sRGB uint8 (height, width, 3) at working size.

    `trusted` (height, width) is where points may be taken: what neither grows nor moves. `corners_px` (n, 2) are the
    tanks' corners in the same pixels.
    """
    height, width = image.shape[:2]
    scale = min(1.0, FEATURE_WIDTH_PX / width)
    texture = _texture(image, (max(1, round(width * scale)), max(1, round(height * scale))))
    mask = cv2.resize(trusted.astype(np.uint8), texture.shape[::-1], interpolation=cv2.INTER_NEAREST)
    mask = cv2.erode(mask, np.ones((9, 9), np.uint8), borderType=cv2.BORDER_CONSTANT, borderValue=0)
    found = cv2.goodFeaturesToTrack(texture, MAX_POINTS, 0.02, 8, mask=mask, blockSize=7)
    points = np.zeros((0, 2), np.float32) if found is None else found.reshape(-1, 2).astype(np.float32)
    corners = None if corners_px is None or len(corners_px) == 0 else (corners_px * scale).astype(np.float32)
    return AlignReference((width, height), scale, texture, points, corners)


def align(photo: NDArray[np.uint8], reference: AlignReference, *, turned: bool = True) -> Alignment:
    """Find the homography from a photo, sRGB uint8 (height, width, 3) of any size, to the reference's frame.

    A photo that cannot be aligned is scaled to the frame and flagged, never refused; with `turned` it is then tried
    turned left to right, to say whether it is mirrored.
    """
    feature_size = reference.texture.shape[::-1]
    to_feature = np.diag([feature_size[0] / photo.shape[1], feature_size[1] / photo.shape[0], 1.0])
    to_working = np.diag([1 / reference.feature_scale, 1 / reference.feature_scale, 1.0])
    scaled = to_working @ to_feature
    if len(reference.points) < MIN_POINTS:
        return Alignment(scaled, None, ("not aligned: too little structure outside the plants",))
    texture = _texture(photo, feature_size)
    limit = max(1.5, MAX_RESIDUAL_PX * reference.size_px[0] / 1200) * reference.feature_scale
    best: tuple[float, Matrix] | None = None
    for start in (_identity, _by_corners, _by_orb):
        guess = start(texture, reference)
        fitted = None if guess is None else _follow(texture, reference, guess)
        if fitted is not None and (best is None or fitted[0] < best[0]):
            best = fitted
        if best is not None and best[0] <= 0.7 * limit:
            break
    if best is None or best[0] > limit:
        lost = "not aligned: the reference's points were not found again"
        return Alignment(scaled, None, ((turned and _mirrored(photo, reference)) or lost,))
    residual, back = best
    move = _largest_move(back, feature_size)
    if move > MAX_MOVE * feature_size[0]:
        return Alignment(scaled, None, ("not aligned: the framing is too far from the reference's",))
    return Alignment(to_working @ np.linalg.inv(back) @ to_feature, residual / reference.feature_scale, ())


def _mirrored(photo: NDArray[np.uint8], reference: AlignReference) -> str:
    """What a photo's flag says where it fits turned over; "" where it does not."""
    left = align(np.ascontiguousarray(photo[:, ::-1]), reference, turned=False).residual_px
    if left is None:
        return ""
    return (
        f"not aligned: turned over it would fit to {left:.1f} px; is it mirrored, or a twin tank planted as its mirror?"
    )


def warp(photo: NDArray[np.uint8], matrix: Matrix, size_px: tuple[int, int]) -> NDArray[np.uint8]:
    """Resample a photo into the working frame of `size_px` (width, height); beyond the photo its border is repeated."""
    shrink = 1 / np.sqrt(max(1e-9, abs(np.linalg.det(matrix[:2, :2]))))
    if shrink > 1.5:  # averaging first, or fine texture would alias
        factor = 1 / shrink
        photo = np.asarray(cv2.resize(photo, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA), dtype=np.uint8)
        matrix = matrix @ np.diag([shrink, shrink, 1.0])
    if np.allclose(matrix, np.eye(3), atol=1e-6) and photo.shape[1::-1] == size_px:
        return photo
    # Pixel centres: a plain scale by s maps x to s·(x + ½) − ½.
    half = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1.0]])
    warped = cv2.warpPerspective(
        photo, np.linalg.inv(half) @ matrix @ half, size_px, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    return np.asarray(warped, dtype=np.uint8)


def _texture(image: NDArray[np.uint8], size: tuple[int, int]) -> NDArray[np.uint8]:
    """Log luminance without its local mean and contrast, 128 where there is nothing."""
    way = cv2.INTER_AREA if size[0] < image.shape[1] else cv2.INTER_LINEAR
    grey = cv2.resize(cv2.cvtColor(image, cv2.COLOR_RGB2GRAY), size, interpolation=way)  # one channel is a third
    log = cv2.LUT(grey, np.log(np.arange(256) / 255 + 0.03).astype(np.float32))
    window = max(9, size[0] // 32 * 2 + 1)
    detail = np.asarray(cv2.subtract(log, cv2.boxFilter(log, -1, (window, window)), dst=log), dtype=np.float32)
    contrast = np.asarray(cv2.boxFilter(cv2.multiply(detail, detail), -1, (window, window)), dtype=np.float32)
    np.sqrt(np.maximum(contrast, 0, out=contrast), out=contrast)  # in place: asking for memory takes as long again
    contrast += np.float32(0.03)
    detail *= np.float32(48)
    detail /= contrast
    detail += np.float32(128)
    return np.clip(detail, 0, 255, out=detail).astype(np.uint8)


def _identity(_texture: NDArray[np.uint8], _reference: AlignReference) -> Matrix | None:
    return np.eye(3)


def _by_corners(texture: NDArray[np.uint8], reference: AlignReference) -> Matrix | None:
    """Each tank corner by normalised cross-correlation, searched within 8 % of the width."""
    if reference.corners is None:
        return None
    height, width = texture.shape
    half, reach = max(8, width // 28), max(8, round(0.08 * width))
    here, there = [], []
    for x, y in reference.corners:
        x0, y0 = int(np.clip(x, half, width - half - 1)), int(np.clip(y, half, height - half - 1))
        patch = reference.texture[y0 - half : y0 + half + 1, x0 - half : x0 + half + 1]
        left, top = max(0, x0 - half - reach), max(0, y0 - half - reach)
        area = texture[top : y0 + half + reach + 1, left : x0 + half + reach + 1]
        if patch.std() < 1 or area.shape[0] < patch.shape[0] or area.shape[1] < patch.shape[1]:
            continue
        match = cv2.matchTemplate(area, patch, cv2.TM_CCOEFF_NORMED)
        _, score, _, place = cv2.minMaxLoc(match)
        if score > 0.4:
            here.append((x0, y0))
            there.append((place[0] + left + half, place[1] + top + half))
    if len(here) < 3:
        return None
    return _similarity(np.array(here, np.float32), np.array(there, np.float32), reach_px=6.0)[0]


def _by_orb(texture: NDArray[np.uint8], reference: AlignReference) -> Matrix | None:
    """ORB features around the reference's points, matched both ways."""
    orb = cv2.ORB.create(nfeatures=1500)
    mask = np.zeros_like(texture)
    for x, y in reference.points.astype(int):
        cv2.circle(mask, (int(x), int(y)), 12, 255, -1)
    points_1, described_1 = orb.detectAndCompute(reference.texture, mask)
    points_2, described_2 = orb.detectAndCompute(texture, None)
    if described_1 is None or described_2 is None or len(points_1) < 8 or len(points_2) < 8:
        return None
    matches = cv2.BFMatcher(cv2.NORM_HAMMING, crossCheck=True).match(described_1, described_2)
    if len(matches) < 8:
        return None
    here = np.array([points_1[match.queryIdx].pt for match in matches], dtype=np.float32)
    there = np.array([points_2[match.trainIdx].pt for match in matches], dtype=np.float32)
    return _similarity(here, there, reach_px=4.0)[0]


def _follow(texture: NDArray[np.uint8], reference: AlignReference, guess: Matrix) -> tuple[float, Matrix] | None:
    """Follow the points from a guess; give the verified residual (feature pixels) and the matrix reference to photo."""
    points = reference.points
    # Coarse: a third of the points, from far away, one way; it only has to come near.
    some = points[::3]
    there, ok = _track(reference.texture, texture, some, _moved(some, guess), window=21, levels=3)
    near = _fit(some[ok], there[ok])
    if near is None:
        return None
    # Fine: all points there and back again, from where the coarse fit puts them.
    there, ok = _track(reference.texture, texture, points, _moved(points, near[0]), window=17, levels=1)
    back, ok_back = _track(texture, reference.texture, there, points, window=17, levels=1)
    good = ok & ok_back & (np.linalg.norm(back - points, axis=1) < 0.7)
    here, found = points[good], there[good]
    fitted = _fit(here, found)
    if fitted is None or good.sum() < max(MIN_POINTS, 0.15 * len(points)):
        return None
    matrix, inliers = fitted
    halves = [_fit(here[part::2], found[part::2]) for part in (0, 1)]
    if inliers.sum() < max(MIN_POINTS, 0.4 * len(here)) or halves[0] is None or halves[1] is None:
        return None
    missed = [
        np.linalg.norm(_moved(here[1 - part :: 2], half[0]) - found[1 - part :: 2], axis=1)
        for part, half in enumerate(halves)
        if half is not None
    ]
    residual = float(np.median(np.concatenate(missed)))
    still = float(np.median(np.linalg.norm(found - here, axis=1)))
    # A camera that stands still needs no fit: one that hardly helps, or moves less than it leaves, follows noise.
    moves = float(np.median(np.linalg.norm(_moved(here, matrix) - here, axis=1)))
    return (still, np.eye(3)) if residual > min(WORTH * still, moves) else (residual, matrix)


def _track(
    one: NDArray[np.uint8], two: NDArray[np.uint8], points: Points, start: Points, *, window: int, levels: int
) -> tuple[Points, NDArray[np.bool_]]:
    there, ok, _ = cv2.calcOpticalFlowPyrLK(
        one,
        two,
        points[:, None],
        start[:, None].copy(),
        winSize=(window, window),
        maxLevel=levels,
        criteria=(cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, 20, 0.02),
        flags=cv2.OPTFLOW_USE_INITIAL_FLOW,
    )
    return np.asarray(there[:, 0], dtype=np.float32), np.asarray(ok[:, 0] > 0)


def _fit(here: Points, there: Points) -> tuple[Matrix, NDArray[np.bool_]] | None:
    """A homography where many points are spread over the frame, else a similarity."""
    if len(here) < MIN_POINTS // 2:
        return None
    spread = np.ptp(here, axis=0)
    if len(here) >= 30 and spread.min() > 0.4 * spread.max():
        found = cv2.findHomography(here, there, cv2.USAC_MAGSAC, 1.5, maxIters=2000, confidence=0.999)
        matrix, inliers = _or_none(found[0]), np.asarray(found[1], dtype=np.uint8)
    else:
        matrix, inliers = _similarity(here, there, reach_px=1.5)
    if matrix is None:
        return None
    return matrix, inliers.ravel().astype(bool)


def _or_none(matrix: object) -> Matrix | None:
    """OpenCV gives None where nothing fits, which its own types do not say."""
    return None if matrix is None else np.asarray(matrix, dtype=np.float64)


def _similarity(here: Points, there: Points, *, reach_px: float) -> tuple[Matrix | None, NDArray[np.uint8]]:
    here, there = np.ascontiguousarray(here), np.ascontiguousarray(there)  # OpenCV refuses strided points
    found = cv2.estimateAffinePartial2D(here, there, ransacReprojThreshold=reach_px)
    matrix = _or_none(found[0])
    return None if matrix is None else np.vstack([matrix, [0.0, 0.0, 1.0]]), np.asarray(found[1], dtype=np.uint8)


def _moved(points: Points, matrix: Matrix) -> Points:
    return np.asarray(cv2.perspectiveTransform(points[:, None].astype(np.float64), matrix)[:, 0], dtype=np.float32)


def _largest_move(matrix: Matrix, size: tuple[int, int]) -> float:
    width, height = size
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], dtype=np.float32)
    return float(np.linalg.norm(_moved(corners, matrix) - corners, axis=1).max())
