"""The deck."""

import pytest

from onsite.checkin.check_in import check_in, undo_arrival
from onsite.checkin.deck_cards import make_deck, read_card_assignments
from onsite.core.errors import Problem
from onsite.core.times import parse_time
from onsite.store.shoot import Shoot


def test_a_larger_deck_keeps_the_cards_that_are_there(shoot: Shoot) -> None:
    small = [(card.number, card.code) for card in make_deck(shoot, 3)]
    large = [(card.number, card.code) for card in make_deck(shoot, 5)]
    assert large[:3] == small
    assert [number for number, _ in large] == [1, 2, 3, 4, 5]
    assert len({code for _, code in large}) == 5
    assert [(card.number, card.code) for card in make_deck(shoot, 2)] == small[:2]


@pytest.mark.parametrize("number", [0, -3, 10_000_000])
def test_a_deck_of_no_sense_is_refused(shoot: Shoot, number: int) -> None:
    with pytest.raises(Problem, match="cannot be made"):
        make_deck(shoot, number)


def test_ties_are_in_the_order_of_time_whenever_they_were_typed(shoot: Shoot) -> None:
    code = make_deck(shoot, 1)[0].code
    ten, nine, eleven = (parse_time(f"2026-06-13T{hour}:00", shoot.zone) for hour in ("10", "09", "11"))
    later = check_in(shoot, "S-1", at=ten, card=1)
    earlier = check_in(shoot, "S-2", at=nine, card=1)
    last = check_in(shoot, "S-3", at=eleven, card=1)
    assert (earlier.card_before, last.card_before) == (None, "Mira Okafor")
    with shoot.reading() as session:
        assert read_card_assignments(session) == {
            code: [(nine, earlier.person.id), (ten, later.person.id), (eleven, last.person.id)]
        }
    undo_arrival(shoot, "S-1")
    with shoot.reading() as session:
        assert [person for _, person in read_card_assignments(session)[code]] == [
            earlier.person.id,
            last.person.id,
        ]
