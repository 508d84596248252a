"""The modules of a symbol are seen through blur, shake and an error of the grid; noise shows nothing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from onsite.slates.qr_symbol import QUIET_ZONE, qr_modules
from onsite.slates.reader.module_grid import CORNERS, Grid, grid_through
from onsite.slates.reader.point_spread import free_modules, lattice, spread_over
from onsite.slates.reader.symbol_fit import fitted_symbol
from tests.slates.taken import CODE, KNOWN, card

MODULE = 6
MARGIN = 60
FLOOR = np.array([0.01])
TRUE = grid_through(CORNERS, MARGIN + (CORNERS + QUIET_ZONE) * MODULE)
SIGNS = np.where(qr_modules(CODE), 1, -1)[KNOWN.free]


def seen(picture: Image.Image, noise: float = 1.0) -> NDArray[np.float64]:
    """The card before a wall, with noise of so many greys."""
    scene = Image.new("L", (picture.width + 2 * MARGIN, picture.height + 2 * MARGIN), 150)
    scene.paste(picture, (MARGIN, MARGIN))
    return np.asarray(scene, float) + noise * np.random.default_rng(1).normal(size=scene.size[::-1])


def right(grey: NDArray[np.float64], start: Grid = TRUE) -> float:
    """The share of the free modules that are seen as they are."""
    picture = Image.fromarray(np.clip(grey + 0.5, 0, 255).astype(np.uint8))
    found = fitted_symbol(picture, start, KNOWN.template)
    return 0.5 if found is None else float(np.mean(np.sign(found.free) == SIGNS))


def blurred(modules: float) -> NDArray[np.float64]:
    """A card out of focus: by a Gaussian with a standard deviation of so many modules."""
    whole = Image.fromarray(np.clip(seen(card(module=MODULE), 0.0), 0, 255).astype(np.uint8))
    soft = np.asarray(whole.filter(ImageFilter.GaussianBlur(modules * MODULE)), float)
    return soft + np.random.default_rng(1).normal(size=soft.shape)


@pytest.mark.parametrize(("modules", "share"), [(0.3, 1.0), (0.7, 0.99), (1.0, 0.9)])
def test_modules_are_seen_through_blur(modules: float, share: float) -> None:
    assert right(blurred(modules)) >= share


def test_a_plain_look_would_not_do() -> None:
    # What the test above is held against: the middle of each module, darker or lighter than all together.
    picture = Image.fromarray(np.clip(blurred(1.0), 0, 255).astype(np.uint8))
    middle = np.array([picture.getpixel(tuple(place)) for place in _middles()], float)
    assert np.mean(np.sign(np.median(middle) - middle) == SIGNS) < 0.8


def _middles() -> NDArray[np.intp]:
    places = np.argwhere(KNOWN.free)[:, ::-1] + 0.5
    return (MARGIN + (places + QUIET_ZONE) * MODULE).astype(np.intp)


@pytest.mark.parametrize("shake", [(9, 0), (0, 9), (8, 8)])
def test_modules_are_seen_through_shake(shake: tuple[int, int]) -> None:
    grey = seen(card(module=MODULE), 0.0)
    steps = np.linspace(-0.5, 0.5, 12)
    moved = [np.roll(grey, (round(step * shake[1]), round(step * shake[0])), (0, 1)) for step in steps]
    assert right(np.mean(moved, axis=0)) > 0.97


def test_an_error_of_the_grid_is_made_up_for() -> None:
    askew = grid_through(CORNERS, TRUE.corners + np.array([[5.0, -4], [-5, 3], [4, 5], [-3, -5]]))
    assert right(seen(card(module=MODULE)), askew) > 0.99


def test_noise_and_even_grey_show_nothing() -> None:
    chance = np.random.default_rng(2)
    even = np.full((300, 300), 140.0)
    assert right(even) < 0.7
    assert right(even + chance.normal(size=even.shape) * 30) < 0.7


def test_too_little_in_sight_shows_nothing() -> None:
    darkness = np.zeros(len(lattice(TRUE)))
    assert spread_over(darkness[:, None], FLOOR, np.zeros_like(darkness), KNOWN.template) is None


def test_what_is_estimated_through_a_spread_explains_the_samples() -> None:
    grey = seen(card(module=MODULE)) / 127.5
    x, y = lattice(TRUE).astype(np.intp).T
    spread = spread_over(1 - grey[y, x][:, None], FLOOR, np.ones(len(x)), KNOWN.template)
    assert spread is not None
    assert spread.explained > 0.95
    free, off = free_modules(spread, KNOWN.template)
    assert np.mean(np.abs(free) > 1) > 0.95
    assert np.abs(off).mean() < 0.1
    assert spread.trust.max() <= 1


def test_no_evidence_is_no_value() -> None:
    grey = seen(card(module=MODULE)) / 127.5
    x, y = lattice(TRUE).astype(np.intp).T
    spread = spread_over(grey[y, x][:, None], FLOOR, np.ones(len(x)), KNOWN.template)
    assert spread is not None
    free, _ = free_modules(replace(spread, trust=np.zeros_like(spread.trust)), KNOWN.template)
    assert free == pytest.approx(0)
