"""What retouching costs. The figures are invented, for a festival of choirs, and worked by hand."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.core.errors import Problem
from onsite.retouch.retouch_cost import CreditPack, RetouchTerms, parse_money, retouch_cost

FESTIVAL = RetouchTerms(
    pack=CreditPack(250, Decimal(40)),
    credits_per_image=2,
    seconds_per_image=Decimal(8),
    spot_share=Decimal("0.05"),
    seconds_per_spot=Decimal(12),
    by_hand_share=Decimal("0.2"),
    seconds_by_hand=Decimal(300),
    per_image_by_hand=Decimal("1.50"),
)


def test_an_image_is_paid_for_by_its_price() -> None:
    # 90 x 5 = 450
    assert retouch_cost(90, RetouchTerms(per_image=Decimal(5))).money == Decimal(450)


def test_packs_are_bought_whole_and_used_up_in_parts() -> None:
    told = retouch_cost(90, FESTIVAL)
    # 90 x 2 = 180 credits of 250: one pack, 70 left; a fifth by hand: 18 x 1.50 = 27; 40 + 27 = 67
    assert (told.packs, told.credits_used, told.credits_left, told.by_hand) == (1, 180, 70, 18)
    assert told.money == Decimal("67.00")
    # used up: 180 x 40 / 250 = 28.80, and 27 by hand
    assert told.worth == Decimal("55.80")


def test_the_rest_of_a_pack_carries_over() -> None:
    first = retouch_cost(90, FESTIVAL)
    second = retouch_cost(35, FESTIVAL, first.credits_left)
    # 35 x 2 = 70, all that is left; by hand 7 x 1.50 = 10.50
    assert (second.packs, second.money, second.credits_left) == (0, Decimal("10.50"), 0)
    third = retouch_cost(36, FESTIVAL, first.credits_left)
    # 36 x 2 = 72: two credits more than there are, so a pack; 70 + 250 - 72 = 248
    assert (third.packs, third.credits_left) == (1, 248)


def test_time_is_that_of_the_machine_and_that_of_people() -> None:
    told = retouch_cost(90, FESTIVAL)
    # 90 x 8 = 720; looked at 5 in 100 of 90 = 4.5, so 5 x 12 = 60; by hand 18 x 300 = 5,400
    assert told.machine_seconds == 720
    assert told.spot_checks == 5
    assert told.person_seconds == 5460


def test_a_part_of_an_image_is_a_whole_one_for_whoever_looks_at_it() -> None:
    # a fifth of 1, of 5 and of 6 images
    assert [retouch_cost(images, FESTIVAL).by_hand for images in (1, 5, 6)] == [1, 1, 2]


def test_a_minimum_is_charged_for_a_small_batch_and_for_none_nothing() -> None:
    terms = RetouchTerms(per_image=Decimal(5), minimum=Decimal(60))
    # 3 x 5 = 15, less than 60; 20 x 5 = 100
    assert [retouch_cost(images, terms).money for images in (0, 3, 20)] == [0, 60, 100]


@pytest.mark.parametrize(
    "terms",
    [
        RetouchTerms(per_image=Decimal(-1)),
        RetouchTerms(per_image=Decimal("NaN")),
        RetouchTerms(spot_share=Decimal("1.1")),
        RetouchTerms(pack=CreditPack(0, Decimal(40))),
    ],
)
def test_terms_that_cannot_be_are_refused(terms: RetouchTerms) -> None:
    with pytest.raises(Problem):
        retouch_cost(10, terms)


@pytest.mark.parametrize("text", ["", "three", "-1", "1e999999999", "inf", "nan", "1.000,50"])
def test_what_is_no_amount_is_refused(text: str) -> None:
    with pytest.raises(Problem):
        parse_money(text)


amounts = st.decimals(0, 10_000, places=2)
shares = st.decimals(0, 1, places=3)
packs = st.none() | st.builds(CreditPack, st.integers(1, 5000), amounts)
terms = st.builds(
    RetouchTerms,
    per_image=amounts,
    minimum=amounts,
    pack=packs,
    credits_per_image=st.integers(1, 5),
    spot_share=shares,
    by_hand_share=shares,
    per_image_by_hand=amounts,
)


@given(st.integers(0, 10_000), st.integers(0, 500), terms, st.integers(0, 3000))
def test_more_images_never_cost_less(images: int, more: int, asked: RetouchTerms, left: int) -> None:
    few, many = retouch_cost(images, asked, left), retouch_cost(images + more, asked, left)
    assert few.money <= many.money
    assert few.worth <= many.worth


@given(st.lists(st.integers(0, 2000), max_size=6), terms)
def test_credits_are_neither_lost_nor_made(batches: list[int], asked: RetouchTerms) -> None:
    left = bought = used = 0
    for images in batches:
        told = retouch_cost(images, asked, left)
        bought += told.packs * (asked.pack.credits if asked.pack else 0)
        used += told.credits_used
        left = told.credits_left
        assert left >= 0
        assert not told.packs or left < asked.pack.credits  # type: ignore[union-attr]
    assert bought == used + left
    assert used == (sum(batches) * asked.credits_per_image if asked.pack else 0)
