"""At a glance the true grid agrees best, and what lies beyond the picture does not count."""

from __future__ import annotations

import numpy as np
import pytest

from onsite.slates.reader.grid_candidates import at_a_glance
from onsite.slates.reader.module_grid import CORNERS, Grid, grid_through
from tests.slates.taken import CODE, KNOWN, turned


def true_grid(to_pixels: np.ndarray) -> Grid:
    return grid_through(CORNERS, np.array([to_pixels @ (1, *corner) for corner in CORNERS]))


@pytest.mark.parametrize("module", [1.5, 3.0, 8.0])
def test_the_true_grid_agrees_best(module: float) -> None:
    picture, to_pixels = turned(CODE, module, 25)
    true = true_grid(to_pixels)
    moved = [true.moved(np.array([x, y]) * module, np.ones(2)) for x, y in ((3, 0), (0, -3), (5, 5))]
    askew = Grid(true.shape[[0, 2, 1, *range(3, len(true.shape))]])
    seen = at_a_glance(picture, [*moved, true, askew], KNOWN.template)
    assert seen.index(max(seen)) == 3
    assert seen[3] > 0.6


def test_a_grid_beyond_the_picture_agrees_with_nothing() -> None:
    picture, to_pixels = turned(CODE, 3.0, 0)
    away = true_grid(to_pixels).moved(np.array([5000.0, 0.0]), np.ones(2))
    assert at_a_glance(picture, [away], KNOWN.template) == [0.0]
    assert at_a_glance(picture, [true_grid(to_pixels), away], KNOWN.template)[1] == 0.0


def test_no_grids_give_no_answer() -> None:
    assert at_a_glance(turned(CODE, 3.0, 0)[0], [], KNOWN.template) == []
