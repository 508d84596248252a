"""Reading symbols out of pictures: what they say, which way up, and what is no slate."""

from __future__ import annotations

import random

import numpy as np
import pytest
import qrcode
from PIL import Image, ImageDraw

from onsite.core.codes import new_code
from onsite.slates.qr_symbol import qr_modules, with_quiet_zone
from onsite.slates.reader.closed_set import known_slates
from onsite.slates.reader.finder_patterns import find_finder_patterns
from onsite.slates.reader.read_slates import decode_symbols, read_symbols
from onsite.slates.reader.seen_symbol import SymbolSeen

CODE = new_code("AAAA", (), random.Random(18004))
KNOWN = known_slates("AAAA", ())
T = Image.Transpose

# How a picture that is displayed upright is stored: the inverse of what the table of Orientation in EXIF 2.32
# (CIPA DC-008-2019) says is done for display.
STORED = {
    1: None,
    2: T.FLIP_LEFT_RIGHT,
    3: T.ROTATE_180,
    4: T.FLIP_TOP_BOTTOM,
    5: T.TRANSPOSE,
    6: T.ROTATE_90,
    7: T.TRANSVERSE,
    8: T.ROTATE_270,
}


def card(text: str = CODE, module: int = 8) -> Image.Image:
    dark = with_quiet_zone(qr_modules(text)).repeat(module, 0).repeat(module, 1)
    return Image.fromarray(np.where(dark, 20, 235).astype(np.uint8))


def scene(*held: tuple[Image.Image, tuple[int, int]], size: tuple[int, int] = (1200, 800)) -> Image.Image:
    picture = Image.new("L", size, 150)
    for image, place in held:
        picture.paste(image, place)
    return picture


def one(picture: Image.Image, orientation: int = 1) -> SymbolSeen:
    (seen,) = read_symbols(picture, orientation=orientation)
    return seen


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("turned", [0, 90, 180, 270])
def test_a_slate_reads_and_tells_how_it_is_held(turned: int, orientation: int) -> None:
    displayed = scene((card().rotate(-turned), (300, 200)))  # Pillow turns anticlockwise
    method = STORED[orientation]
    seen = one(displayed if method is None else displayed.transpose(method), orientation)
    assert seen.text == CODE
    assert seen.turned in {(turned - 1) % 360, turned, turned + 1}


@pytest.mark.parametrize("tilt", [10, 20, 35, 335])
def test_a_slate_held_askew_tells_its_angle(tilt: int) -> None:
    seen = one(scene((card().rotate(-tilt, expand=True, fillcolor=150), (300, 200))))
    assert seen.text == CODE
    assert abs(seen.turned - tilt) <= 2


def test_its_size_and_corners_are_shares_of_the_picture() -> None:
    seen = one(scene((card(module=8), (300, 200))))
    assert seen.share == pytest.approx(21 * 8 / 800, rel=0.03)
    left, top = 300 + 4 * 8, 200 + 4 * 8
    right, bottom = left + 21 * 8, top + 21 * 8
    expected = [(left, top), (right, top), (right, bottom), (left, bottom)]
    for (x, y), (wanted_x, wanted_y) in zip(seen.corners, expected, strict=True):
        assert x * 1200 == pytest.approx(wanted_x, abs=4)
        assert y * 800 == pytest.approx(wanted_y, abs=4)


def damaged() -> Image.Image:
    """A card with a thumb over its lower right: far more than level Q's quarter of the codewords is gone."""
    spoilt = card()
    ImageDraw.Draw(spoilt).rectangle((13 * 8, 13 * 8, 25 * 8 - 1, 25 * 8 - 1), fill=20)
    return spoilt


def test_a_damaged_slate_is_seen_and_not_read() -> None:
    seen = one(scene((damaged(), (300, 200))))
    assert seen.text is None
    assert seen.share == pytest.approx(21 * 8 / 800, rel=0.1)


def test_a_slate_beside_a_damaged_one_reads() -> None:
    seen = read_symbols(scene((card(), (100, 200)), (damaged(), (700, 200))))
    assert [symbol.text for symbol in seen] == [CODE, None]


