"""What is shown as frames land, held against the whole match."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from onsite.matching.evidence import FrameKind, Symbol
from onsite.matching.slate_status import SlateStatus
from onsite.reconcile.current_match import match_now
from onsite.reconcile.live_match import live_frames
from onsite.reconcile.overrides import give_frames, join_runs, split_run
from onsite.store.events import EventKind, add_event
from onsite.store.schema import DeckCard
from onsite.store.shoot import Shoot
from tests.matching.days import NINE, OTHER_SHOOT, Day, card, code
from tests.reconcile.stored import store_day


def held_against_the_match(shoot: Shoot, last: int = 300) -> None:
    whole = {verdict.frame: verdict for verdict in match_now(shoot).verdicts}
    for shown in live_frames(shoot, 1, last):
        verdict = whole[shown.frame]
        assert (shown.kind, shown.person, shown.how, shown.doubt, shown.run) == (
            verdict.kind,
            verdict.person,
            verdict.how,
            verdict.doubt,
            verdict.run,
        )


def test_a_whole_short_day_is_named_as_the_match_names_it(shoot: Shoot) -> None:
    day = (
        Day(log_shown=True).people(range(1, 8)).person(8, "tail").person(9, "unread").person(10, "forgotten")
    )
    store_day(shoot, day, Day(camera=2).people(range(11, 17)))
    held_against_the_match(shoot)
    assert [shown.frame for shown in live_frames(shoot, 1)] == [frame.id for frame in day.frames]


def test_decisions_by_hand_are_seen(shoot: Shoot) -> None:
    day = Day().people(range(1, 8)).person(8, "unread")
    store_day(shoot, day)
    give_frames(shoot, day.ids(8)[:2], 8)
    split_run(shoot, day.ids(4)[2])
    join_runs(shoot, day.ids(6)[0], day.ids(5)[0])
    held_against_the_match(shoot)


def test_of_a_long_day_only_the_last_frames_are_told_and_the_first_run_is_known(shoot: Shoot) -> None:
    day = Day(log_shown=True).people(range(1, 41))
    store_day(shoot, day)
    shown = live_frames(shoot, 1, last=50)
    assert [one.frame for one in shown] == [frame.id for frame in day.frames[-50:]]
    held_against_the_match(shoot, 50)


def test_what_a_slate_is(shoot: Shoot) -> None:
    day = Day().people(range(1, 4)).arrive(4).arrive(5)
    day.slate(4, code(4), after=40)
    day.slate(None, None, after=40)
    day.slate(None, OTHER_SHOOT, after=40)
    day.slate(None, code(77), after=40)
    day.frame(None, [Symbol(code(4)), Symbol(code(5))])
    store_day(shoot, day)
    slates = [one for one in live_frames(shoot, 1) if one.is_slate][3:]
    assert [(one.slate_status, one.person) for one in slates] == [
        (SlateStatus.SLATE, 4),
        (SlateStatus.UNREAD, None),
        (SlateStatus.OTHER_SHOOT, None),
        (SlateStatus.NOBODY, None),
        (SlateStatus.SEVERAL, None),
    ]
    assert {one.kind for one in slates} == {FrameKind.SLATE}


@pytest.mark.parametrize("tied", [True, False])
def test_a_deck_card_is_its_holders(shoot: Shoot, tied: bool) -> None:
    day = Day().people(range(1, 8)).arrive(8)
    day.slate(8, card(1), after=40)
    day.portraits(8)
    store_day(shoot, day)
    with shoot.writing() as session:
        deck = DeckCard(number=1, code=card(1))
        session.add(deck)
        session.flush()
        if tied:
            at = datetime.fromtimestamp(NINE, UTC)
            add_event(session, EventKind.CARD_TIED, at, person_id=8, card_id=deck.id)
    shown = {one.frame: one for one in live_frames(shoot, 1)}
    assert shown[day.ids(8)[0]].person == (8 if tied else None)
    assert shown[day.ids(8)[0] - 1].slate_status is (SlateStatus.SLATE if tied else SlateStatus.NO_HOLDER)
    held_against_the_match(shoot)


def test_frames_without_a_look_are_named_all_the_same(shoot: Shoot) -> None:
    day = Day().people(range(1, 8))
    day.frames = [replace(frame, look=None) for frame in day.frames]
    store_day(shoot, day)
    held_against_the_match(shoot)


def test_a_camera_without_frames(shoot: Shoot) -> None:
    assert live_frames(shoot, 9) == []
