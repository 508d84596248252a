"""Finder patterns are found at every turn and size, through noise and blur, and not in cloth or noise."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageFilter

from onsite.slates.qr_symbol import MODULES
from onsite.slates.reader.finder_patterns import (
    FinderPattern,
    find_finder_patterns,
    find_whole_symbols,
)
from tests.slates.taken import CODE, FINDER, scene, turned

CORNERS = ((FINDER, FINDER), (MODULES - FINDER, FINDER), (FINDER, MODULES - FINDER))
Y, X = np.mgrid[0:400, 0:600]


def near(picture: Image.Image, to_pixels: np.ndarray, module: float) -> list[list[FinderPattern]]:
    """For every list of those found, those that lie within a module of one of the symbol's three."""
    true = [to_pixels @ (1, *corner) for corner in CORNERS]
    return [
        [each for each in some if any(np.abs(at - (each.x, each.y)).max() < module for at in true)]
        for some in find_finder_patterns(picture)
    ]


def together(picture: Image.Image, to_pixels: np.ndarray, module: float) -> int:
    """How many of a symbol's three are found at the same scale."""
    return max(len(some) for some in near(picture, to_pixels, module))


@pytest.mark.long
@settings(max_examples=20, derandomize=True, deadline=None)
@given(angle=st.floats(0, 360), module=st.floats(1.0, 8.4))
def test_two_or_three_are_found_at_every_turn_and_size(angle: float, module: float) -> None:
    # Where pixels straddle modules one may be missed; two will do.
    assert together(*turned(CODE, module, angle), module) >= 2


@pytest.mark.parametrize("module", [0.95, 1.1, 2.0, 2.8, 3.5, 8.0])
@pytest.mark.parametrize("angle", [0, 8, 90, 174, 270])
def test_two_or_three_are_found_down_to_a_pixel_to_a_module(module: float, angle: float) -> None:
    assert together(*turned(CODE, module, angle), module) >= 2


def test_large_ones_are_found_too() -> None:
    assert together(*turned(CODE, 14.0, 10, side=420), 14.0) == 3


def test_all_three_are_found_in_noise_of_the_contrast_itself() -> None:
    picture, to_pixels = turned(CODE, 3.0, 5)
    noise = np.random.default_rng(3).normal(0, 80, np.asarray(picture).shape)
    noisy = Image.fromarray(np.clip(np.asarray(picture) * 0.5 + 60 + noise, 0, 255).astype(np.uint8))
    assert together(noisy, to_pixels, 3.0) == 3


@pytest.mark.parametrize("modules", [0.5, 1.0, 1.3])
def test_all_three_are_found_where_single_modules_are_blurred_away(modules: float) -> None:
    picture, to_pixels = turned(CODE, 4.0, 5)
    assert together(picture.filter(ImageFilter.GaussianBlur(4.0 * modules)), to_pixels, 4.0) == 3


@pytest.mark.parametrize("modules", [1.0, 1.5, 2.0])
@pytest.mark.parametrize("module", [1.5, 3.0, 7.0])
@pytest.mark.parametrize("angle", [0, 20, 45, 200])
def test_a_whole_symbol_is_found_however_far_out_of_focus(
    angle: float, module: float, modules: float
) -> None:
    picture, to_pixels = turned(CODE, module, angle)
    found = find_whole_symbols(picture.filter(ImageFilter.GaussianBlur(modules * module)))
    best = max(found, key=lambda each: each.likeness)
    middle = to_pixels @ (1, MODULES / 2, MODULES / 2)
    assert np.abs(middle - (best.x, best.y)).max() < 2 * module
    assert 0.8 * module < best.module < 1.25 * module
    assert abs((best.turn - angle + 45) % 90 - 45) <= 15


@pytest.mark.parametrize("angle", [0, 20, 45, 90, 200])
@pytest.mark.parametrize("module", [3.0, 6.0, 8.0])
def test_their_size_is_that_of_a_module(module: float, angle: float) -> None:
    found = max(near(*turned(CODE, module, angle), module), key=lambda some: sum(f.likeness for f in some))
    assert len(found) >= 2
    assert all(0.7 * module < finder.module < 1.4 * module for finder in found)


def test_those_that_are_most_alike_come_first_and_once() -> None:
    for some in find_finder_patterns(turned(CODE, 6, 12)[0]):
        likeness = [finder.likeness for finder in some]
        assert likeness == sorted(likeness, reverse=True)
        for number, one in enumerate(some):
            for other in some[:number]:
                assert abs(one.x - other.x) + abs(one.y - other.y) >= 2 * max(one.module, other.module)


TEXTURES = {
    "plain": np.full(X.shape, 150),
    "stripes": 150 + 60 * np.sign(np.sin(X / 4)),
    "stripes askew": ((X + 2 * Y) // 17 % 2) * 200,
    "waves": 100 + 100 * np.sin((X + 2 * Y) / 9),
    "gradient": X / 600 * 255,
    "noise": np.random.default_rng(1).uniform(0, 255, X.shape),
    "faint noise": 128 + np.random.default_rng(3).normal(0, 3, X.shape),
}


@pytest.mark.parametrize("name", TEXTURES)
def test_hardly_any_are_found_in_cloth_and_noise(name: str) -> None:
    found = find_finder_patterns(Image.fromarray(TEXTURES[name].astype(np.uint8)))
    assert all(finder.likeness < 0.65 for some in found for finder in some)


def test_an_empty_wall_has_none() -> None:
    assert not any(find_finder_patterns(scene()))
    assert find_whole_symbols(scene()) == []


@pytest.mark.parametrize("size", [(1, 1), (4, 9), (12, 12), (40, 6)])
def test_a_tiny_picture_has_none(size: tuple[int, int]) -> None:
    assert not any(find_finder_patterns(Image.new("L", size, 90)))
    assert find_whole_symbols(Image.new("L", size, 90)) == []
