"""The colours of the arms stay apart for people with colour-vision deficiencies, and read as text on both papers.

Sources: Machado, Oliveira & Fernandes 2009 (IEEE TVCG 15:1291) for the deficiencies at full severity and CIE 142-2001
for the difference, both as computed by colour-science; WCAG 2.2, success criterion 1.4.3 (text 4.5 : 1) and its
definitions of relative luminance and contrast ratio, from memory.
"""

from __future__ import annotations

import itertools
import warnings

import numpy as np
import pytest

from littoral.publish.look import ARM_LOOKS, DARK, LIGHT

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # colour-science warns about plotting libraries it does not need here
    import colour

JUST_TOLD_APART = 10.0
"""ΔE00 between two arms' lines; common practice, no source: a just noticeable difference is about 1 to 2."""


def _rgb(hexed: str) -> np.ndarray:
    return np.array([int(hexed[i : i + 2], 16) / 255 for i in (1, 3, 5)])


def _lab(hexed: str, deficiency: str | None) -> np.ndarray:
    linear = colour.models.eotf_sRGB(_rgb(hexed))
    if deficiency is not None:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # tritanomaly: the paper itself calls it an approximation
            linear = np.clip(colour.matrix_cvd_Machado2009(deficiency, 1.0) @ linear, 0, 1)
    return np.asarray(colour.XYZ_to_Lab(colour.RGB_to_XYZ(linear, "sRGB")))


def _contrast(one: str, other: str) -> float:
    """WCAG 2.2's contrast ratio, from its own definition of relative luminance."""
    bright, dark = sorted(
        (
            float(np.dot((0.2126, 0.7152, 0.0722), np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)))
            for c in (_rgb(one), _rgb(other))
        ),
        reverse=True,
    )
    return (bright + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("deficiency", [None, "Protanomaly", "Deuteranomaly", "Tritanomaly"])
@pytest.mark.parametrize("paper", ["colour", "on_dark"])
def test_arms_stay_apart(paper: str, deficiency: str | None) -> None:
    for one, other in itertools.combinations(ARM_LOOKS, 2):
        labs = (_lab(getattr(look, paper), deficiency) for look in (one, other))
        assert colour.delta_E(*labs, method="CIE 2000") >= JUST_TOLD_APART, (one, other)


def test_arms_differ_in_shape_too() -> None:
    assert len({look.shape for look in ARM_LOOKS}) == len(ARM_LOOKS)


@pytest.mark.parametrize("paper", [LIGHT, DARK])
def test_texts_have_the_contrast_of_wcag_aa(paper: object) -> None:
    look = "colour" if paper is LIGHT else "on_dark"
    ground = getattr(paper, "paper")  # noqa: B009
    texts = [getattr(paper, name) for name in ("ink", "soft", "warning")] + [getattr(arm, look) for arm in ARM_LOOKS]
    assert min(_contrast(text, ground) for text in texts) >= 4.5
    assert _contrast(getattr(paper, "soft"), getattr(paper, "shade")) >= 4.5  # noqa: B009


def test_black_on_white_is_21_to_1() -> None:
    assert _contrast("#000000", "#ffffff") == pytest.approx(21.0)
