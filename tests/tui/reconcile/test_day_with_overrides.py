"""The day with decisions laid over the last match."""

from __future__ import annotations

from onsite.matching.evidence import Suggestion
from onsite.matching.match_frames import NOBODY_SEEN
from onsite.reconcile.runs import RunKind
from onsite.store.events import EventKind
from onsite.tui.reconcile.day_with_overrides import DayWithOverrides, suggestion_choices
from onsite.tui.reconcile.pending_overrides import CLEARED, PendingOverride
from tests.tui.reconcile.runs import lanes, loose, named, slate

RUNS = (named(1, 2, 3, slate=1), loose(4, 5, 6), named(3, 8, slate=7))
OTHER = (loose(21, 22), named(4, 24, slate=23))


def shown() -> DayWithOverrides:
    day = DayWithOverrides()
    day.show(lanes(RUNS, OTHER, matched=10))
    return day


def test_the_equation_follows_a_decision_at_once() -> None:
    day = shown()
    assert dict(day.frame_counts) == {"named": 4, "slates": 3, "loose": 5, "set aside": 0}
    day.decide(PendingOverride(EventKind.GIVEN, (4, 5, 6), 2))
    assert dict(day.frame_counts) == {"named": 7, "slates": 3, "loose": 2, "set aside": 0}
    day.decide(PendingOverride(EventKind.SET_ASIDE, (21, 22)))
    assert dict(day.frame_counts) == {"named": 7, "slates": 3, "loose": 0, "set aside": 2}
    assert sum(count for _, count in day.frame_counts) == day.frames


def test_a_decision_is_shown_until_a_match_knows_it() -> None:
    day = shown()
    decision = PendingOverride(EventKind.GIVEN, (4, 5, 6), 2, event=12)
    day.decide(decision)
    day.show(lanes(RUNS, OTHER, matched=11))
    assert day.lanes[0].runs[1].person == 2
    day.show(lanes(RUNS, OTHER, matched=12))
    assert day.lanes[0].runs[1].kind is RunKind.LOOSE
    assert day.pending == []


def test_a_decision_that_is_not_written_yet_is_never_taken_for_known() -> None:
    day = shown()
    day.decide(PendingOverride(EventKind.SET_ASIDE, (4, 5, 6)))
    day.show(lanes(RUNS, OTHER, matched=99))
    assert day.lanes[0].runs[1].kind is RunKind.SET_ASIDE


def test_a_forgotten_decision_is_shown_no_more_and_others_still_are() -> None:
    day = shown()
    first, second = (
        PendingOverride(EventKind.GIVEN, (4, 5, 6), 2),
        PendingOverride(EventKind.SET_ASIDE, (21, 22)),
    )
    day.decide(first)
    day.decide(second)
    assert day.forget(first)
    assert day.lanes[0].runs[1].kind is RunKind.LOOSE
    assert day.lanes[1].runs[0].kind is RunKind.SET_ASIDE
    assert not day.forget(first)


def test_the_next_loose_run_is_looked_for_in_every_lane_and_round_the_day() -> None:
    day = shown()
    assert day.next_loose(0, 0, 1) == (0, 1)
    assert day.next_loose(0, 1, 1) == (1, 0)
    assert day.next_loose(1, 0, 1) == (0, 1)
    assert day.next_loose(0, 1, -1) == (1, 0)
    day.decide(PendingOverride(EventKind.SET_ASIDE, (4, 5, 6)))
    day.decide(PendingOverride(EventKind.SET_ASIDE, (21, 22)))
    assert day.next_loose(0, 0, 1) is None


def test_the_next_loose_run_of_this_camera_only() -> None:
    day = shown()
    assert day.next_loose(0, 0, 1, here=True) == (0, 1)
    assert day.next_loose(0, 1, 1, here=True) == (0, 1)
    day.decide(PendingOverride(EventKind.SET_ASIDE, (4, 5, 6)))
    assert day.next_loose(0, 1, 1, here=True) is None


def test_where_a_frame_is() -> None:
    assert shown().place_of(24) == (1, 1)
    assert shown().place_of(23) == (1, 1)
    assert shown().place_of(99) is None


def test_offered_are_those_suggested_then_the_people_beside() -> None:
    run = loose(4, suggestions=(Suggestion(9, ("a reason",)), Suggestion(3, ("another",))))
    runs = (named(1, 2), slate(3), run, loose(5), named(3, 8))
    assert [choice.person for choice in suggestion_choices(runs, 2)] == [9, 3, 1]


def test_nobody_is_offered_for_what_is_settled_or_waits_for_its_match() -> None:
    assert suggestion_choices(RUNS, 0) == ()
    assert suggestion_choices((named(1, 2), loose(4, doubt=CLEARED)), 1) == ()


def test_nobody_is_offered_for_an_empty_backdrop() -> None:
    assert suggestion_choices((named(1, 2), loose(4, doubt=NOBODY_SEEN), named(2, 5)), 1) == ()
