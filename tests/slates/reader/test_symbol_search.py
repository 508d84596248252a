"""The true place of a symbol is among the candidates, and what shared modules explain tells it."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from onsite.slates.qr_symbol import MODULES
from onsite.slates.reader.finder_patterns import FinderPattern, find_finder_patterns
from onsite.slates.reader.module_grid import CORNERS, Grid, grid_through
from onsite.slates.reader.symbol_search import (
    SymbolSearch,
    likeliest,
    through_finders,
)
from tests.slates.taken import CODE, FINDER, KNOWN, scene, turned

Floats = NDArray[np.float64]

MIDDLES = np.array([[FINDER, FINDER], [MODULES - FINDER, FINDER], [FINDER, MODULES - FINDER]])

modules, turns, tilts = st.floats(1.5, 12), st.floats(0, 2 * np.pi), st.floats(0, np.radians(40))


def held(module: float, turn: float, tilt: float = 0.0, axis: float = 0.0) -> Floats:
    """The linear map (2, 2) of a symbol seen from afar: tilted about an axis in its plane, turned, scaled."""

    def spun(by: float) -> Floats:
        return np.array([[np.cos(by), -np.sin(by)], [np.sin(by), np.cos(by)]])

    foreshortened = spun(axis) @ np.diag([1.0, np.cos(tilt)]) @ spun(-axis)
    return module * spun(turn) @ foreshortened


def at(linear: Floats, places: Floats) -> Floats:
    return np.asarray((places - MODULES / 2) @ linear.T + 500)


def patterns(linear: Floats, module: float) -> list[FinderPattern]:
    return [FinderPattern(x, y, module, 0.9, 0.0) for x, y in at(linear, MIDDLES).tolist()]


def nearest(found: list[FinderPattern], linear: Floats, module: float) -> float:
    """How far, in modules, the best candidate has its worst corner from the truth."""
    true = at(linear, CORNERS)
    return min(np.abs(grid.corners - true).max() / module for grid in through_finders(found))


@given(modules, turns, tilts, turns)
def test_three_finder_patterns_give_the_symbol_away(
    module: float, turn: float, tilt: float, axis: float
) -> None:
    linear = held(module, turn, tilt, axis)
    assert nearest(patterns(linear, module), linear, module) < 0.01


@pytest.mark.parametrize("pair", list(combinations(range(3), 2)))
@given(module=modules, turn=turns)
def test_two_finder_patterns_give_a_symbol_square_on_away(
    pair: tuple[int, int], module: float, turn: float
) -> None:
    linear = held(module, turn)
    found = patterns(linear, module)
    assert nearest([found[number] for number in pair], linear, module) < 0.01


@pytest.mark.parametrize("pair", list(combinations(range(3), 2)))
@given(module=modules, turn=turns, tilt=st.floats(0, np.radians(25)), axis=turns)
def test_two_finder_patterns_come_close_on_a_tilted_one(
    pair: tuple[int, int], module: float, turn: float, tilt: float, axis: float
) -> None:
    linear = held(module, turn, tilt, axis)
    found = patterns(linear, module)
    assert nearest([found[number] for number in pair], linear, module) < 4.5


@pytest.mark.parametrize("count", [0, 1])
def test_one_finder_pattern_without_its_turn_says_nothing(count: int) -> None:
    assert through_finders([FinderPattern(100, 100, 5, 0.9, 0.0)][:count]) == []


def true_grid(to_pixels: Floats) -> Grid:
    return grid_through(CORNERS, np.array([to_pixels @ (1, *corner) for corner in CORNERS]))


def soft(picture: Image.Image, modules: float, module: float) -> Image.Image:
    return picture.filter(ImageFilter.GaussianBlur(modules * module))


@pytest.mark.parametrize("blur", [0.0, 1.0, 1.5])
@pytest.mark.parametrize("module", [1.5, 3.0, 8.0])
def test_the_true_grid_explains_most(module: float, blur: float) -> None:
    picture, to_pixels = turned(CODE, module, 25)
    true = true_grid(to_pixels)
    moved = [true.moved(np.array([x, y]) * module, np.ones(2)) for x, y in ((5, 0), (0, -5), (8, 8))]
    upside_down = grid_through(CORNERS, np.roll(true.corners, 2, axis=0))
    shapes = np.stack([each.shape for each in (true, *moved, upside_down)])
    shares = SymbolSearch(soft(picture, blur, module), KNOWN.template).shares(shapes)
    assert shares[0] > 0.45
    assert shares[0] > 1.3 * shares[1:].max()


@pytest.mark.parametrize("blur", [0.0, 1.0])
def test_a_candidate_some_modules_off_is_moved_to_the_symbol(blur: float) -> None:
    picture, to_pixels = turned(CODE, 4.0, 200)
    true = true_grid(to_pixels)
    off = grid_through(CORNERS, true.corners + 4.0 * np.array([[1.5, -1], [0.5, 0.5], [1, 0.5], [2, 0.5]]))
    share, found = SymbolSearch(soft(picture, blur, 4.0), KNOWN.template).climbed(off, 2.0)
    assert np.abs(found.corners - true.corners).max() < 6.0
    assert share > 0.5


def test_a_grid_beyond_the_picture_explains_nothing() -> None:
    picture, to_pixels = turned(CODE, 3.0, 0)
    away = true_grid(to_pixels).moved(np.array([5000.0, 0.0]), np.ones(2))
    assert SymbolSearch(picture, KNOWN.template).shares(away.shape[None]).tolist() == [0.0]


def likely(picture: Image.Image) -> list[Grid]:
    grids = [grid for some in find_finder_patterns(picture) for grid in through_finders(some)]
    return likeliest(picture, grids, KNOWN.template)


@pytest.mark.parametrize("blur", [0.0, 0.7, 1.3, 1.7])
@pytest.mark.parametrize("angle", [0, 33, 190])
def test_the_likeliest_is_the_symbol_however_far_out_of_focus(angle: float, blur: float) -> None:
    picture, to_pixels = turned(CODE, 5.0, angle)
    picture = soft(picture, blur, 5.0)
    found = likely(picture)
    assert np.abs(found[0].corners - true_grid(to_pixels).corners).max() < 5.0


def test_there_is_none_on_an_even_wall_or_in_noise() -> None:
    noise = np.random.default_rng(1).uniform(0, 255, (400, 600)).astype(np.uint8)
    for picture in (scene(), Image.fromarray(noise)):
        assert likely(picture) == []