@pytest.mark.parametrize("places", [(300, 500), (500, 300)])
def test_a_card_with_one_of_its_copies_damaged_gives_one_answer(places: tuple[int, int]) -> None:
    # The copies are 25 modules apart: they share the quiet zone between them.
    seen = read_symbols(scene((damaged(), (places[0], 200)), (card(), (places[1], 200))))
    assert [symbol.text for symbol in seen] == [CODE]


def test_two_slates_in_one_frame_are_both_told() -> None:
    other = new_code("CCCC", (), random.Random(1))
    seen = read_symbols(scene((card(), (100, 200)), (card(other), (700, 200))))
    assert {symbol.text for symbol in seen} == {CODE, other}


@pytest.mark.parametrize(
    "text", ["https://example.org/programme", "Halle 3 – Größe: \x1b[31mrot\nzwei", "17"]
)
def test_a_foreign_code_is_returned_as_it_is_written(text: str) -> None:
    foreign = qrcode.QRCode(box_size=8)
    foreign.add_data(text.encode())
    assert one(scene((foreign.make_image().get_image().convert("L"), (200, 100)))).text == text


def test_the_full_picture_is_tried_where_the_small_one_does_not_read() -> None:
    asked = []

    def full() -> Image.Image:
        asked.append(True)
        return scene((card(), (300, 200)))

    assert [seen.text for seen in read_symbols(scene((damaged(), (300, 200))), full, known=KNOWN)] == [CODE]
    assert asked == [True]


def test_the_full_picture_is_tried_where_finder_patterns_are_in_sight() -> None:
    # From so far, and so askew, that the decoder finds nothing in the picture as reduced.
    askew = card(module=5).rotate(30, Image.Resampling.BICUBIC, expand=True, fillcolor=150)
    whole = scene((askew, (1300, 900)), size=(3000, 2000))
    small = whole.reduce(4)
    assert decode_symbols(small, 1) == ()
    assert [seen.text for seen in read_symbols(small, lambda: whole, known=KNOWN)] == [CODE]


def test_the_full_picture_is_left_alone_where_it_is_not_needed() -> None:
    def full() -> Image.Image:
        raise AssertionError("not needed")

    assert read_symbols(scene((card(), (300, 200))), full, known=KNOWN)
    assert read_symbols(scene(), full, known=KNOWN) == ()


@pytest.mark.parametrize("radius", [5, 8, 10, 16])
def test_eyes_look_like_finder_patterns_and_are_left_alone(radius: int) -> None:
    face = Image.new("L", (600, 400), 150)
    draw = ImageDraw.Draw(face)
    apart = 10.8 * radius  # an iris is 12 mm wide, pupils are 63 mm apart: from memory
    for x in (300 - apart / 2, 300 + apart / 2):
        for wide, high, grey in ((2.0, 1.0, 225), (1.0, 1.0, 70), (0.5, 0.5, 15)):  # white, iris, pupil
            box = x - wide * radius, 200 - high * radius, x + wide * radius, 200 + high * radius
            draw.ellipse(box, grey)
    assert any(found.likeness > 0.65 for some in find_finder_patterns(face) for found in some)

    def full() -> Image.Image:
        raise AssertionError("not needed")

    assert read_symbols(face, full, known=KNOWN) == ()


def textures() -> dict[str, Image.Image]:
    rng = np.random.default_rng(7)
    y, x = np.mgrid[0:800, 0:1200]

    def picture(values: np.ndarray) -> Image.Image:
        return Image.fromarray(values.astype(np.uint8))

    return {
        "even": picture(np.full((800, 1200), 128)),
        "stripes": picture((x // 12 % 2) * 200),
        "checks": picture(((x // 10 + y // 10) % 2) * 200),
        "rings": picture((np.hypot(x - 600, y - 400) // 15 % 2) * 200),
        "noise": picture(rng.integers(0, 256, (800, 1200))),
        "coarse noise": picture((rng.integers(0, 2, (80, 120)) * 255).repeat(10, 0).repeat(10, 1)),
        "gradient": picture(x / 1200 * 255),
    }


@pytest.mark.parametrize("name", list(textures()))
def test_cloth_and_walls_are_no_slates(name: str) -> None:
    assert read_symbols(textures()[name], known=KNOWN) == ()
