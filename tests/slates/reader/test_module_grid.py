"""A grid fitted to a symbol lies on its modules, however the card is held; the truth comes from the paper."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from numpy.typing import NDArray
from PIL import Image

from onsite.slates.qr_symbol import MODULES, qr_modules
from onsite.slates.reader.module_grid import Grid, darkness, grid_through, local_mean, sampled
from onsite.slates.reader.symbol_fit import FittedSymbol, fitted_symbol
from tests.bench.trouble.paper import Bend, Held
from tests.slates.taken import CODE, KNOWN, bent, card
from tests.tiers import long_after

Floats = NDArray[np.float64]

PLACES = np.stack(np.meshgrid(np.arange(MODULES) + 0.5, np.arange(MODULES) + 0.5), -1).reshape(-1, 2)
SIGNS = np.where(qr_modules(CODE), 1, -1)


def curl(degrees: float, about: float = 0.0) -> Bend:
    half = np.radians(degrees) / 2
    return Bend(about, (-75.0, 75.0), (-half, half))


def fold(degrees: float, about: float, at: float) -> Bend:
    half = np.radians(degrees) / 2
    return Bend(about, (at - 1.5, at + 1.5), (-half, half))


HELD = {
    "square on": Held(),
    "turned": Held(roll=33),
    "upside down": Held(roll=178),
    "tilted": Held(tilt=35, turn=10),
    "tilted far": Held(turn=-52, roll=-8),
    "curled": Held(tilt=5, bend=curl(70)),
    "curled far": Held(tilt=-30, turn=6, bend=curl(110, 15)),
    "curled upright": Held(roll=5, bend=curl(-60, 90)),
    "creased": Held(turn=-6, bend=fold(22, 40, 6)),
}


def start_at(middles: Floats) -> Grid:
    """The flat grid through the middles of the three finder patterns, as guesses have it."""
    known = np.array([[3.5, 3.5], [17.5, 3.5], [3.5, 17.5]])
    return grid_through(known, np.array([middles[3, 3], middles[3, 17], middles[17, 3]]))


def fitted(picture: Image.Image, start: Grid) -> FittedSymbol:
    found = fitted_symbol(picture, start, KNOWN.template)
    assert found is not None
    return found


@pytest.mark.parametrize("name", long_after(3, HELD))
def test_a_fitted_grid_lies_within_half_a_module_of_every_module(name: str) -> None:
    picture, middles = bent(CODE, HELD[name])
    start = start_at(middles)
    found = fitted(picture, start)
    off = np.hypot(*(found.grid.at(PLACES) - middles.reshape(-1, 2)).T)
    assert off.max() < 0.5 * start.module
    assert found.agreement > 0.5
    assert np.mean(np.sign(found.free) == SIGNS[KNOWN.free]) > 0.99


def test_bending_is_what_brings_it_there() -> None:
    # A flat grid through the same finder patterns is off by more than a module on a curled card.
    _, middles = bent(CODE, HELD["curled far"])
    start = start_at(middles)
    off = np.hypot(*(start.at(PLACES) - middles.reshape(-1, 2)).T)
    assert off.max() > start.module


@pytest.mark.parametrize("shift", [(1.2, 0), (-0.7, 0.7), (0, -1.3)])
def test_modules_are_seen_from_a_grid_that_is_shifted(shift: tuple[float, float]) -> None:
    picture, middles = bent(CODE, HELD["tilted"])
    true = start_at(middles)
    found = fitted(picture, true.moved(np.array(shift) * true.module, np.ones(2)))
    assert np.mean(np.sign(found.free) == SIGNS[KNOWN.free]) > 0.99


def test_a_symbol_agrees_one_way_up_only() -> None:
    picture, middles = bent(CODE, HELD["square on"])
    turned = [start_at(np.rot90(middles, quarter)) for quarter in range(4)]
    fits = [fitted_symbol(picture, start, KNOWN.template) for start in turned]
    agrees = [0.0 if each is None else each.agreement for each in fits]
    assert agrees[0] > 0.6
    assert max(agrees[1:]) < 0.75 * agrees[0]


@pytest.mark.parametrize("shade", [0.5, 0.3, 0.15])
def test_ink_is_as_dark_in_shadow_as_beside_it(shade: float) -> None:
    grey = np.asarray(card(CODE, 6), float)
    edge = 14 * 6 + 3
    grey[:, edge:] *= shade
    seen = grey.astype(np.uint8)
    dark = darkness(seen, np.asarray(local_mean(Image.fromarray(seen), 24.0)), 0.67)
    signs = np.where(np.asarray(card(CODE, 6)) < 128, 1, -1)
    beside = np.abs(np.arange(grey.shape[1]) - edge) > 24  # the mean reaches across the edge
    inside = beside & (np.arange(grey.shape[1]) > 30) & (np.arange(grey.shape[1]) < grey.shape[1] - 30)
    part = (slice(30, -30), inside)
    assert np.mean(np.sign(dark[part]) == signs[part]) > 0.95


def test_modules_under_glare_say_nothing() -> None:
    picture, middles = bent(CODE, HELD["square on"])
    start = start_at(middles)
    blown = np.asarray(picture).copy()
    y, x = np.mgrid[0 : blown.shape[0], 0 : blown.shape[1]]
    at = middles[15, 15]
    glare = np.hypot(x - at[0], y - at[1]) < 4 * start.module
    blown[glare] = 255
    found = fitted(Image.fromarray(blown), start)
    off = np.hypot(*(middles - at).transpose(2, 0, 1))[KNOWN.free]
    assert np.abs(found.free[off < 3.5 * start.module]).max() < 0.05 * np.abs(found.free).mean()
    assert np.mean((np.sign(found.free) == SIGNS[KNOWN.free])[off > 5.5 * start.module]) > 0.97


def test_points_beyond_the_edges_are_nought() -> None:
    planes = np.full((5, 7, 1), 9, np.uint8)
    assert sampled(planes, np.array([[3.0, 2.0], [-1.0, 2.0], [3.0, 8.0]])).ravel().tolist() == [
        9.0,
        0.0,
        0.0,
    ]


places = arrays(float, (5, 2), elements=st.floats(0, MODULES))
affine = arrays(float, (3, 2), elements=st.floats(-20, 20))


@given(affine, places)
def test_a_grid_through_three_places_is_straight(plane: Floats, asked: Floats) -> None:
    known = np.array([[3.5, 3.5], [17.5, 3.5], [3.5, 17.5]])
    grid = grid_through(known, np.insert(known, 0, 1, axis=1) @ plane)
    assert grid.at(asked) == pytest.approx(np.insert(asked, 0, 1, axis=1) @ plane, abs=1e-6)


@given(affine, places, st.tuples(st.floats(-300, 300), st.floats(-300, 300)), st.floats(0.2, 5))
def test_a_moved_grid_is_the_same_in_the_other_picture(
    plane: Floats, asked: Floats, origin: tuple[float, float], scale: float
) -> None:
    grid = Grid(np.vstack([plane, np.linspace(-3, 3, 6).reshape(3, 2)]))
    there = grid.moved(np.array(origin), np.array([scale, scale]))
    assert there.at(asked) == pytest.approx((grid.at(asked) - origin) * scale, abs=1e-6)
    assert there.module == pytest.approx(grid.module * scale, abs=1e-6)


@given(st.floats(1, 20), st.floats(0, 360))
def test_the_module_is_the_mean_size(module: float, angle: float) -> None:
    a, b = module * np.cos(np.radians(angle)), module * np.sin(np.radians(angle))
    corners = np.array([[0, 0], [MODULES, 0], [MODULES, MODULES], [0, MODULES]], float)
    grid = grid_through(corners, corners @ np.array([[a, b], [-b, a]]))
    assert grid.module == pytest.approx(module)
    assert grid.corners == pytest.approx(corners @ np.array([[a, b], [-b, a]]), abs=1e-6)
