"""A pick code says what was chosen, and says nothing at all with a slip in it."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.core.codes import (
    ALPHABET,
    MOST_PICTURES,
    PickCode,
    adjacent_swaps,
    find_pick_codes,
    holder_of,
    new_code,
    new_shoot_mark,
    parse_pick_code,
    pick_code,
)

MARKS = [new_shoot_mark(random.Random(seed)) for seed in range(20)]
parts = st.text(ALPHABET, min_size=5, max_size=5)
choices = st.lists(st.integers(0, MOST_PICTURES - 1), min_size=1, max_size=6, unique=True)


@given(st.sampled_from(MARKS), parts, choices)
def test_a_code_says_shoot_person_and_pictures_in_the_order_chosen(
    mark: str, holder: str, pictures: list[int]
) -> None:
    assert parse_pick_code(pick_code(mark, holder, pictures)) == PickCode(mark, holder, tuple(pictures))


@given(st.sampled_from(MARKS), parts, choices, st.data())
def test_one_changed_character_is_always_noticed(
    mark: str, holder: str, pictures: list[int], data: st.DataObject
) -> None:
    code = pick_code(mark, holder, pictures).replace(" ", "")
    place = data.draw(st.integers(0, len(code) - 1))
    other = data.draw(st.sampled_from("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ".replace(code[place], "")))
    assert parse_pick_code(code[:place] + other + code[place + 1 :]) is None


@given(st.sampled_from(MARKS), parts, choices)
def test_two_neighbours_swapped_are_noticed(mark: str, holder: str, pictures: list[int]) -> None:
    code = pick_code(mark, holder, pictures).replace(" ", "")
    assert not [swapped for swapped in adjacent_swaps(code) if parse_pick_code(swapped)]


@given(st.sampled_from(MARKS), parts, choices)
def test_characters_that_are_mistaken_for_one_another_are_not_in_it(
    mark: str, holder: str, pictures: list[int]
) -> None:
    assert not set(pick_code(mark, holder, pictures)) & set("0O1IL2Z5S6G8BUV")


@given(st.sampled_from(MARKS), parts, choices, st.integers(1, 6))
def test_a_code_whose_last_groups_were_lost_is_none(
    mark: str, holder: str, pictures: list[int], lost: int
) -> None:
    groups = pick_code(mark, holder, pictures).split(" ")
    assert parse_pick_code(" ".join(groups[:-lost])) is None


@pytest.mark.parametrize("between", ["", " ", "-", "  ", " - ", "\u00a0"])
def test_how_it_is_typed_does_not_matter(between: str) -> None:
    code = pick_code(MARKS[0], "ACDEF", [3, 12])
    assert parse_pick_code(between.join(code.split(" ")).lower()) == PickCode(MARKS[0], "ACDEF", (3, 12))


def test_it_is_found_in_running_text() -> None:
    code = pick_code(MARKS[0], "ACDEF", [3])
    found = list(find_pick_codes(f"Dear all, my code is {code.lower()} and that they may have. Thanks"))
    assert [parsed for _, parsed in found] == [PickCode(MARKS[0], "ACDEF", (3,))]


def test_one_with_a_slip_is_seen_and_says_nothing() -> None:
    code = pick_code(MARKS[0], "ACDEF", [3])
    slip = code[:-1] + ("A" if code[-1] != "A" else "C")
    assert [parsed for _, parsed in find_pick_codes(f"> {slip}")] == [None]


def test_words_are_no_codes() -> None:
    assert list(find_pick_codes("We packed the picnic, thanks for the parking at the back entrance")) == []


def test_the_person_in_it_is_that_of_the_slate_code() -> None:
    slate = new_code(MARKS[0], (), random.Random(1))
    assert slate == f"NX{MARKS[0]}{holder_of(slate)}{slate[-1]}"


@pytest.mark.parametrize("pictures", [[], [-1], [MOST_PICTURES]])
def test_there_is_no_code_for_no_picture(pictures: list[int]) -> None:
    with pytest.raises(ValueError):
        pick_code(MARKS[0], "ACDEF", pictures)
