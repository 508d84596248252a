"""The look of a frame: the same for one singer, far for another, and blind to the card in their hands."""

from __future__ import annotations

import math

import numpy as np
import pytest
from PIL import Image, ImageDraw

from onsite.core.colour_signature import BINS, NOBODY, unpack_signatures, version_of
from onsite.frames.measure_colours import colour_signature
from onsite.matching.looks import distances
from onsite.slates.reader.seen_symbol import SymbolSeen

HAIR_AND_CLOTHES = {"anna": ("saddlebrown", "crimson"), "bo": ("black", "navy"), "zoë": ("gold", "darkgreen")}


def portrait(who: str, shift: int = 0, seed: int = 0) -> Image.Image:
    """A singer before a grey backdrop that gets darker downwards, drawn `shift` pixels aside."""
    hair, clothes = HAIR_AND_CLOTHES[who]
    picture = Image.new("RGB", (300, 450))
    pen = ImageDraw.Draw(picture)
    for y in range(450):
        pen.line((0, y, 300, y), fill=(180 - y // 8,) * 3)
    pen.ellipse((105 + shift, 50, 195 + shift, 170), fill=hair)
    pen.ellipse((115 + shift, 80, 185 + shift, 180), fill="peachpuff")
    pen.rounded_rectangle((70 + shift, 180, 230 + shift, 460), 40, fill=clothes)
    noise = np.random.default_rng(seed).normal(0, 3, (450, 300, 3))
    return Image.fromarray(np.clip(np.asarray(picture) + noise, 0, 255).astype(np.uint8))


def distance(one: bytes, other: bytes) -> float:
    first, second = unpack_signatures([one, other]).roots()
    return math.sqrt(2) * float(distances(first, second))  # Hellinger's


def presence(look: bytes) -> float:
    return float(unpack_signatures([look]).presence[0])


def test_a_signature_has_434_bytes_with_its_version_first() -> None:
    look = colour_signature(portrait("anna"))
    assert (len(look), look[0], version_of(look)) == (434, 2, 2)
    assert sum((byte / 255) ** 2 for byte in look[-BINS:]) == pytest.approx(1, abs=0.03)


def test_the_same_picture_has_the_same_look() -> None:
    assert colour_signature(portrait("anna")) == colour_signature(portrait("anna"))


@pytest.mark.parametrize("who", HAIR_AND_CLOTHES)
def test_one_singer_a_step_aside_looks_the_same_and_another_does_not(who: str) -> None:
    look = colour_signature(portrait(who))
    same = max(
        distance(look, colour_signature(portrait(who, shift, seed=shift + 50))) for shift in (-30, 10, 30)
    )
    others = [distance(look, colour_signature(portrait(other))) for other in HAIR_AND_CLOTHES if other != who]
    assert same < 0.25
    assert min(others) > 2 * same


@pytest.mark.parametrize(
    ("orientation", "stored"),
    [
        (3, Image.Transpose.ROTATE_180),
        (5, Image.Transpose.TRANSPOSE),
        (6, Image.Transpose.ROTATE_90),
        (7, Image.Transpose.TRANSVERSE),
        (8, Image.Transpose.ROTATE_270),
    ],
)
def test_the_look_does_not_depend_on_how_the_camera_was_held(
    orientation: int, stored: Image.Transpose
) -> None:
    upright = colour_signature(portrait("anna"))
    assert (
        distance(upright, colour_signature(portrait("anna").transpose(stored), orientation=orientation)) < 0.1
    )


def test_the_card_in_their_hands_is_left_out() -> None:
    plain = portrait("anna")
    held = plain.copy()
    ImageDraw.Draw(held).rectangle((110, 250, 190, 330), fill="white")
    corners = ((130 / 300, 270 / 450), (170 / 300, 270 / 450), (170 / 300, 310 / 450), (130 / 300, 310 / 450))
    slate = SymbolSeen(None, 0, 40 / 300, corners)
    with_card, card_left_out = colour_signature(held), colour_signature(held, [slate])
    assert distance(colour_signature(plain), card_left_out) < distance(colour_signature(plain), with_card)


def test_nobody_is_before_an_empty_backdrop() -> None:
    assert presence(colour_signature(Image.new("RGB", (300, 200), "grey"))) < NOBODY


@pytest.mark.parametrize("who", HAIR_AND_CLOTHES)
def test_light_and_white_balance_hardly_change_it(who: str) -> None:
    """A third of a stop and a tenth of a stop of red and blue, in linear light (IEC 61966-2-1)."""
    coded = np.asarray(portrait(who)) / 255
    light = np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)
    light = np.clip(light * 2.0 ** np.array([-0.23, -0.33, -0.43]), 0, 1)
    again = np.where(light <= 0.0031308, light * 12.92, 1.055 * light ** (1 / 2.4) - 0.055)
    other = Image.fromarray(np.round(again * 255).astype(np.uint8))
    assert distance(colour_signature(portrait(who)), colour_signature(other)) < 0.2


def test_a_closer_framing_looks_the_same() -> None:
    whole = portrait("anna").crop((30, 20, 270, 380))
    assert distance(colour_signature(portrait("anna")), colour_signature(whole)) < 0.3


def test_a_grey_card_on_a_stand_is_nobody() -> None:
    picture = Image.new("RGB", (300, 450), (132, 142, 154))
    pen = ImageDraw.Draw(picture)
    pen.line((150, 180, 150, 450), fill=(44, 45, 48), width=9)
    pen.rectangle((78, 120, 222, 300), fill=(119, 119, 119))
    assert presence(colour_signature(picture)) < NOBODY


def test_muted_plum_is_seen_before_grey() -> None:
    """Each channel is within 40 of 255 of the backdrop's."""
    picture = Image.new("RGB", (300, 450), (132, 142, 154))
    pen = ImageDraw.Draw(picture)
    pen.ellipse((105, 50, 195, 180), fill=(140, 136, 134))
    pen.rounded_rectangle((70, 180, 230, 460), 40, fill=(146, 104, 132))
    assert presence(colour_signature(picture)) > 5 * NOBODY
