"""The slate code: its check, what people type, and that no single mistake gets through."""

from __future__ import annotations

import random
from string import ascii_uppercase, digits

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.core.codes import (
    ALPHABET,
    CODE_LENGTH,
    HOLDER_LENGTH,
    PROJECT_MARK,
    SHOOT_LENGTH,
    SlateCode,
    adjacent_swaps,
    has_valid_check,
    new_code,
    new_shoot_mark,
    parse_slate_code,
    spaced_code,
)

ANY_CHARACTER = digits + ascii_uppercase
seeds = st.integers(0, 2**32)


def issued(seed: int) -> str:
    rng = random.Random(seed)
    return new_code(new_shoot_mark(rng), (), rng)


def wrong_by_one(code: str) -> list[str]:
    return [
        code[:place] + other + code[place + 1 :]
        for place in range(len(code))
        for other in ANY_CHARACTER
        if other != code[place]
    ]


def test_the_check_is_that_of_iso_7064_mod_37_36() -> None:
    # The worked example of the Global Release Identifier standard (IFPI, GRid Standard 2.1), which uses
    # ISO/IEC 7064 MOD 37,36: A1-2425G-ABC1234002-M.
    assert has_valid_check("A12425GABC1234002M")
    assert not any(has_valid_check(wrong) for wrong in wrong_by_one("A12425GABC1234002M"))


def mod_37_36(text: str) -> int:
    """The recursion of ISO/IEC 7064 for pure hybrid systems, written from memory; 1 for a valid text."""
    product = 36
    for character in text[:-1]:
        product = (product + ANY_CHARACTER.index(character)) % 36 or 36
        product = product * 2 % 37
    return (product + ANY_CHARACTER.index(text[-1])) % 36


@given(seeds)
def test_issued_codes_pass_the_recursion_of_the_standard(seed: int) -> None:
    assert mod_37_36(issued(seed)) == 1


@pytest.mark.parametrize("seed", range(5))
def test_every_single_error_and_every_swap_is_caught(seed: int) -> None:
    code = issued(seed)
    caught = wrong_by_one(code) + adjacent_swaps(code)
    assert len(caught) > CODE_LENGTH * 35
    assert [text for text in caught if parse_slate_code(text) is not None] == []


@given(seeds, st.data())
def test_a_wrong_character_is_caught(seed: int, data: st.DataObject) -> None:
    code = issued(seed)
    place = data.draw(st.integers(0, CODE_LENGTH - 1))
    other = data.draw(st.sampled_from([mark for mark in ALPHABET if mark != code[place]]))
    assert parse_slate_code(code[:place] + other + code[place + 1 :]) is None


@given(seeds, st.integers(0, CODE_LENGTH - 2))
def test_two_swapped_neighbours_are_caught(seed: int, place: int) -> None:
    code = issued(seed)
    swapped = code[:place] + code[place + 1] + code[place] + code[place + 2 :]
    assert parse_slate_code(swapped) == (SlateCode(code) if swapped == code else None)


@given(seeds, st.integers(0, CODE_LENGTH - 1))
def test_a_character_left_out_or_typed_twice_is_caught(seed: int, place: int) -> None:
    code = issued(seed)
    assert parse_slate_code(code[:place] + code[place + 1 :]) is None
    assert parse_slate_code(code[:place] + code[place] + code[place:]) is None


@given(seeds)
def test_a_code_is_made_of_its_parts_and_fits_the_smallest_symbol(seed: int) -> None:
    code = issued(seed)
    assert len(code) == len(PROJECT_MARK) + SHOOT_LENGTH + HOLDER_LENGTH + 1 == 12
    # 16 alphanumeric characters at version 1, level Q: ISO/IEC 18004, table 7.
    assert len(code) <= 16
    assert set(code) <= set(ALPHABET)
    assert code.startswith(PROJECT_MARK)


def test_the_shoots_mark_is_read_back() -> None:
    code = parse_slate_code(new_code("AAAA", ()))
    assert code is not None
    assert code.shoot == "AAAA"


@pytest.mark.parametrize("pair", ["0O", "1I", "1L", "IL", "2Z", "5S", "6G", "8B", "UV", "0Q", "0D", "VW"])
def test_no_two_characters_look_alike(pair: str) -> None:
    assert not set(pair) <= set(ALPHABET)


@pytest.mark.parametrize(
    "written",
    [str.lower, spaced_code, lambda code: "-".join(code), lambda code: f"\t{code[:6]}\u00a0–_{code[6:]} "],
)
def test_codes_are_read_as_people_type_them(written: object) -> None:
    code = issued(7)
    assert callable(written)
    assert parse_slate_code(written(code)) == SlateCode(code)


def test_the_printed_form_is_three_groups_of_four() -> None:
    assert SlateCode("NX34ACDEFHJK").spaced == "NX34 ACDE FHJK"


@pytest.mark.parametrize(
    "text", ["", " ", "https://example.org", "NX", "\x1b[31m", "ＮＸ34ACDEFHJK", "NX" + "A" * 5000]
)
def test_other_texts_are_no_codes(text: str) -> None:
    assert parse_slate_code(text) is None


@given(st.text())
def test_whatever_is_read_is_no_code_or_a_whole_one(text: str) -> None:
    code = parse_slate_code(text)
    assert code is None or (len(code.text) == CODE_LENGTH and has_valid_check(code.text))


def test_codes_are_unique_and_a_draw_can_be_repeated() -> None:
    def three_hundred() -> list[str]:
        rng = random.Random(3)
        codes: list[str] = []
        for _ in range(300):
            codes.append(new_code("AAAA", codes, rng))
        return codes

    codes = three_hundred()
    assert len(set(codes)) == 300
    assert codes == three_hundred()


def test_a_taken_code_is_not_drawn_again() -> None:
    first = new_code("AAAA", (), random.Random(1))
    assert new_code("AAAA", {first}, random.Random(1)) != first
