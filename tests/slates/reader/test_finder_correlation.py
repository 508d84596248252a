"""Finder patterns are found whole where no line shows them, and not in cloth or noise."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image, ImageFilter

from onsite.slates.qr_symbol import MODULES
from onsite.slates.reader.finder_correlation import find_whole
from onsite.slates.reader.finder_patterns import FinderPattern
from tests.slates.taken import CODE, FINDER, turned

CORNERS = ((FINDER, FINDER), (MODULES - FINDER, FINDER), (FINDER, MODULES - FINDER))
Y, X = np.mgrid[0:400, 0:600]


def missed(found: list[FinderPattern], to_pixels: np.ndarray, module: float) -> list[int]:
    """Which of a symbol's three finder patterns are not among those found, within a module."""
    return [
        number
        for number, corner in enumerate(CORNERS)
        if not any(np.abs(to_pixels @ (1, *corner) - (finder.x, finder.y)).max() < module for finder in found)
    ]


@pytest.mark.parametrize("module", [0.95, 1.1, 2.0, 2.8, 3.5])
@pytest.mark.parametrize("angle", [0, 8, 90, 174, 270])
def test_all_three_are_found_down_to_a_pixel_to_a_module(module: float, angle: float) -> None:
    picture, to_pixels = turned(CODE, module, angle)
    assert missed(find_whole(picture), to_pixels, module) == []


def test_all_three_are_found_in_noise_of_the_contrast_itself() -> None:
    picture, to_pixels = turned(CODE, 3.0, 5)
    noise = np.random.default_rng(3).normal(0, 80, np.asarray(picture).shape)
    noisy = Image.fromarray(np.clip(np.asarray(picture) * 0.5 + 60 + noise, 0, 255).astype(np.uint8))
    assert missed(find_whole(noisy), to_pixels, 3.0) == []


def test_all_three_are_found_where_single_modules_are_blurred_away() -> None:
    picture, to_pixels = turned(CODE, 3.0, 5)
    assert missed(find_whole(picture.filter(ImageFilter.BoxBlur(2.5))), to_pixels, 3.0) == []


def test_their_size_is_about_that_of_a_module() -> None:
    picture, to_pixels = turned(CODE, 3.0, 0)
    for corner in CORNERS:
        at = to_pixels @ (1, *corner)
        near = [each for each in find_whole(picture) if np.abs(at - (each.x, each.y)).max() < 3]
        assert near
        assert all(2.4 < each.module < 3.7 for each in near)


@pytest.mark.parametrize(
    "grey",
    [
        np.full((400, 600), 150),
        150 + 60 * np.sign(np.sin(X / 4)),
        150 + 60 * np.sign(np.sin(X / 3) * np.sin(Y / 3)),
        100 + 100 * np.sin((X + 2 * Y) / 9),
        np.random.default_rng(1).uniform(0, 255, (400, 600)),
    ],
    ids=["plain", "stripes", "checks", "waves", "noise"],
)
def test_there_are_none_in_cloth_and_noise(grey: np.ndarray) -> None:
    assert find_whole(Image.fromarray(grey.astype(np.uint8))) == []


@pytest.mark.parametrize("size", [(1, 1), (4, 9), (12, 12), (40, 6)])
def test_a_tiny_picture_has_none(size: tuple[int, int]) -> None:
    assert find_whole(Image.new("L", size, 90)) == []
