from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.slates.qr_symbol import QUIET_ZONE
from onsite.slates.slate_layout import NEUTRAL_GREY, SYMBOL_SIDE, Box, ticket_layout

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
    places = ticket_layout(width, height)
    type_ = [places.code, places.shoot, places.name, places.group, places.patch]
    for box in (*places.symbols, *type_):
        assert -1e-9 <= box.x < box.right <= width + 1e-9
        assert -1e-9 <= box.y < box.bottom <= height + 1e-9
    assert not any(overlap(*pair) for pair in combinations(type_, 2))
    assert not any(overlap(symbol, box) for symbol in places.symbols for box in type_)


@given(landscape)
def test_two_copies_share_the_quiet_zone_between_them_and_fill_the_face(face: tuple[float, float]) -> None:
    width, height = face
    left, right = ticket_layout(width, height).symbols
    module = left.width / SYMBOL_SIDE
    assert left.width == pytest.approx(left.height) == pytest.approx(right.width)
    assert right.x - left.right == pytest.approx(-QUIET_ZONE * module)
    assert left.y == right.y
    assert right.right - left.x > 0.95 * width or left.height > 0.8 * height


def test_what_people_read_stands_under_the_symbols() -> None:
    places = ticket_layout(150, 100)
    for box in (places.name, places.group, places.code, places.shoot, places.patch):
        assert box.y >= max(symbol.bottom for symbol in places.symbols) - 1e-9


def test_a_face_that_is_not_landscape_is_refused() -> None:
    with pytest.raises(ValueError):
        ticket_layout(100, 150)


def test_the_grey_is_neutral_and_reflects_what_a_grey_card_does() -> None:
    # IEC 61966-2-1 (sRGB), 5.2 and CIE 15, L*; formulas from memory. 18 % is common practice, no source.
    red, green, blue = NEUTRAL_GREY
    assert red == green == blue
    reflectance = ((red / 255 + 0.055) / 1.055) ** 2.4
    assert reflectance == pytest.approx(0.18, abs=0.005)
    assert 116 * reflectance ** (1 / 3) - 16 == pytest.approx(50, abs=0.1)
