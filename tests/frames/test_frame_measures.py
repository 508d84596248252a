"""Brightness, sharpness and the backdrop's colour."""

from __future__ import annotations

import random

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageEnhance, ImageFilter

from onsite.frames.frame_measures import PictureMeasures, linear, measure_picture, sharpness

GREY = (118, 118, 118)  # sRGB of about 18 % of the light


def measured(picture: Image.Image, orientation: int = 1) -> PictureMeasures:
    return measure_picture(picture.convert("L"), picture.reduce(2), orientation)


def portrait(
    size: tuple[int, int] = (1800, 1200),
    backdrop: tuple[int, int, int] = (90, 120, 150),
    clothes: tuple[int, int, int] = GREY,
) -> Image.Image:
    """Somebody in patterned clothes in the middle before an even backdrop."""
    picture = Image.new("RGB", size, backdrop)
    draw = ImageDraw.Draw(picture)
    width, height = size
    draw.rectangle((width * 0.25, height * 0.1, width * 0.75, height), clothes)
    rng = random.Random(1)
    for _ in range(400):
        x, y = rng.uniform(0.3, 0.7) * width, rng.uniform(0.15, 0.95) * height
        lighter = tuple(min(value + 60, 255) for value in clothes)
        draw.rectangle((x, y, x + rng.uniform(2, 12), y + rng.uniform(2, 12)), lighter)
    return picture


@pytest.mark.parametrize(
    ("coded", "light"),
    # IEC 61966-2-1: the two ends, the value up to which the curve is straight, and 8-bit values by hand
    [(0, 0.0), (255, 1.0), (10, 10 / 255 / 12.92), (188, 0.5029), (118, 0.1812)],
)
def test_srgb_in_linear_light(coded: int, light: float) -> None:
    assert linear(np.array([coded], np.uint8))[0] == pytest.approx(light, abs=1e-4)


def test_brightness_is_the_luminance_of_the_middle() -> None:
    picture = Image.new("RGB", (600, 400), "white")
    ImageDraw.Draw(picture).rectangle((150, 50, 450, 350), GREY)
    assert measured(picture).brightness == pytest.approx(0.1812, abs=0.001)


@pytest.mark.parametrize(
    ("colour", "luminance"), [("red", 0.2126), ("lime", 0.7152), ("blue", 0.0722)]
)  # IEC 61966-2-1: the middle row of the matrix
def test_colours_count_by_their_luminance(colour: str, luminance: float) -> None:
    assert measured(Image.new("RGB", (60, 40), colour)).brightness == pytest.approx(luminance, abs=1e-4)


@pytest.mark.parametrize("blur", [0.5, 1, 1.5])
def test_a_blurred_picture_is_less_sharp(blur: float) -> None:
    sharp, soft = portrait(), portrait().filter(ImageFilter.GaussianBlur(blur))
    softer = portrait().filter(ImageFilter.GaussianBlur(2 * blur))
    assert value(sharp) > value(soft) > value(softer)


def value(picture: Image.Image) -> float:
    sharp = sharpness(picture.convert("L"))
    assert sharp is not None
    return sharp


@pytest.mark.parametrize("light", [0.6, 1.2])
def test_sharpness_does_not_depend_on_exposure(light: float) -> None:
    assert value(ImageEnhance.Brightness(portrait()).enhance(light)) == pytest.approx(
        value(portrait()), rel=0.02
    )


def test_sharpness_does_not_depend_on_which_way_the_camera_was_held() -> None:
    picture = portrait((1800, 1800))
    assert value(picture.rotate(90)) == pytest.approx(value(picture), rel=1e-3)


def test_what_cannot_be_sharp_has_no_sharpness() -> None:
    assert sharpness(Image.new("L", (2000, 2000), 80)) is None
    assert sharpness(portrait((300, 200)).convert("L")) is None


def test_the_backdrop_is_the_colour_at_the_edges() -> None:
    backdrop = measured(portrait(backdrop=(119, 119, 119))).backdrop
    assert backdrop is not None
    assert backdrop == pytest.approx((50.0, 0.0, 0.0), abs=0.3)  # CIE 15: L* 50 of 18.4 % of the light


def test_a_frame_held_upright_has_the_same_backdrop() -> None:
    standing = portrait((1200, 1800))
    lying = standing.transpose(Image.Transpose.ROTATE_90)  # stored so with the EXIF orientation 6
    assert measured(lying, 6).backdrop == measured(standing).backdrop


def test_edges_that_differ_are_no_backdrop() -> None:
    picture = portrait()
    picture.paste((200, 40, 40), (0, 0, 300, 1200))
    assert measured(picture).backdrop is None


def test_a_hall_full_of_things_is_no_backdrop() -> None:
    noise = Image.frombytes("RGB", (60, 40), random.Random(1).randbytes(60 * 40 * 3))
    assert measured(noise.resize((1800, 1200), Image.Resampling.NEAREST)).backdrop is None


@pytest.mark.parametrize("size", [(1, 1), (3, 2), (1, 900), (900, 1)])
def test_tiny_and_thin_pictures_can_be_measured(size: tuple[int, int]) -> None:
    picture = Image.new("RGB", size, "white")
    seen = measure_picture(picture.convert("L"), picture)
    assert seen.brightness == pytest.approx(1.0)
