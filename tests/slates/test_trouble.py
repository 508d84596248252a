"""The frames that slates are measured on: the same every time, and true to how a camera sees a card."""

from __future__ import annotations

import random

import numpy as np
import pytest
import zxingcpp
from numpy.typing import NDArray
from PIL import Image

from onsite.core.codes import new_code
from tests.bench.bench_slates import bare
from tests.bench.trouble.frame import SIZE, frame, sitter
from tests.bench.trouble.kinds import KINDS, STRENGTHS, Trouble, trouble
from tests.bench.trouble.paper import DISTANCE, FACE, FOCAL, Bend, Held, see

CODE = new_code("AAAA", (), random.Random(18004))


@pytest.mark.long
def test_a_frame_is_the_same_every_time() -> None:
    one, other, next_one = (frame(bare(CODE), trouble("glare", 3, seed), seed) for seed in (5, 5, 6))
    assert one.size == SIZE
    assert one.tobytes() == other.tobytes() != next_one.tobytes()


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_has_five_strengths_and_every_seed_its_own_frame(kind: str) -> None:
    drawn = [trouble(kind, strength, seed) for strength in STRENGTHS for seed in range(3)]
    assert len({repr(each) for each in drawn}) == 15
    assert drawn == [trouble(kind, strength, seed) for strength in STRENGTHS for seed in range(3)]
    assert len(STRENGTHS) == 5
    with pytest.raises(IndexError):
        trouble(kind, 6, 0)


@pytest.mark.long
def test_a_card_held_without_trouble_reads() -> None:
    picture = frame(bare(CODE), Trouble(Held(tilt=5, turn=-5, roll=4)), 1)
    assert [seen.text for seen in zxingcpp.read_barcodes(picture)] == [CODE]


@pytest.mark.long
def test_a_sitter_without_a_card_has_nothing_to_read() -> None:
    assert zxingcpp.read_barcodes(sitter(Trouble(Held()), 1)) == []


@pytest.mark.parametrize("angle", [-60, 30, 68])
def test_a_tilted_card_is_seen_as_a_pinhole_camera_sees_it(angle: float) -> None:
    """x' = f X / Z, y' = f Y / Z (Hartley and Zisserman, Multiple View Geometry, 6.1; from memory)."""
    seen = see(Held(tilt=angle, place=(0.5, 0.5)), SIZE, fine=1)
    slope = np.radians(angle)
    depth = DISTANCE + seen.y * np.sin(slope)
    column, row = seen.x * FOCAL / depth, seen.y * np.cos(slope) * FOCAL / depth
    left, top = seen.corner
    rows, columns = np.mgrid[: seen.x.shape[0], : seen.x.shape[1]] + 0.5
    wanted = np.stack([columns + left - SIZE[0] / 2, rows + top - SIZE[1] / 2])
    off = np.abs(np.stack([column, row]) - wanted)[:, seen.on_card]
    assert off.size > 10_000
    assert off.max() < 0.3  # of a pixel: the sheet's middle is known to half a step, a tenth of a mm


@pytest.mark.parametrize("farther", [1.0, 2.0])
def test_a_flat_card_covers_what_its_distance_asks(farther: float) -> None:
    seen = see(Held(farther=farther), SIZE, fine=1)
    pixels = FOCAL / DISTANCE / farther
    assert seen.on_card.sum() == pytest.approx(FACE[0] * FACE[1] * pixels**2, rel=0.01)


def test_bent_paper_keeps_its_length() -> None:
    """A card bent to an arc is as wide from the front as its chord: 2 R sin(angle / 2), R = L / angle."""
    half = np.pi / 3
    bend = Bend(0.0, (-FACE[0] / 2, FACE[0] / 2), (-half, half))
    seen = see(Held(place=(0.5, 0.5), bend=bend), SIZE, fine=1)
    row = on_middle_row(seen.on_card)
    radius = FACE[0] / 2 / half
    ends = DISTANCE + radius * (1 - np.cos(half))
    behind, before = (2 * radius * np.sin(half) * FOCAL / depth for depth in (ends, 2 * DISTANCE - ends))
    assert min(behind, before) - 2 < row.sum() < max(behind, before) + 2


def on_middle_row(picture: NDArray[np.bool_]) -> NDArray[np.bool_]:
    return np.asarray(picture[picture.shape[0] // 2])


@pytest.mark.long
def test_a_face_of_white_gives_no_dark_pixel_on_the_card() -> None:
    plain = frame(Image.new("L", (1740, 1160), 255), Trouble(Held(place=(0.5, 0.5)), noise=0.0), 0)
    inked = frame(Image.new("L", (1740, 1160), 0), Trouble(Held(place=(0.5, 0.5)), noise=0.0), 0)
    box = (1400, 950, 1600, 1050)
    assert np.asarray(plain.crop(box)).min() > 150
    assert np.asarray(inked.crop(box)).max() < 80
