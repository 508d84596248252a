"""What a scanner puts into the field."""

import random
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.checkin.check_in import check_in_person
from onsite.checkin.deck_cards import make_deck
from onsite.checkin.scanned_codes import ScanKind, code_in, interpret_scan
from onsite.core.codes import new_code, spaced_code
from onsite.status.status_cache import StatusCache
from onsite.store.shoot import Shoot

RNG = random.Random(5)
OTHER = new_code("34CE", (), RNG)
CODE = new_code("34AC", (), RNG)


@pytest.fixture
def known(shoot: Shoot) -> StatusCache:
    make_deck(shoot, 2)
    check_in_person(shoot, 2, card=2)
    everybody = StatusCache()
    everybody.catch_up(shoot)
    return everybody


AROUND: list[Callable[[str], str]] = [
    str,
    str.lower,
    spaced_code,
    lambda code: code + "\r",
    lambda code: f"\x02{code}\r\n\x03",
    lambda code: f"]Q1{code}",  # a symbology identifier of ISO/IEC 15424; from memory
    lambda code: f" {code[:4]}-{code[4:8]}-{code[8:]} ".lower(),
]


@pytest.mark.parametrize("around", AROUND)
def test_a_persons_code_however_it_is_sent(
    shoot: Shoot, known: StatusCache, around: Callable[[str], str]
) -> None:
    person = known.statuses[1].person
    scan = interpret_scan(around(person.code), shoot.mark, known)
    assert (scan.kind, scan.person, scan.problem) == (ScanKind.PERSON, person, None)


def test_a_deck_card_and_who_holds_it(shoot: Shoot, known: StatusCache) -> None:
    by_number = {number: code for code, number in known.cards.items()}
    free = interpret_scan(by_number[1], shoot.mark, known)
    assert (free.kind, free.card, free.holder) == (ScanKind.CARD, 1, None)
    held = interpret_scan(by_number[2], shoot.mark, known)
    assert (held.card, held.holder) == (2, known.statuses[2].person)


def test_codes_that_are_no_use_here_are_told(shoot: Shoot, known: StatusCache) -> None:
    other = interpret_scan(OTHER, shoot.mark, known)
    assert other.kind is ScanKind.OTHER_SHOOT
    assert other.problem is not None
    assert "another shoot" in other.problem.what
    nobodys = interpret_scan(new_code(shoot.mark, {*known.codes, *known.cards}), shoot.mark, known)
    assert nobodys.kind is ScanKind.UNASSIGNED
    assert nobodys.problem is not None
    assert "nobody's" in nobodys.problem.what


@pytest.mark.parametrize(
    "text", ["", "Ann Lee", "12", "https://example.org/x", OTHER[:-1], OTHER + OTHER[::-1] * 9, "x" * 100_000]
)
def test_what_is_not_a_code(shoot: Shoot, known: StatusCache, text: str) -> None:
    assert interpret_scan(text, shoot.mark, known).kind is ScanKind.NO_CODE


def test_two_codes_at_once_are_none() -> None:
    assert code_in(OTHER + CODE) is None


@given(st.integers(0, 11), st.sampled_from("3479ACDEFHJKMNPQRTWXY"))
def test_a_slip_in_a_code_is_never_another_code(place: int, letter: str) -> None:
    slip = CODE[:place] + letter + CODE[place + 1 :]
    found = code_in(slip)
    assert (found is not None) == (slip == CODE)


@given(st.text(max_size=80))
def test_any_text_is_something(text: str) -> None:
    assert interpret_scan(text, "34AC", StatusCache()).person is None
