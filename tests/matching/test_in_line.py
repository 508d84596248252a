"""A deck card that was one person's and then another's, photographed by a camera whose clock nobody knows."""

from __future__ import annotations

import pytest
from days import Day, card

from onsite.matching.clocks import Clock
from onsite.matching.evidence import Evidence, Tie
from onsite.matching.in_line import settle_by_queue
from onsite.matching.marks import Mark, Meaning, marks_of
from onsite.matching.order import Lane, lanes

ANA, BO = 20, 21
"""Who had the card first, and who got it then."""


def held_up(ana_came: float, bo_came: float) -> tuple[Day, int]:
    """Six people with tickets, a turn with the card, and six more, each photographed five minutes after they
    came; when the holders of the card came is in seconds before the turn. Gives the card's frame, too."""
    day = Day().people(range(1, 7))
    day.now += 40
    begun = day.now
    frame = day.slate(ANA, card(1))
    day.portraits(ANA).people(range(7, 13))
    day.arrived |= {ANA: begun - ana_came, BO: begun - bo_came}
    day.cards[card(1)] = [Tie(begun - ana_came + 20, ANA), Tie(begun - bo_came + 20, BO)]
    return day, frame


def settled(evidence: Evidence, frame: int) -> Mark:
    placed: list[Lane] = lanes(evidence.frames)[0]
    read = [marks_of(lane, [Clock()] * len(lane.pieces), evidence) for lane in placed]
    found = settle_by_queue(placed, read, evidence)
    return next(
        marks[place]
        for lane, marks in zip(placed, found, strict=True)
        for place, one in enumerate(lane.frames)
        if one.id == frame
    )


def test_whoever_came_when_those_around_came_held_it() -> None:
    day, frame = held_up(ana_came=300, bo_came=-2400)
    assert settled(day.evidence(), frame) == Mark(Meaning.SLATE, ANA)


@pytest.mark.parametrize(
    ("ana_came", "bo_came"),
    [
        (300, -500),  # 14 minutes after the others: somebody may have been let through
        (1200, 60),  # one waited long and the other was let through, or so
        (4000, -2400),  # neither came with the others
    ],
)
def test_what_may_be_chance_settles_nothing(ana_came: float, bo_came: float) -> None:
    day, frame = held_up(ana_came, bo_came)
    assert settled(day.evidence(), frame) == Mark(Meaning.UNSETTLED, possible=(ANA, BO))


def test_who_has_another_slate_is_not_taken_for_granted() -> None:
    day, frame = held_up(ana_came=300, bo_came=-2400)
    elsewhere = Day(camera=2, now=day.now).person(ANA)
    evidence = day.evidence(elsewhere)
    codes = {**evidence.codes, elsewhere.frames[0].symbols[0].text or "": ANA}
    both = Evidence(evidence.shoot, evidence.frames, evidence.people, codes, evidence.arrived, evidence.cards)
    assert settled(both, frame).meaning is Meaning.UNSETTLED


def test_a_card_that_would_be_theirs_twice_is_not_settled() -> None:
    day, frame = held_up(ana_came=300, bo_came=-2400)
    day.now += 40
    again = day.slate(ANA, card(1))
    day.portraits(ANA)
    assert settled(day.evidence(), frame).meaning is Meaning.UNSETTLED
    assert settled(day.evidence(), again).meaning is Meaning.UNSETTLED
