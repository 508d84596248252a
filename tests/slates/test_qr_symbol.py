"""The symbol against ISO/IEC 18004: size, function patterns, format information, and other decoders."""

from __future__ import annotations

import random

import numpy as np
import pytest
from numpy.typing import NDArray

from onsite.core.codes import new_code, new_shoot_mark
from onsite.slates.qr_symbol import (
    CHARACTERS,
    MASK,
    MODULES,
    QUIET_ZONE,
    affine_parts,
    qr_modules,
    qr_modules_of,
    with_quiet_zone,
)
from tests.slates.taken import is_pattern

Modules = NDArray[np.bool_]

CODE = "NX34ACDEFHJK"
FORMAT_MASK = 0b101010000010010  # ISO/IEC 18004, 7.9.1
FORMAT_GENERATOR = 0b10100110111  # annex C
LEVELS = {0b01: "L", 0b00: "M", 0b11: "Q", 0b10: "H"}  # table 12


def format_copies(modules: Modules) -> tuple[int, int]:
    """The two copies of the format information, as they stand in the symbol (figure 25)."""
    last = len(modules) - 1
    around_corner = [(row, 8) for row in (0, 1, 2, 3, 4, 5, 7, 8)] + [
        (8, column) for column in (7, 5, 4, 3, 2, 1, 0)
    ]
    along_edges = [(8, last - bit) for bit in range(8)] + [(last - 6 + bit, 8) for bit in range(7)]
    first, second = (
        sum(int(modules[place]) << bit for bit, place in enumerate(places))
        for places in (around_corner, along_edges)
    )
    return first, second


def read_format(bits: int) -> tuple[str, int]:
    """Error correction level and mask; fails where the BCH (15,5) code of annex C finds an error."""
    data = bits ^ FORMAT_MASK
    remainder = data
    for shift in range(4, -1, -1):
        if remainder >> (10 + shift) & 1:
            remainder ^= FORMAT_GENERATOR << shift
    assert remainder == 0
    return LEVELS[data >> 13], data >> 10 & 0b111


def test_the_worked_example_of_the_standard_reads_as_it_says() -> None:
    # ISO/IEC 18004, annex C.2 (from memory): level M with mask 101 becomes 100000011001110.
    assert read_format(0b100000011001110) == ("M", 0b101)


def test_a_version_1_symbol_has_21_modules_on_a_side() -> None:
    assert qr_modules(CODE).shape == (21, 21) == (MODULES, MODULES)  # ISO/IEC 18004, 5.3.1


def test_finder_and_timing_patterns_are_where_they_belong() -> None:
    # ISO/IEC 18004, 5.3.2 to 5.3.4 and 7.9.1 (the module that is always dark).
    finder = np.pad(np.pad(np.ones((3, 3), bool), 1), 1, constant_values=True)
    modules = qr_modules(CODE)
    for corner in (modules[:7, :7], modules[:7, -7:], modules[-7:, :7]):
        assert (corner == finder).all()
    assert modules[6, 8:13].tolist() == modules[8:13, 6].tolist() == [True, False, True, False, True]
    assert modules[4 * 1 + 9, 8]  # 4 V + 9 with V = 1, the version


@pytest.mark.parametrize("seed", range(10))
def test_both_copies_of_the_format_information_say_level_q_and_the_mask(seed: int) -> None:
    first, second = format_copies(qr_modules(new_code("3479", (), random.Random(seed))))
    assert first == second
    assert read_format(first) == ("Q", MASK)


def test_the_quiet_zone_is_four_light_modules() -> None:
    modules = with_quiet_zone(qr_modules(CODE))  # ISO/IEC 18004, 5.3.8
    assert modules.shape == (21 + 2 * 4, 21 + 2 * 4)
    assert QUIET_ZONE == 4
    inner = modules[4:-4, 4:-4]
    assert modules.sum() == inner.sum()
    assert inner[0].any()
    assert inner[:, 0].any()


def test_a_decoder_reports_version_level_and_text() -> None:
    import zxingcpp

    picture = np.kron(~with_quiet_zone(qr_modules(CODE)), np.ones((6, 6), bool)).astype(np.uint8) * 255
    (found,) = zxingcpp.read_barcodes(picture)
    assert (found.text, found.ec_level, found.extra["Version"]) == (CODE, "Q", "1")


