"""Finder patterns are found one by one, at every turn and size, and not in cloth or noise."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageDraw

from onsite.slates.qr_symbol import MODULES
from onsite.slates.reader.finder_patterns import FinderPattern, find_finder_patterns, merged
from tests.slates.taken import CODE, FINDER, scene, turned

CORNERS = ((FINDER, FINDER), (MODULES - FINDER, FINDER), (FINDER, MODULES - FINDER))
Y, X = np.mgrid[0:400, 0:600]


def missed(
    found: list[FinderPattern], to_pixels: np.ndarray, module: float, within: float = 1.0
) -> list[int]:
    """Which of a symbol's three finder patterns are not among those found, within a module."""
    return [
        number
        for number, corner in enumerate(CORNERS)
        if not any(
            np.abs(to_pixels @ (1, *corner) - (finder.x, finder.y)).max() < within * module
            for finder in found
        )
    ]


@pytest.mark.long
@settings(max_examples=20, derandomize=True, deadline=None)
@given(angle=st.floats(0, 360), module=st.floats(2.2, 8.4))
def test_all_three_are_found_at_every_turn_and_size(angle: float, module: float) -> None:
    # Askew, a row crosses modules of up to 12 pixels.
    picture, to_pixels = turned(CODE, module, angle)
    assert missed(find_finder_patterns(picture), to_pixels, module) == []


@pytest.mark.long
@settings(max_examples=20, derandomize=True, deadline=None)
@given(angle=st.floats(0, 360), module=st.floats(3, 8.4))
def test_all_three_are_found_where_some_could_be_damaged(angle: float, module: float) -> None:
    picture, to_pixels = turned(CODE, module, angle)
    assert missed(find_finder_patterns(picture, damaged=True), to_pixels, module) == []


@pytest.mark.parametrize("angle", [0, 20, 45, 90, 200])
@pytest.mark.parametrize("module", [3.0, 6.0, 8.0])
def test_their_size_is_that_of_a_module(module: float, angle: float) -> None:
    picture, to_pixels = turned(CODE, module, angle)
    true = [to_pixels @ (1, *corner) for corner in CORNERS]
    sizes = [
        finder.module
        for finder in find_finder_patterns(picture)
        if any(np.abs(point - (finder.x, finder.y)).max() < module for point in true)
    ]
    # Along a row that crosses it askew a module is longer by the root of 2 at most, so is the mean of both.
    assert all(0.85 * module < size < 1.5 * module for size in sizes)
    assert len(sizes) == 3


def test_those_that_most_rows_cross_come_first() -> None:
    lines = [finder.lines for finder in find_finder_patterns(turned(CODE, 6, 12)[0])]
    assert lines == sorted(lines, reverse=True)
    assert lines[0] >= 10


def test_larger_ones_are_found_in_a_smaller_picture_only() -> None:
    picture, to_pixels = turned(CODE, 15, 10, side=400)
    assert len(missed(find_finder_patterns(picture), to_pixels, 15)) == 3
    smaller = [finder.scaled(3) for finder in find_finder_patterns(picture.reduce(3))]
    assert missed(smaller, to_pixels, 15) == []


def test_one_under_glare_is_found_as_damaged() -> None:
    picture, to_pixels = turned(CODE, 6, 8)
    _, y = to_pixels @ (1, FINDER, FINDER)
    ImageDraw.Draw(picture).rectangle((0, 0, 270, y - 2 * 6), fill=255)  # its upper ring is gone
    assert 0 in missed(find_finder_patterns(picture), to_pixels, 6)
    assert missed(find_finder_patterns(picture, damaged=True), to_pixels, 6)[:1] != [0]


STRIPED = {
    "even": np.full(X.shape, 128),
    "stripes": (X // 12 % 2) * 200,
    "stripes askew": ((X + 2 * Y) // 17 % 2) * 200,
    "checks": ((X // 10 + Y // 10) % 2) * 200,
    "gradient": X / 600 * 255,
    "faint noise": 128 + np.random.default_rng(3).normal(0, 3, X.shape),
    "discs": (np.hypot(X % 40 - 20, Y % 40 - 20) < 12) * 200,
}


@pytest.mark.parametrize("name", STRIPED)
@pytest.mark.parametrize("damaged", [False, True])
def test_none_are_found_in_cloth_and_walls(name: str, damaged: bool) -> None:
    assert find_finder_patterns(Image.fromarray(STRIPED[name].astype(np.uint8)), damaged=damaged) == []


@pytest.mark.parametrize("seed", range(5))
def test_hardly_any_are_found_in_noise(seed: int) -> None:
    noise = np.random.default_rng(seed).integers(0, 256, (40, 60)).repeat(10, 0).repeat(10, 1)
    assert len(find_finder_patterns(Image.fromarray(noise.astype(np.uint8)))) <= 1


def test_an_empty_wall_has_none() -> None:
    assert find_finder_patterns(scene()) == []


finders = st.builds(
    FinderPattern, x=st.floats(0, 500), y=st.floats(0, 500), module=st.floats(1, 12), lines=st.integers(2, 40)
)


@given(st.lists(finders, max_size=12))
def test_merged_ones_are_some_of_those_given_and_lie_apart(several: list[FinderPattern]) -> None:
    kept = merged(several)
    assert set(kept) <= set(several)
    assert bool(kept) == bool(several)
    for number, one in enumerate(kept):
        for other in kept[:number]:
            assert abs(one.x - other.x) + abs(one.y - other.y) >= 2 * max(one.module, other.module)
            assert other.lines >= one.lines
    assert merged(kept) == kept
    assert merged(reversed(several)) == kept or len(set(several)) > len(
        {(f.lines, f.y, f.x) for f in several}
    )


def test_one_pattern_seen_at_two_sizes_is_one() -> None:
    picture, to_pixels = turned(CODE, 6, 15)
    both = merged(
        [
            *find_finder_patterns(picture),
            *(finder.scaled(2) for finder in find_finder_patterns(picture.reduce(2))),
        ]
    )
    near = [
        sum(np.hypot(*(to_pixels @ (1, *corner) - (finder.x, finder.y))) < 12 for finder in both)
        for corner in CORNERS
    ]
    assert near == [1, 1, 1]
