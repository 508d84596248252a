"""Uneven light is taken out: what is ink is as dark in shadow as beside it, and glare is not trusted."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from onsite.slates.qr_symbol import MODULES, QUIET_ZONE, qr_modules
from onsite.slates.reader.illumination import BLOWN, blurred, levelled
from onsite.slates.reader.module_grid import glare_over, grid_through, values
from tests.slates.taken import CODE, KNOWN, card

MODULE = 6
SIGNS = np.where(qr_modules(CODE), 1, -1)
PAPER, INK = 200.0, 40.0

Greys = NDArray[np.uint8]


def slate(paper: float = PAPER, ink: float = INK) -> NDArray[np.float64]:
    dark = np.asarray(card(CODE, MODULE)) < 128
    return np.where(dark, ink, paper)


def coded(grey: NDArray[np.float64]) -> Greys:
    return np.clip(grey, 0, 255).astype(np.uint8)


_LOW, _HIGH = QUIET_ZONE * MODULE, (QUIET_ZONE + MODULES) * MODULE
GRID = grid_through(
    np.array([[0, 0], [MODULES, 0], [MODULES, MODULES], [0, MODULES]], np.float64),
    np.array([[_LOW, _LOW], [_HIGH, _LOW], [_HIGH, _HIGH], [_LOW, _HIGH]], np.float64),
)


@pytest.mark.parametrize("shade", [0.5, 0.3, 0.15, 0.08])
def test_both_sides_of_a_hard_shadow_are_equally_dark(shade: float) -> None:
    grey = slate()
    edge = _LOW + 10 * MODULE + 3
    grey[:, edge:] *= shade
    seen = values(levelled(coded(grey), MODULE).trusted, GRID)
    beside = np.abs(np.arange(MODULES) - 10) > 1  # the edge itself runs through the column in between
    assert (np.sign(seen) == SIGNS)[:, beside].all()
    for sign in (1, -1):
        lit, shaded = seen[:, :9], seen[:, 12:]
        alike = lit[SIGNS[:, :9] == sign].mean(), shaded[SIGNS[:, 12:] == sign].mean()
        assert alike[0] == pytest.approx(alike[1], abs=0.12)
        assert abs(alike[1]) > 0.7


def test_a_plain_threshold_would_not_do() -> None:
    # What the test above is held against: in the shade, paper is darker than ink in the light.
    grey = slate()
    grey[:, 100:] *= 0.15
    assert grey[:, 100:].max() < grey[:, :100].min()


@settings(max_examples=25)
@given(gain=st.floats(0.15, 1.2), fall=st.floats(0, 0.8))
def test_how_bright_the_light_is_and_where_it_falls_off_makes_no_difference(gain: float, fall: float) -> None:
    across = np.linspace(1, 1 - fall, _HIGH + _LOW)
    seen = values(levelled(coded(slate() * gain * across), MODULE).trusted, GRID)
    assert (np.sign(seen) == SIGNS).all()
    assert np.abs(seen).mean() > 0.75


def with_glare(paper: float = PAPER) -> tuple[Greys, NDArray[np.bool_]]:
    """A slate of which a corner of the symbol is blown out."""
    y, x = np.mgrid[0 : _HIGH + _LOW, 0 : _HIGH + _LOW]
    blown = np.hypot(x - _HIGH + 20, y - _HIGH + 20) < 40
    return coded(np.where(blown, 255, slate(paper))), blown


def test_glare_is_not_trusted_and_what_is_beside_it_is() -> None:
    grey, blown = with_glare()
    paper = glare_over(grey, GRID, KNOWN.template)
    assert paper == pytest.approx(PAPER, abs=3)
    light = levelled(grey, MODULE, paper)
    assert light.trust[blown].max() == 0
    seen = values(light.trusted, GRID)
    middles = (
        (np.arange(MODULES) * MODULE + _LOW + MODULE // 2)[:, None],
        (np.arange(MODULES) * MODULE + _LOW + MODULE // 2)[None],
    )
    hidden = blown[middles]
    assert 20 < hidden.sum() < 100
    assert np.abs(seen[hidden]).max() < 0.05
    told = np.abs(seen) > 0.3
    assert (np.sign(seen[told]) == SIGNS[told]).all()
    assert told.sum() > 0.7 * (~hidden).sum()


def test_glare_is_told_only_where_part_of_a_symbol_is_blown_out() -> None:
    assert glare_over(coded(slate()), GRID, KNOWN.template) is None
    assert glare_over(np.full((_HIGH + _LOW,) * 2, 255, np.uint8), GRID, KNOWN.template) is None
    # Paper that is overexposed as a whole is no glare: it tells white as well as ever.
    assert glare_over(coded(slate(255)), GRID, KNOWN.template) is None
    assert glare_over(with_glare(BLOWN - 30)[0], GRID, KNOWN.template) is not None


def test_plain_paper_and_a_hand_leave_little_to_tell() -> None:
    grey = slate()
    grey[:, : _LOW + 9 * MODULE] = 120  # a hand over the left of the symbol
    light = levelled(coded(grey), MODULE)
    assert light.trust[_LOW:_HIGH, _LOW : _LOW + 4 * MODULE].mean() < 30
    assert light.trust[_LOW:_HIGH, _LOW + 14 * MODULE : _HIGH].mean() > 220


@settings(max_examples=25)
@given(value=st.integers(0, 255), radius=st.floats(0.3, 8))
def test_blurring_leaves_even_grey_alone(value: int, radius: float) -> None:
    even = np.full((30, 40), value, np.uint8)
    assert (blurred(even, radius) == even).all()


@pytest.mark.parametrize("radius", [1.0, 2.5, 6.0])
def test_blurring_spreads_a_point_by_its_radius(radius: float) -> None:
    line = np.zeros((5, 201), np.uint8)
    line[:, 100] = 255
    spread = blurred(line, radius)[2].astype(float)
    about = np.arange(201) - 100
    assert np.sqrt((spread * about**2).sum() / spread.sum()) == pytest.approx(radius, rel=0.15)
