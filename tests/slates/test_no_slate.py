"""A portrait is never called a slate: nothing is read, and nothing seen, where no slate is."""

from __future__ import annotations

import random
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from onsite.core.codes import new_code
from onsite.slates.reader.closed_set import known_slates
from onsite.slates.reader.read_slates import read_symbols
from tests.slates.slateless import FAMILIES
from tests.tiers import long_after

EACH, FEWER, FEWEST = 24, 9, 5
FEW = 3
"""Frames of each family that every run of the tests looks at; the others are in the long one."""
FULL_OF_FINDERS = ("lace", "diamonds", "squares")
FULL_OF_SQUARES = (
    "rings",
    "bull eyes",
    "houndstooth",
    "noise",
    "pixels",
    "buttons",
    "windows",
    "meander",
    "dressed",
)
"""Families in which the reader finds so much to look at closely that fewer frames have to do."""


def frames(family: str) -> int:
    """How many of a family are looked at."""
    return FEWEST if family in FULL_OF_FINDERS else FEWER if family in FULL_OF_SQUARES else EACH


SHOOT = "3479"
KNOWN = known_slates(SHOOT, [new_code(SHOOT, (), random.Random(seed)) for seed in range(1000)])

PHOTOGRAPHS = (
    "astronaut.png",
    "brick.png",
    "camera.png",
    "cell.png",
    "chelsea.png",
    "clock_motion.png",
    "coffee.png",
    "coins.png",
    "color.png",
    "grass.png",
    "gravel.png",
    "horse.png",
    "hubble_deep_field.jpg",
    "ihc.png",
    "moon.png",
    "motorcycle_left.png",
    "motorcycle_right.png",
    "page.png",
    "phantom.png",
    "retina.jpg",
    "rocket.jpg",
    "text.png",
)
"""Of the pictures that come inside the package scikit-image (skimage/data): people, textures like cloth,
print, walls, small round things."""


def told(picture: Image.Image) -> list[str | None]:
    return [symbol.text for symbol in read_symbols(picture, known=KNOWN)]


def called_slates(family: str, seeds: range) -> dict[int, list[str | None]]:
    """What is said of those frames in which something is taken for a slate, by their seeds."""
    drawn = {seed: FAMILIES[family](random.Random(f"{family}/{seed}")) for seed in seeds}
    return {seed: said for seed, frame in drawn.items() if (said := told(frame))}


@pytest.mark.parametrize("family", long_after(9, FAMILIES))
def test_cloth_walls_print_and_people_are_no_slates(family: str) -> None:
    assert called_slates(family, range(FEW)) == {}


@pytest.mark.long
@pytest.mark.parametrize("family", FAMILIES)
def test_hundreds_of_frames_of_cloth_walls_print_and_people_are_no_slates(family: str) -> None:
    assert called_slates(family, range(FEW, frames(family))) == {}


@pytest.fixture(scope="module")
def photographs() -> Path:
    """Where scikit-image keeps the pictures that come with it."""
    return Path(pytest.importorskip("skimage.data").__file__).parent


@pytest.mark.long
@pytest.mark.parametrize("name", PHOTOGRAPHS)
def test_photographs_are_no_slates(name: str, photographs: Path) -> None:
    if not (photographs / name).exists():
        pytest.skip("this version of scikit-image comes without it")
    with Image.open(photographs / name) as picture:
        grey = picture.convert("L")
    assert told(grey) == []
    assert told(grey.rotate(33, Image.Resampling.BILINEAR, expand=True)) == []
    assert told(grey.reduce(2)) == []


@pytest.mark.long
def test_faces_are_no_slates(photographs: Path) -> None:
    # 100 of the 25 x 25 faces of the Labeled Faces in the Wild that scikit-image ships, side by side.
    faces = np.load(photographs / "lfw_subset.npy")[:100]
    wall = faces.reshape(10, 10, 25, 25).swapaxes(1, 2).reshape(250, 250)
    picture = Image.fromarray((wall * 255).astype(np.uint8))
    for size in (250, 500, 1000):
        assert told(picture.resize((size, size), Image.Resampling.BICUBIC)) == []
