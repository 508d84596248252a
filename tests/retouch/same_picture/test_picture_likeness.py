"""The same picture, retouched; and what only looks like it."""

from __future__ import annotations

import io
from collections.abc import Callable

import pytest
from PIL import Image, ImageChops, ImageDraw, ImageEnhance, ImageFilter

from onsite.retouch.check_returned import framing
from onsite.retouch.same_picture.picture_likeness import likeness, working_size
from tests.retouch.prints import portrait, retouched

PICK = portrait(1)


def compressed(picture: Image.Image) -> Image.Image:
    data = io.BytesIO()
    picture.save(data, "JPEG", quality=60)
    return Image.open(data)


def new_background(picture: Image.Image) -> Image.Image:
    """Everything around the figure replaced: all that has not the backdrop's colour stays."""
    backdrop = Image.new("RGB", picture.size, picture.getpixel((2, 2)))
    apart = ImageChops.difference(picture, backdrop).convert("L")
    mask = apart.point(lambda value: 255 if value > 20 else 0).filter(ImageFilter.GaussianBlur(1))
    scene = Image.radial_gradient("L").resize(picture.size).convert("RGB")
    pencil = ImageDraw.Draw(scene)
    for x in range(0, picture.width, 40):
        pencil.line((x, 0, picture.width - x, picture.height), (200, x % 255, 40), 5)
    return Image.composite(picture, scene.filter(ImageFilter.GaussianBlur(8)), mask)


WAYS: dict[str, Callable[[Image.Image], Image.Image]] = {
    "retouched": retouched,
    "jpeg 60": compressed,
    "darker": lambda p: ImageEnhance.Brightness(p).enhance(0.6),
    "black and white": lambda p: p.convert("L"),
    "sharpened": lambda p: p.filter(ImageFilter.UnsharpMask(2, 150)),
    "smaller": lambda p: p.reduce(2),
    "larger": lambda p: p.resize((960, 1440)),
    "crop": lambda p: p.crop((60, 100, 600, 775)),
    "background": new_background,
    "background and crop": lambda p: new_background(retouched(p)).crop((40, 90, 620, 815)),
}


@pytest.mark.parametrize("way", WAYS)
def test_a_retouched_version_is_the_same_picture(way: str) -> None:
    like = likeness(working_size(PICK), working_size(WAYS[way](PICK)))
    assert like.same, like
    assert framing(like) == []


@pytest.mark.parametrize("pose", range(1, 6))
def test_the_frame_beside_it_is_not(pose: int) -> None:
    assert not likeness(working_size(PICK), working_size(portrait(1, pose))).same
    assert not likeness(working_size(PICK), working_size(retouched(portrait(1, pose)))).same


@pytest.mark.parametrize("person", range(2, 6))
def test_another_person_is_not(person: int) -> None:
    assert not likeness(working_size(PICK), working_size(portrait(person))).same


def test_a_crop_says_how_much_is_shown() -> None:
    like = likeness(working_size(PICK), working_size(PICK.crop((0, 0, 640, 720))))
    assert like.shown == pytest.approx(0.75, abs=0.01)


def test_a_turned_or_wider_picture_has_another_framing() -> None:
    turned = PICK.rotate(1.5, Image.Resampling.BICUBIC).crop((40, 40, 600, 920))
    wider = Image.new("RGB", (800, 1200), (96, 102, 104))
    wider.paste(PICK, (80, 120))
    assert [wrong.trouble.value for wrong in framing(likeness(working_size(PICK), working_size(turned)))] == [
        "framing"
    ]
    assert [wrong.trouble.value for wrong in framing(likeness(working_size(PICK), working_size(wider)))] == [
        "framing"
    ]


@pytest.mark.parametrize("size", [(1, 1), (3, 900), (900, 3), (40, 40)])
def test_a_picture_of_nothing_is_not_the_same(size: tuple[int, int]) -> None:
    assert not likeness(working_size(PICK), working_size(Image.new("RGB", size, "grey"))).same