def test_a_text_that_needs_a_larger_symbol_is_refused() -> None:
    # ISO/IEC 18004, table 7: version 1-Q holds 16 alphanumeric characters.
    assert qr_modules("N" * 16).shape == (21, 21)
    with pytest.raises(ValueError):
        qr_modules("N" * 17)


def codes_of_some_shoots(count: int) -> list[str]:
    rng = random.Random(3)
    return [new_code(new_shoot_mark(rng), (), rng) for _ in range(count)]


def test_many_symbols_at_once_are_those_drawn_one_by_one() -> None:
    # Every character of alphanumeric mode comes up, those that no code has as well.
    rng = random.Random(4)
    texts = codes_of_some_shoots(200) + ["".join(rng.choices(CHARACTERS, k=12)) for _ in range(100)]
    assert set("".join(texts)) == set(CHARACTERS)
    assert (qr_modules_of(texts) == [qr_modules(text) for text in texts]).all()


def test_the_symbols_of_no_codes_are_none() -> None:
    assert qr_modules_of([]).shape == (0, 21, 21)


@pytest.mark.parametrize(
    "text", ["", "NX34ACDEFHJ", "NX34ACDEFHJKM", "nx34acdefhjk", "NX34ACDEFHJÄ", "N" * 24]
)
def test_texts_that_are_no_12_alphanumeric_characters_are_refused(text: str) -> None:
    with pytest.raises(ValueError):
        qr_modules_of([CODE, text])


def test_the_characters_are_those_of_the_standard() -> None:
    # ISO/IEC 18004, table 5: A is 10, Z 35, the space 36, then $ % * + - . / and the colon with 44.
    assert [CHARACTERS.index(mark) for mark in "0AZ $%*+-./:"] == [0, 10, 35, *range(36, 45)]
    assert len(CHARACTERS) == 45


def test_the_worked_example_of_the_standard_is_encoded_as_it_says() -> None:
    # ISO/IEC 18004, 7.4.4: AC-42 is the pairs 462 and 1849, 00111001110 and 11100111001 (from memory).
    zeros, changes = affine_parts()
    bits = [bit == "1" for bit in "00111001110" + "11100111001"]
    assert (qr_modules("AC-400000000") == zeros ^ np.logical_xor.reduce(changes[:22][bits])).all()


def test_all_symbols_have_the_same_pattern_and_no_codeword_in_it() -> None:
    # ISO/IEC 18004, table 1: 208 modules of version 1 hold codewords, 26 of 8 bits; 21² - 208 do not.
    pattern = is_pattern()
    assert (~pattern).sum() == 208
    long = ["".join(random.Random(seed).choices(CHARACTERS, k=16)) for seed in range(100)]
    drawn = np.array([qr_modules(text) for text in long])
    varies = (drawn != drawn[0]).any(axis=0)
    assert not (varies & pattern).any()
    # All but the mode, the count of characters and what is left over of 13 codewords: 4 + 9 + 3 bits.
    assert varies.sum() == 208 - 4 - 9 - 3


def test_the_mask_is_the_one_with_the_least_penalty() -> None:
    # The penalty of ISO/IEC 18004, 7.8.3.1, as qrcode rates it.
    import qrcode
    from qrcode.util import lost_point

    penalties = np.zeros(8)
    for code in codes_of_some_shoots(60):
        for mask in range(8):
            drawing = qrcode.QRCode(1, qrcode.constants.ERROR_CORRECT_Q, border=0, mask_pattern=mask)
            drawing.add_data(code)
            drawing.make(fit=False)
            penalties[mask] += lost_point(drawing.modules)
    assert penalties.argmin() == MASK


@pytest.mark.parametrize("code", codes_of_some_shoots(30))
def test_decoders_read_the_mask_whatever_the_code(code: str) -> None:
    import zxingcpp

    picture = np.kron(~with_quiet_zone(qr_modules(code)), np.ones((4, 4), bool)).astype(np.uint8) * 255
    (found,) = zxingcpp.read_barcodes(picture)
    assert (found.text, found.extra["DataMask"]) == (code, MASK)
