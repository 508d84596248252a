"""A deck card that was one person's and then another's, photographed by a camera whose clock nobody knows."""

from __future__ import annotations

from dataclasses import replace

from onsite.matching.clock_offset import ClockOffset
from onsite.matching.deck_card_holders import settle_by_arrival_order
from onsite.matching.evidence import CardAssignment, Evidence
from onsite.matching.shooting_order import ShootingLane, shooting_lanes
from onsite.matching.slate_status import SlateObservation, SlateStatus, slate_observations
from tests.matching.days import Day, card

ANA, BO = 20, 21
"""Who had the card first, and who got it then."""


def held_up(
    ana_came: float, bo_came: float, bo_shot: bool = True, ana_twice: bool = False
) -> tuple[Day, int]:
    """Six people with tickets, Ana's turn with the card, and twenty more, each photographed five minutes
    after they came; then Bo's turn with it, unless they never showed it. When the two came is in seconds
    before Ana's turn. Gives the card's frame in that, too."""
    day = Day().people(range(1, 7))
    day.now += 40
    begun = day.now
    frame = day.slate(ANA, card(1))
    day.portraits(ANA).person(99)
    if ana_twice:
        day.now += 40
        day.slate(ANA, card(1))
        day.portraits(ANA)
    day.people(range(100, 120))
    if bo_shot:
        day.now += 40
        day.slate(BO, card(1))
        day.portraits(BO)
    day.people(range(7, 13))
    day.arrived |= {ANA: begun - ana_came, BO: begun - bo_came}
    day.cards[card(1)] = [
        CardAssignment(begun - ana_came + 20, ANA),
        CardAssignment(begun - bo_came + 20, BO),
    ]
    return day, frame


def settled(evidence: Evidence, frame: int) -> SlateObservation:
    placed: list[ShootingLane] = shooting_lanes(evidence.frames)[0]
    read = [slate_observations(lane, [ClockOffset()] * len(lane.pieces), evidence) for lane in placed]
    found = settle_by_arrival_order(placed, read, evidence)
    return next(
        marks[place]
        for lane, marks in zip(placed, found, strict=True)
        for place, one in enumerate(lane.frames)
        if one.id == frame
    )


def test_whoever_came_when_those_around_came_held_it() -> None:
    day, frame = held_up(ana_came=300, bo_came=-1000)
    assert settled(day.evidence(), frame) == SlateObservation(SlateStatus.SLATE, ANA)
    assert settled(day.evidence(), day.ids(BO)[0] - 1) == SlateObservation(SlateStatus.SLATE, BO)


def test_where_the_other_never_showed_theirs_they_may_have_been_let_through() -> None:
    day, frame = held_up(ana_came=300, bo_came=-1000, bo_shot=False)
    assert settled(day.evidence(), frame) == SlateObservation(SlateStatus.UNSETTLED, possible=(ANA, BO))


def test_who_came_with_nobody_around_is_not_taken_for_the_holder() -> None:
    day, frame = held_up(ana_came=4000, bo_came=-1000)
    assert settled(day.evidence(), frame) == SlateObservation(SlateStatus.UNSETTLED, possible=(ANA, BO))


def test_who_has_another_slate_is_not_taken_for_granted() -> None:
    day, frame = held_up(ana_came=300, bo_came=-1000)
    elsewhere = Day(camera=2, now=day.now).person(ANA)
    evidence = day.evidence(elsewhere)
    codes = {**evidence.codes, elsewhere.frames[0].symbols[0].text or "": ANA}
    both = replace(evidence, codes=codes)
    assert settled(both, frame).status is SlateStatus.UNSETTLED


def test_a_card_that_would_be_theirs_twice_is_not_settled() -> None:
    day, frame = held_up(ana_came=300, bo_came=-1000, ana_twice=True)
    assert settled(day.evidence(), frame) == SlateObservation(SlateStatus.UNSETTLED, possible=(ANA, BO))
