"""Slates that no decoder reads: told by the slates of the shoot, and never as another's."""

from __future__ import annotations

import random
from dataclasses import dataclass, field

import numpy as np
import pytest
import zxingcpp
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from onsite.core.codes import new_code
from onsite.slates.qr_symbol import MODULES
from onsite.slates.reader.closed_set import GRIDS, ClosedSetMatch, KnownSlates, known_slates
from onsite.slates.reader.read_slates import read_symbols
from onsite.slates.reader.seen_symbol import ReadBy
from tests.slates.taken import (
    CODE,
    CODES,
    KNOWN,
    OTHER,
    card,
    covered,
    read,
    scene,
    taken,
    texts,
    turned,
    without,
)

T = Image.Transpose
BY_KNOWN = {ReadBy.KNOWN}

HARD = [("shadow", 5, 0), ("crease", 5, 1), ("thumb", 5, 0), ("curl", 5, 1), ("glare", 3, 0), ("dark", 3, 0)]
"""Frames of 6 megapixels: half in shadow, creased, fingers over it, curled, in glare, in the dark."""

ELSEWHERE = known_slates("XTQ7", [new_code("XTQ7", (), random.Random(seed)) for seed in range(300)])


@pytest.mark.parametrize(
    ("kind", "strength", "seed"),
    [*HARD[:1], *(pytest.param(*hard, marks=pytest.mark.long) for hard in HARD[1:])],
)
def test_a_slate_in_trouble_reads(kind: str, strength: int, seed: int) -> None:
    # Of its two copies one may be told as seen only.
    assert CODE in texts(read(taken(kind, strength, seed)))


@pytest.mark.parametrize(("kind", "strength", "seed"), HARD)
def test_it_is_never_told_as_another_where_its_code_is_not_known(kind: str, strength: int, seed: int) -> None:
    # The decoder may read it on its own, which is no guess.
    for symbol in read(taken(kind, strength, seed), known=without(CODE)):
        assert symbol.text is None or (symbol.text == CODE and symbol.by is ReadBy.DECODER)


def test_a_slate_whose_code_is_not_known_is_seen() -> None:
    (symbol,) = read(scene((covered(), (300, 200))), known=without(CODE))
    assert (symbol.text, symbol.by, symbol.margin) == (None, None, None)
    assert symbol.share == pytest.approx(MODULES * 8 / 800, rel=0.05)


@pytest.mark.parametrize("code", CODES[:6])
def test_a_slate_of_another_shoot_never_gets_one_of_our_codes(code: str) -> None:
    picture = scene((covered(code), (300, 200)))
    assert texts(read_symbols(picture, known=KNOWN)) == [code]
    assert set(texts(read_symbols(picture, known=ELSEWHERE))) <= {None}


