"""What retouching costs. The check values are common practice, without a source."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.problems import Problem
from onsite.retouch.cost import Pack, Terms, cost_of, money_of

PASS = Terms(
    pack=Pack(1200, Decimal(80)),
    seconds_per_image=Decimal(6),
    spot_share=Decimal("0.1"),
    seconds_per_spot=Decimal(10),
    by_hand_share=Decimal("0.1"),
    seconds_by_hand=Decimal(240),
)
"""An automatic pass: 50 images in about five minutes, 9 in 10 of which need nothing more."""


def test_a_service_takes_three_to_four_an_image() -> None:
    least, most = (cost_of(300, Terms(per_image=Decimal(price))).money for price in (3, 4))
    assert (least, most) == (Decimal(900), Decimal(1200))


def test_a_pass_takes_six_to_seven_cents_an_image() -> None:
    assert cost_of(1200, PASS).worth / 1200 == Decimal("80.00") / 1200
    assert cost_of(1, PASS).worth == Decimal("0.07")
    assert Decimal("0.06") < cost_of(1200, PASS).worth / 1200 < Decimal("0.07")


def test_the_rest_of_a_pack_carries_over() -> None:
    first = cost_of(700, PASS)
    assert (first.packs, first.money, first.credits_left) == (1, Decimal(80), 500)
    second = cost_of(500, PASS, first.credits_left)
    assert (second.packs, second.money, second.credits_left) == (0, Decimal(0), 0)
    assert cost_of(501, PASS, first.credits_left).packs == 1


def test_fifty_images_take_about_five_minutes_and_nine_in_ten_need_nothing_more() -> None:
    told = cost_of(50, PASS)
    assert told.machine_seconds == 300
    assert (told.by_hand, told.spot_checks) == (5, 5)
    assert told.person_seconds == 5 * 10 + 5 * 240


def test_of_a_hundred_backgrounds_five_are_done_again_by_hand() -> None:
    assert cost_of(100, Terms(by_hand_share=1 - Decimal("0.95"))).by_hand == 5


def test_a_minimum_is_charged_for_a_small_batch_and_for_none_nothing() -> None:
    terms = Terms(per_image=Decimal("3.50"), minimum=Decimal(50))
    assert [cost_of(images, terms).money for images in (0, 3, 20)] == [0, 50, 70]


@pytest.mark.parametrize(
    "terms",
    [
        Terms(per_image=Decimal(-1)),
        Terms(per_image=Decimal("NaN")),
        Terms(spot_share=Decimal("1.1")),
        Terms(pack=Pack(0, Decimal(80))),
    ],
)
def test_terms_that_cannot_be_are_refused(terms: Terms) -> None:
    with pytest.raises(Problem):
        cost_of(10, terms)


@pytest.mark.parametrize("text", ["", "three", "-1", "1e999999999", "inf", "nan", "1.000,50"])
def test_what_is_no_amount_is_refused(text: str) -> None:
    with pytest.raises(Problem):
        money_of(text)


amounts = st.decimals(0, 10_000, places=2)
shares = st.decimals(0, 1, places=3)
packs = st.none() | st.builds(Pack, st.integers(1, 5000), amounts)
terms = st.builds(
    Terms,
    per_image=amounts,
    minimum=amounts,
    pack=packs,
    credits_per_image=st.integers(1, 5),
    spot_share=shares,
    by_hand_share=shares,
    per_image_by_hand=amounts,
)


@given(st.integers(0, 10_000), st.integers(0, 500), terms, st.integers(0, 3000))
def test_more_images_never_cost_less(images: int, more: int, asked: Terms, left: int) -> None:
    few, many = cost_of(images, asked, left), cost_of(images + more, asked, left)
    assert few.money <= many.money
    assert few.worth <= many.worth


@given(st.lists(st.integers(0, 2000), max_size=6), terms)
def test_credits_are_neither_lost_nor_made(batches: list[int], asked: Terms) -> None:
    left = bought = used = 0
    for images in batches:
        told = cost_of(images, asked, left)
        bought += told.packs * (asked.pack.credits if asked.pack else 0)
        used += told.credits_used
        left = told.credits_left
        assert left >= 0
        assert not told.packs or left < asked.pack.credits  # type: ignore[union-attr]
    assert bought == used + left
    assert used == (sum(batches) * asked.credits_per_image if asked.pack else 0)
