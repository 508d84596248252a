"""Estimates what retouching costs in money, credits and time. Pure; amounts are decimal."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal

from onsite.core.errors import Problem

CENT = Decimal("0.01")
_AMOUNT = re.compile(r"\d{1,9}([.,]\d{1,6})?", re.ASCII)


@dataclass(frozen=True, slots=True)
class CreditPack:
    """Credits sold together: `credits` of them for `price`."""

    credits: int
    price: Decimal


@dataclass(frozen=True, slots=True)
class RetouchTerms:
    """A retoucher's terms. Money is in one currency; shares are 0 to 1; times are seconds.

    `per_image` is paid for each image; each image uses `credits_per_image` from packs, bought as needed; a
    batch costs at least `minimum`. An image takes `seconds_per_image` of work. Then `spot_share` of the
    images are looked at for `seconds_per_spot` each, and `by_hand_share` take a person `seconds_by_hand`
    more, at `per_image_by_hand`.
    """

    per_image: Decimal = Decimal(0)
    minimum: Decimal = Decimal(0)
    pack: CreditPack | None = None
    credits_per_image: int = 1
    seconds_per_image: Decimal = Decimal(0)
    spot_share: Decimal = Decimal(0)
    seconds_per_spot: Decimal = Decimal(0)
    by_hand_share: Decimal = Decimal(0)
    seconds_by_hand: Decimal = Decimal(0)
    per_image_by_hand: Decimal = Decimal(0)
    currency: str = ""


@dataclass(frozen=True, slots=True)
class RetouchCost:
    """What a number of images costs."""

    images: int
    money: Decimal  # to pay now, with whole packs
    worth: Decimal  # the part of it that the images use up, by which retouchers compare
    currency: str
    packs: int
    credits_used: int
    credits_left: int  # for the next batch
    spot_checks: int
    by_hand: int
    machine_seconds: Decimal
    person_seconds: Decimal


def retouch_cost(images: int, terms: RetouchTerms, credits_left: int = 0) -> RetouchCost:
    """The cost of `images` with `credits_left` from earlier packs. Parts of an image are rounded up, since
    somebody has to look at a whole one. Raises Problem for negative numbers and for shares above 1."""
    _check(images, terms, credits_left)
    used = images * terms.credits_per_image if terms.pack else 0
    price, size = (terms.pack.price, terms.pack.credits) if terms.pack else (Decimal(0), 1)
    packs = -(-max(used - credits_left, 0) // size) if terms.pack else 0
    by_hand = _part(images, terms.by_hand_share)
    spots = _part(images, terms.spot_share)
    hand_money = by_hand * terms.per_image_by_hand

    least = terms.minimum if images else Decimal(0)
    money = max(images * terms.per_image + packs * price + hand_money, least)
    worth = max(images * terms.per_image + used * price / size + hand_money, least)
    return RetouchCost(
        images,
        _cents(money),
        _cents(worth),
        terms.currency,
        packs,
        used,
        credits_left + packs * size - used,
        spots,
        by_hand,
        images * terms.seconds_per_image,
        spots * terms.seconds_per_spot + by_hand * terms.seconds_by_hand,
    )


def _part(images: int, share: Decimal) -> int:
    return int((images * share).to_integral_value(ROUND_CEILING))


def _cents(money: Decimal) -> Decimal:
    return money.quantize(CENT, ROUND_HALF_UP)


def _check(images: int, terms: RetouchTerms, credits_left: int) -> None:
    amounts = (
        terms.per_image,
        terms.minimum,
        terms.seconds_per_image,
        terms.seconds_per_spot,
        terms.seconds_by_hand,
        terms.per_image_by_hand,
        terms.pack.price if terms.pack else Decimal(0),
    )
    whole = (images, credits_left, terms.credits_per_image)
    if any(not amount.is_finite() or amount < 0 for amount in amounts) or min(whole) < 0:
        raise Problem("A number, a price or a time is below zero.", "Give it as 0 or more.")
    if terms.pack and terms.pack.credits < 1:
        raise Problem("A pack has no credits.", "Say how many credits are in it.")
    if any(not 0 <= share <= 1 for share in (terms.spot_share, terms.by_hand_share)):
        raise Problem("A share is not between 0 and 100 %.", "Give it in percent: 10 is one in ten.")


def parse_money(text: str) -> Decimal:
    """An amount as typed: `12.50` or `12,50`. Raises Problem."""
    if not _AMOUNT.fullmatch(text.strip()):
        raise Problem(f"{text!r} is not an amount.", "Write it like 12.50")
    return Decimal(text.strip().replace(",", "."))
