"""A symbol seen: how large, which way up as displayed, and whether two lie on each other."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageOps

from onsite.slates.reader.seen_symbol import SymbolSeen, area, same_card, symbol_seen_at

SIZE = (600, 400)
COPY = 25 / 21  # sides from one copy on a card to the other

angles = st.integers(0, 359)
middles = st.tuples(st.floats(100, 500), st.floats(100, 300))
Point = tuple[float, float]


def square(angle: float, side: float = 120, middle: Point = (300, 200)) -> list[Point]:
    """The corners of a square turned clockwise, its own top left first and clockwise."""
    half = side / math.sqrt(2)
    return [
        (
            middle[0] + half * math.cos(math.radians(angle + at)),
            middle[1] + half * math.sin(math.radians(angle + at)),
        )
        for at in (225, 315, 45, 135)
    ]


@given(angles, middles)
def test_its_angle_is_how_far_it_is_turned_clockwise(angle: int, middle: Point) -> None:
    assert (symbol_seen_at(square(angle, middle=middle), SIZE, 1).turned - angle) % 360 in (359, 0, 1)


@given(angles, st.floats(5, 300))
def test_its_share_is_its_side_over_the_short_side(angle: int, side: float) -> None:
    assert symbol_seen_at(square(angle, side), SIZE, 1).share == pytest.approx(side / 400)


@given(angles, middles)
def test_its_corners_are_shares_of_width_and_height(angle: int, middle: Point) -> None:
    corners = square(angle, middle=middle)
    seen = symbol_seen_at(corners, SIZE, 1)
    assert np.array(seen.corners) * SIZE == pytest.approx(np.array(corners))


@given(angles, st.integers(1, 8))
def test_its_angle_is_that_of_the_frame_as_displayed(angle: int, orientation: int) -> None:
    # Where each place of the stored picture is displayed is asked of Pillow.
    exif = Image.Exif()
    exif[0x0112] = orientation
    stored_at = []
    for axis in np.meshgrid(np.arange(SIZE[0], dtype=np.int32), np.arange(SIZE[1], dtype=np.int32)):
        stored = Image.fromarray(axis)
        stored.info["exif"] = exif.tobytes()
        stored_at.append(np.asarray(ImageOps.exif_transpose(stored)))
    height, width = stored_at[0].shape
    displayed = square(angle, middle=(width / 2, height / 2))
    corners = [tuple(float(axis[round(y), round(x)]) for axis in stored_at) for x, y in displayed]
    (x1, y1), (x2, y2), (x3, y3) = corners[:3]
    if (x2 - x1) * (y3 - y1) - (y2 - y1) * (x3 - x1) < 0:  # stored mirrored: clockwise is the other way round
        corners = [corners[0], *corners[:0:-1]]
    turned = symbol_seen_at(corners, SIZE, orientation).turned
    assert (turned - angle + 180) % 360 - 180 == pytest.approx(0, abs=2)


@given(st.lists(st.tuples(st.floats(-99, 99), st.floats(-99, 99)), min_size=4, max_size=4), st.integers(0, 3))
def test_the_area_does_not_hang_on_where_one_starts(corners: list[Point], first: int) -> None:
    around = corners[first:] + corners[:first]
    assert area(around) == pytest.approx(area(corners), abs=1e-6)
    assert area(around[::-1]) == pytest.approx(area(corners), abs=1e-6)


@given(angles, st.floats(20, 120), st.sampled_from([0, COPY, -COPY]), angles, st.floats(0, 0.15))
def test_a_card_is_one_wherever_its_copies_are_seen(
    angle: int, side: float, step: float, way: int, off: float
) -> None:
    one, other = pair(angle, side, step, way, off)
    assert same_card(one, other)
    assert same_card(other, one)


@given(angles, st.floats(20, 120), st.sampled_from([1.45, -1.45, 3.0]), angles, st.floats(0, 0.04))
def test_the_card_of_whoever_stands_beside_is_another(
    angle: int, side: float, step: float, way: int, off: float
) -> None:
    one, other = pair(angle, side, step, way, off)
    assert not same_card(one, other)


def pair(angle: int, side: float, step: float, way: int, off: float) -> tuple[SymbolSeen, SymbolSeen]:
    """Two symbols, the other so many sides along, and `off` off."""
    x, y = (step * turn(math.radians(angle)) + off * turn(math.radians(way)) for turn in (math.cos, math.sin))
    beside = (300 + side * x, 200 + side * y)
    return symbol_seen_at(square(angle, side), SIZE, 1), symbol_seen_at(square(angle, side, beside), SIZE, 1)
