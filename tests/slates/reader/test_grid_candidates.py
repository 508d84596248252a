"""Guesses at where a symbol lies: the true place is among them, from three finder patterns, two or one."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from onsite.slates.qr_symbol import MODULES
from onsite.slates.reader.finder_patterns import FinderPattern
from onsite.slates.reader.grid_candidates import by_one, copies_from, guesses
from onsite.slates.reader.module_grid import Grid, grid_through
from onsite.slates.slate_layout import COPY_STEP
from tests.slates.taken import FINDER

Floats = NDArray[np.float64]

MOST = 14
MIDDLES = np.array([[FINDER, FINDER], [MODULES - FINDER, FINDER], [FINDER, MODULES - FINDER]])
CORNERS = np.array([[0, 0], [MODULES, 0], [MODULES, MODULES], [0, MODULES]], np.float64)

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
    return [FinderPattern(x, y, module, 20) for x, y in at(linear, MIDDLES).tolist()]


def nearest(found: list[FinderPattern], linear: Floats, module: float, most: int = MOST) -> float:
    """How far, in modules, the best guess has its worst corner from the truth."""
    true = at(linear, CORNERS)
    return min(np.abs(guess.grid.corners - true).max() / module for guess in guesses(found, most))


@given(modules, turns, tilts, turns)
def test_three_finder_patterns_give_the_symbol_away(
    module: float, turn: float, tilt: float, axis: float
) -> None:
    linear = held(module, turn, tilt, axis)
    assert nearest(patterns(linear, module), linear, module) < 0.01


@given(modules, turns)
def test_the_likeliest_guess_at_a_card_square_on_is_the_true_one(module: float, turn: float) -> None:
    linear = held(module, turn)
    assert nearest(patterns(linear, module), linear, module, most=1) < 0.01


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


@given(
    modules,
    turns,
    st.lists(st.tuples(st.floats(0, 1000), st.floats(0, 1000)), max_size=4),
)
def test_strays_do_not_crowd_the_true_place_out(
    module: float, turn: float, strays: list[tuple[float, float]]
) -> None:
    # Strays of another size of module, as texture gives them.
    linear = held(module, turn)
    found = [*patterns(linear, module), *(FinderPattern(x, y, module * 3, 3) for x, y in strays)]
    assert nearest(found, linear, module) < 0.01


@given(
    st.lists(
        st.builds(
            FinderPattern,
            x=st.floats(0, 500),
            y=st.floats(0, 500),
            module=st.floats(1, 12),
            lines=st.just(3),
        ),
        max_size=6,
    ),
    st.integers(1, 20),
)
def test_the_likeliest_come_first_and_no_more_than_asked_for(found: list[FinderPattern], most: int) -> None:
    told = guesses(found, most)
    assert len(told) <= most
    assert [guess.oddness for guess in told] == sorted(guess.oddness for guess in told)
    assert all(np.isfinite(guess.grid.shape).all() for guess in told)


@pytest.mark.parametrize("count", [0, 1])
def test_one_finder_pattern_without_its_turn_says_nothing(count: int) -> None:
    assert guesses([FinderPattern(100, 100, 5, 9)][:count], MOST) == []


@pytest.mark.parametrize("corner", range(3))
@given(module=modules, turn=turns, misjudged=st.floats(0.9, 1.1))
def test_one_finder_pattern_gives_a_symbol_square_on_away(
    corner: int, module: float, turn: float, misjudged: float
) -> None:
    linear = held(module, turn)
    x, y = at(linear, MIDDLES[corner])
    true = at(linear, CORNERS)
    found = by_one(FinderPattern(float(x), float(y), module * misjudged, 9))
    assert min(np.abs(grid.corners - true).max() / module for grid in found) < 2.5


@given(modules, turns, tilts, turns)
def test_the_other_copies_lie_to_either_side(module: float, turn: float, tilt: float, axis: float) -> None:
    linear = held(module, turn, tilt, axis)
    grid = grid_through(CORNERS, at(linear, CORNERS))
    sides: list[Grid] = copies_from(grid)
    for copies in (1, -1):
        true = at(linear, CORNERS + np.array([copies * COPY_STEP, 0]))
        assert min(np.abs(side.corners - true).max() for side in sides) < 1e-6 * module + 1e-6