def halved(code: str, left: float, right: float) -> Image.Image:
    """A card half of which is in hard shadow, with its upper left finder pattern hidden."""
    light = np.asarray(card(code), float)
    light[:, : light.shape[1] // 2] *= left
    light[:, light.shape[1] // 2 :] *= right
    picture = Image.fromarray(light.astype(np.uint8))
    ImageDraw.Draw(picture).ellipse((12, 12, 100, 100), fill=110)
    return picture


@pytest.mark.parametrize("shade", [1.0, 0.3, 0.12])
def test_two_finder_patterns_do(shade: float) -> None:
    picture = scene((halved(CODE, 1.0, shade), (300, 200)))
    assert not any(found.valid for found in zxingcpp.read_barcodes(picture))
    (symbol,) = read_symbols(picture, known=KNOWN)
    assert (symbol.text, symbol.by) == (CODE, ReadBy.KNOWN)


@pytest.mark.parametrize("angle", [0, 37, 118, 251])
def test_it_reads_at_every_turn(angle: float) -> None:
    picture, to_pixels = turned(CODE, 6.5, angle)
    hidden = to_pixels @ (1, MODULES - 6, MODULES - 6)
    far = 6 * 6.5
    ImageDraw.Draw(picture).ellipse((*(hidden - far), *(hidden + far)), fill=90)
    (symbol,) = read_symbols(scene((picture, (400, 250))), known=KNOWN)
    assert symbol.text == CODE
    assert symbol.by in BY_KNOWN
    assert abs((symbol.turned - angle + 180) % 360 - 180) <= 2


def test_corners_and_share_are_those_of_the_symbol() -> None:
    (symbol,) = read_symbols(scene((covered(), (300, 200))), known=KNOWN)
    left, top, side = 300 + 4 * 8, 200 + 4 * 8, MODULES * 8
    wanted = np.array([(left, top), (left + side, top), (left + side, top + side), (left, top + side)])
    assert np.array(symbol.corners) * (1200, 800) == pytest.approx(wanted, abs=4)  # half a module
    assert symbol.share == pytest.approx(side / 800, rel=0.02)
    assert symbol.margin is not None
    assert symbol.margin > 2


def test_two_peoples_slates_are_both_told() -> None:
    picture = scene((covered(CODE), (100, 200)), (covered(OTHER), (700, 260)))
    symbols = read(picture)
    assert sorted(texts(symbols), key=str) == sorted([CODE, OTHER])
    for symbol in symbols:
        assert symbol.by is ReadBy.KNOWN
        assert (symbol.corners[0][0] < 0.5) == (symbol.text == CODE)


@pytest.mark.parametrize("apart", [232, 200])
def test_two_slates_side_by_side_are_never_mixed(apart: int) -> None:
    # As close as the copies on one card, and of a third code nothing is told.
    both = scene((covered(CODE), (300, 200)), (covered(OTHER), (300 + apart, 200)))
    assert set(texts(read_symbols(both, known=KNOWN))) == {CODE, OTHER}
    assert set(texts(read_symbols(both, known=without(CODE, OTHER)))) <= {None}
    assert set(texts(read_symbols(both, known=without(CODE)))) <= {None, OTHER}


STORED = {1: None, 3: T.ROTATE_180, 6: T.ROTATE_90, 8: T.ROTATE_270}
"""How a picture that is displayed upright is stored: the inverse of what is done for display (table of
Orientation in EXIF 2.32, CIPA DC-008-2019)."""


@pytest.mark.parametrize("orientation", STORED)
@pytest.mark.parametrize("angle", [0, 180])
def test_upside_down_is_told_as_displayed(angle: int, orientation: int) -> None:
    displayed = scene((covered().rotate(-angle), (300, 200)))
    method = STORED[orientation]
    stored = displayed if method is None else displayed.transpose(method)
    (symbol,) = read_symbols(stored, orientation=orientation, known=KNOWN)
    assert (symbol.text, symbol.by) == (CODE, ReadBy.KNOWN)
    assert (symbol.turned + 1) % 360 - 1 == pytest.approx(angle, abs=1)


def test_without_the_codes_of_a_shoot_only_the_decoder_is_asked() -> None:
    picture = scene((covered(), (300, 200)))
    assert texts(read(picture)) == [CODE]
    assert texts(read(picture, known=None)) == [None]


@pytest.mark.parametrize(("kind", "strength", "seed"), HARD)
def test_without_them_nothing_is_said_that_the_decoder_did_not_read(
    kind: str, strength: int, seed: int
) -> None:
    told = read(taken(kind, strength, seed), known=None)
    assert all(symbol.by is (None if symbol.text is None else ReadBy.DECODER) for symbol in told)


def test_the_same_frame_is_told_the_same_way() -> None:
    kind, strength, seed = HARD[1]
    assert read(taken(kind, strength, seed)) == read(taken(kind, strength, seed).copy())


def test_a_slate_that_reads_by_itself_is_not_compared() -> None:
    (symbol,) = read_symbols(scene((card(), (300, 200))), known=KNOWN)
    assert (symbol.text, symbol.by, symbol.margin) == (CODE, ReadBy.DECODER, None)


def test_a_slate_of_no_known_code_at_all_is_seen() -> None:
    (symbol,) = read_symbols(scene((covered(), (300, 200))), known=without(*CODES))
    assert symbol.text is None


def test_a_slate_with_both_copies_covered_is_told_once() -> None:
    both = scene((covered(), (300, 200)), (covered(), (500, 200)))
    assert texts(read_symbols(both, known=KNOWN)) == [CODE]


@dataclass(frozen=True, eq=False)
class Counting(KnownSlates):
    """A set of slates that counts the grids it is asked about."""

    asked: list[None] = field(default_factory=list)

    def match(self, free: NDArray[np.floating]) -> ClosedSetMatch:
        self.asked.append(None)
        return super().match(free)


def test_no_more_grids_are_compared_than_the_bound_allows_for() -> None:
    places = [(60, 60), (480, 60), (900, 60), (60, 460), (480, 460), (900, 460)]
    unknown = without(CODE)
    counting = Counting(unknown.codes, unknown.template, unknown.modules)
    read_symbols(scene(*((covered(), place) for place in places)), known=counting)
    assert len(counting.asked) == GRIDS
