"""The symbol against ISO/IEC 18004: size, function patterns, format information, and other decoders."""

from __future__ import annotations

import random

import numpy as np
import pytest
from numpy.typing import NDArray

from onsite.slate.code import new_code
from onsite.slate.symbol import MODULES, QUIET_ZONE, symbol, with_quiet_zone

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
    assert symbol(CODE).shape == (21, 21) == (MODULES, MODULES)  # ISO/IEC 18004, 5.3.1


def test_finder_and_timing_patterns_are_where_they_belong() -> None:
    # ISO/IEC 18004, 5.3.2 to 5.3.4 and 7.9.1 (the module that is always dark).
    finder = np.pad(np.pad(np.ones((3, 3), bool), 1), 1, constant_values=True)
    modules = symbol(CODE)
    for corner in (modules[:7, :7], modules[:7, -7:], modules[-7:, :7]):
        assert (corner == finder).all()
    assert modules[6, 8:13].tolist() == modules[8:13, 6].tolist() == [True, False, True, False, True]
    assert modules[4 * 1 + 9, 8]  # 4 V + 9 with V = 1, the version


@pytest.mark.parametrize("seed", range(10))
def test_both_copies_of_the_format_information_say_level_q(seed: int) -> None:
    first, second = format_copies(symbol(new_code("3479", (), random.Random(seed))))
    assert first == second
    assert read_format(first)[0] == "Q"


def test_the_quiet_zone_is_four_light_modules() -> None:
    modules = with_quiet_zone(symbol(CODE))  # ISO/IEC 18004, 5.3.8
    assert modules.shape == (21 + 2 * 4, 21 + 2 * 4)
    assert QUIET_ZONE == 4
    inner = modules[4:-4, 4:-4]
    assert modules.sum() == inner.sum()
    assert inner[0].any()
    assert inner[:, 0].any()


def test_a_decoder_reports_version_level_and_text() -> None:
    import zxingcpp

    picture = np.kron(~with_quiet_zone(symbol(CODE)), np.ones((6, 6), bool)).astype(np.uint8) * 255
    (found,) = zxingcpp.read_barcodes(picture)
    assert (found.text, found.ec_level, found.extra["Version"]) == (CODE, "Q", "1")


def test_a_text_that_needs_a_larger_symbol_is_refused() -> None:
    # ISO/IEC 18004, table 7: version 1-Q holds 16 alphanumeric characters.
    assert symbol("N" * 16).shape == (21, 21)
    with pytest.raises(ValueError):
        symbol("N" * 17)
