"""Why a frame has its name: what `onsite frames why` and the Reconcile screen say."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from onsite.core.json_data import json_data
from onsite.reconcile.explain_frame import explain_frame, print_explanation
from onsite.reconcile.runs import certainty_text
from onsite.store.schema import Frame
from onsite.store.shoot import Shoot
from tests.matching.days import Day, card
from tests.reconcile.stored import store_day


def with_a_card(day: Day, person: int) -> Day:
    """A turn with the deck card, which the person got when they arrived."""
    day.arrive(person)
    then, day.now = day.now, day.now - 290
    day.tie(1, person)
    day.now = then + 40
    day.slate(person, card(1))
    return day.portraits(person)


def test_whose_a_deck_card_was_and_from_when_on_is_told(shoot: Shoot) -> None:
    day = with_a_card(with_a_card(Day().clock_slate().people(range(1, 13)), 13).people(range(14, 40)), 40)
    store_day(shoot, day)
    for person in (13, 40):
        told = explain_frame(shoot, f"f{day.ids(person)[0]}")
        assert told.name == f"Singer {person}"
        (held,) = [line for line in told.evidence if line.startswith("deck card")]
        assert held.startswith("deck card 1 was Singer 13's from 1")
        assert ", Singer 40's from " in held


def test_a_ticket_is_its_persons_and_nothing_is_said_of_cards(shoot: Shoot) -> None:
    day = Day().people(range(1, 13))
    store_day(shoot, day)
    assert not [line for line in explain_frame(shoot, f"f{day.ids(4)[0]}").evidence if "card" in line]


def test_a_frame_is_told_the_time_of_its_own_clock_and_what_is_wrong_with_its_picture(shoot: Shoot) -> None:
    """The clock is set by an hour between two frames of one run."""
    day = Day(log_shown=True).people(range(1, 13)).person(13, count=2)
    before, day.clock_off = day.ids(13)[-1], -3600.0
    day.now += 1.0
    day.portraits(13, 3).people(range(14, 26))
    store_day(shoot, day)
    with shoot.writing() as session:
        session.get_one(Frame, before).trouble = "the file ends early"
    first, second = (explain_frame(shoot, f"f{frame}") for frame in (before, before + 1))
    apart = datetime.fromisoformat(second.shoot_time) - datetime.fromisoformat(first.shoot_time)
    assert abs(apart) < timedelta(minutes=1)
    assert datetime.fromisoformat(second.taken_at) < datetime.fromisoformat(first.taken_at)
    assert "its picture: the file ends early" in first.evidence
    assert not [line for line in second.evidence if line.startswith("its picture")]


def test_how_sure_a_name_is_stands_in_per_cent_and_in_words(shoot: Shoot) -> None:
    day = Day().people(range(1, 13)).person(13, "forgotten").people(range(14, 20))
    store_day(shoot, day)
    named, loose = (explain_frame(shoot, f"f{day.ids(person)[0]}") for person in (4, 13))
    assert named.certainty is not None
    assert 0.997 < named.certainty < 1.0
    lines: list[str] = []
    print_explanation(named, lambda line, *_: lines.append(line))
    assert f"How sure: {certainty_text(named.certainty)}" in lines
    assert loose.certainty is None
    first, *rest = json_data(loose)["suggestions"]
    assert first["key"] == "C-13"
    assert 1.0 > first["certainty"] > sum(other["certainty"] for other in rest)


@pytest.mark.parametrize(
    ("certainty", "text"),
    [
        (0.9982, "99.82 %: 1 such name in 560 is wrong"),
        (0.9999, "99.99 %: 1 such name in 10,000 is wrong"),
        (1.0, "decided by hand"),
    ],
)
def test_a_certainty_in_words(certainty: float, text: str) -> None:
    assert certainty_text(certainty) == text
