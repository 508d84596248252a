from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.slate.card import NEUTRAL_GREY, Box, layout

landscape = st.tuples(st.floats(40, 3000), st.floats(1.25, 2.0)).map(
    lambda face: (face[0] * face[1], face[0])
)


def overlap(one: Box, other: Box) -> bool:
    return (
        min(one.right, other.right) - max(one.x, other.x) > 1e-6
        and min(one.bottom, other.bottom) - max(one.y, other.y) > 1e-6
    )


@given(landscape)
def test_nothing_leaves_the_face_or_reaches_into_a_quiet_zone(face: tuple[float, float]) -> None:
    width, height = face
    places = layout(width, height)
    boxes = [*places.symbols, places.code, places.shoot, places.name, places.group, places.patch]
    for box in boxes:
        assert 0 <= box.x < box.right <= width
        assert 0 <= box.y < box.bottom <= height
    assert not any(overlap(*pair) for pair in combinations(boxes, 2))


@given(landscape)
def test_the_symbol_takes_half_the_width_or_most_of_the_height(face: tuple[float, float]) -> None:
    width, height = face
    (symbol,) = layout(width, height).symbols
    assert symbol.width == pytest.approx(symbol.height)
    assert symbol.width > 0.55 * width or symbol.height > 0.85 * height


def test_the_code_stands_under_the_symbol_and_the_patch_beside_it() -> None:
    places = layout(150, 100)
    (symbol,) = places.symbols
    assert places.code.y >= symbol.bottom
    assert places.patch.x >= symbol.right
    assert symbol.y < places.patch.y < places.patch.bottom < symbol.bottom


def test_a_face_that_is_not_landscape_is_refused() -> None:
    with pytest.raises(ValueError):
        layout(100, 150)


def test_the_grey_is_neutral_and_reflects_what_a_grey_card_does() -> None:
    # IEC 61966-2-1 (sRGB), 5.2 and CIE 15, L*; formulas from memory. 18 % is common practice, no source.
    red, green, blue = NEUTRAL_GREY
    assert red == green == blue
    reflectance = ((red / 255 + 0.055) / 1.055) ** 2.4
    assert reflectance == pytest.approx(0.18, abs=0.005)
    assert 116 * reflectance ** (1 / 3) - 16 == pytest.approx(50, abs=0.1)
