"""The general decoder: symbols in a picture or in part of one, and which unread ones are told."""

from __future__ import annotations

import numpy as np
import pytest
import zxingcpp
from PIL import Image, ImageOps

from onsite.slates.qr_symbol import MODULES
from onsite.slates.reader.read_slates import SMALLEST, decode_symbols, read_symbols
from onsite.slates.reader.seen_symbol import ReadBy
from tests.slates.taken import CODE, KNOWN, OTHER, card, covered, scene, texts


def test_a_symbol_is_told_with_its_place() -> None:
    (symbol,) = decode_symbols(scene((card(), (300, 200))), 1)
    assert (symbol.text, symbol.by, symbol.margin, symbol.turned) == (CODE, ReadBy.DECODER, None, 0)
    assert np.array(symbol.corners[0]) * (1200, 800) == pytest.approx((332, 232), abs=3)


@pytest.mark.parametrize("reduced", [1, 2])
@pytest.mark.parametrize("corner", [(0, 0), (0, 15), (121, 64), (280, 180)])
def test_in_part_of_a_picture_it_is_told_as_in_the_whole(corner: tuple[int, int], reduced: int) -> None:
    whole = scene((card(), (300, 200)))
    left, top = corner
    part = whole.crop((left, top, left + 600, top + 500)).reduce(reduced)
    (symbol,) = decode_symbols(part, 1, corner, reduced, whole.size)
    (wanted,) = decode_symbols(whole, 1)
    assert symbol.text == wanted.text
    # A module, 8 pixels: the decoder does not tell its corners any better in the reduced picture.
    off = (np.array(symbol.corners) - np.array(wanted.corners)) * whole.size
    assert np.abs(off).max() < 8


def test_those_that_read_come_first_and_one_code_comes_once() -> None:
    picture = scene((covered(), (40, 100)), (card(OTHER), (420, 100)), (card(OTHER), (800, 100)))
    assert texts(decode_symbols(picture, 1)) == [OTHER, None]


def test_unread_ones_come_by_size() -> None:
    picture = scene((covered(module=5), (100, 200)), (covered(OTHER, module=8), (600, 200)))
    shares = [symbol.share for symbol in decode_symbols(picture, 1)]
    assert len(shares) == 2
    assert shares == sorted(shares, reverse=True)


def test_an_unread_one_that_is_tiny_is_not_believed() -> None:
    module = 3
    width = round(MODULES * module / SMALLEST * 1.2)
    in_a_large_picture = scene((covered(module=module), (100, 100)), size=(width, width))
    in_a_small_picture = in_a_large_picture.crop((0, 0, 600, 600))
    assert texts(decode_symbols(in_a_small_picture, 1)) == [None]
    assert decode_symbols(in_a_large_picture, 1) == ()


def test_a_symbol_in_white_on_black_reads_where_no_larger_picture_is_to_be_had() -> None:
    picture = ImageOps.invert(scene((card(), (300, 200))))
    assert texts(read_symbols(picture, known=KNOWN)) == [CODE]
    assert read_symbols(picture, lambda: picture, known=KNOWN) == ()


@pytest.mark.parametrize("kind", ["Code128", "DataMatrix", "Aztec", "PDF417", "MicroQRCode", "RMQRCode"])
def test_symbols_of_other_kinds_are_left_alone(kind: str) -> None:
    barcode = zxingcpp.create_barcode(CODE, getattr(zxingcpp.BarcodeFormat, kind))
    drawn = Image.fromarray(np.array(barcode.to_image(scale=4)))
    picture = scene((drawn, (100, 100)))
    assert [found.text for found in zxingcpp.read_barcodes(picture)] == [CODE]
    assert decode_symbols(picture, 1) == ()
