from __future__ import annotations

import pytest

from onsite.core.errors import Problem
from onsite.matching.evidence import FrameKind
from onsite.reconcile.current_match import current_verdicts
from onsite.reconcile.overrides import (
    clear_overrides,
    give,
    give_frames,
    join_runs,
    set_frames_aside,
    split_run,
    undo_last_override,
)
from onsite.store.events import EventKind, read_events
from onsite.store.shoot import Shoot
from tests.matching.days import Day
from tests.reconcile.stored import store_day


@pytest.fixture
def day(shoot: Shoot) -> Day:
    """Seven people, and an eighth whose slate does not read."""
    day = Day().people(range(1, 8)).person(8, "unread")
    store_day(shoot, day)
    return day


def told(shoot: Shoot, frames: list[int]) -> list[int | str | None]:
    found = current_verdicts(shoot)
    return [found[f].person if found[f].kind is FrameKind.NAMED else found[f].kind.value for f in frames]


def test_decisions_by_ids(shoot: Shoot, day: Day) -> None:
    mine = day.ids(8)
    assert told(shoot, mine) == ["loose"] * 5
    give_frames(shoot, mine[:3], 8, "set-A")
    set_frames_aside(shoot, mine[3:], "set-A")
    assert told(shoot, mine) == [8, 8, 8, "aside", "aside"]
    clear_overrides(shoot, mine[1:], "set-A")
    assert told(shoot, mine) == [8, "loose", "loose", "loose", "loose"]


def test_all_events_of_a_decision_share_one_moment(shoot: Shoot, day: Day) -> None:
    give_frames(shoot, day.ids(8), 8)
    with shoot.reading() as session:
        events = read_events(session, (EventKind.GIVEN,))
    assert len(events) == 5
    assert len({event.at for event in events}) == 1


def test_a_run_split_and_joined_again(shoot: Shoot, day: Day) -> None:
    mine = day.ids(4)
    split_run(shoot, mine[2])
    assert told(shoot, mine) == [4, 4, "loose", "loose", "loose"]
    join_runs(shoot, mine[4], mine[0])
    assert told(shoot, mine) == [4] * 5


def test_freeing_a_frame_takes_a_split_and_a_join_there_back(shoot: Shoot, day: Day) -> None:
    before = current_verdicts(shoot)
    split_run(shoot, day.ids(4)[2])
    join_runs(shoot, day.ids(8)[0], day.ids(7)[0])
    assert current_verdicts(shoot) != before
    clear_overrides(shoot, [day.ids(4)[2], day.ids(7)[0]])
    assert current_verdicts(shoot) == before


def test_where_nothing_was_decided_there_is_nothing_to_take_back(shoot: Shoot, day: Day) -> None:
    mine = day.ids(8)
    with pytest.raises(Problem, match="Nothing was decided by hand"):
        clear_overrides(shoot, mine)
    give_frames(shoot, mine[:1], 8)
    clear_overrides(shoot, mine)
    with pytest.raises(Problem, match="Nothing was decided by hand"):
        clear_overrides(shoot, mine)
    with shoot.reading() as session:
        assert len(read_events(session, (EventKind.FREED,))) == 5


def test_what_cannot_be_decided_changes_nothing(shoot: Shoot, day: Day) -> None:
    before = current_verdicts(shoot)
    slate = day.ids(4)[0] - 1
    with pytest.raises(Problem, match="begins at"):
        split_run(shoot, day.ids(4)[0])
    with pytest.raises(Problem, match="begins at"):
        split_run(shoot, slate)
    with pytest.raises(Problem, match="one run already"):
        join_runs(shoot, day.ids(4)[0], day.ids(4)[1])
    with pytest.raises(Problem, match="nobody knows whose"):
        join_runs(shoot, day.ids(7)[0], day.ids(8)[0] - 1)
    with pytest.raises(Problem, match="no frame f99"):
        give_frames(shoot, [day.ids(4)[0], 99], 3)
    with pytest.raises(Problem, match="no person 77"):
        give_frames(shoot, day.ids(4), 77)
    with pytest.raises(Problem, match="No frame was named"):
        set_frames_aside(shoot, [])
    with pytest.raises(Problem, match="no frame f99"):
        join_runs(shoot, day.ids(4)[0], 99)
    assert current_verdicts(shoot) == before


def test_frames_set_aside_are_not_joined(shoot: Shoot, day: Day) -> None:
    set_frames_aside(shoot, day.ids(4)[:1])
    current_verdicts(shoot)
    with pytest.raises(Problem, match="set aside"):
        join_runs(shoot, day.ids(8)[0], day.ids(4)[0])


def test_a_run_is_split_off_the_slate_it_was_joined_to(shoot: Shoot, day: Day) -> None:
    join_runs(shoot, day.ids(8)[0], day.ids(7)[0] - 1)
    assert told(shoot, day.ids(8)) == [7] * 5
    split_run(shoot, day.ids(8)[0])
    assert told(shoot, day.ids(8)) == ["loose"] * 5


def test_runs_of_two_cameras_are_not_joined(shoot: Shoot) -> None:
    one, other = Day().people(range(1, 7)), Day(camera=2).people(range(11, 17))
    store_day(shoot, one, other)
    with pytest.raises(Problem, match="different cameras"):
        join_runs(shoot, one.ids(1)[0], other.ids(11)[0])


@pytest.mark.long
def test_undo_goes_back_decision_by_decision(shoot: Shoot, day: Day) -> None:
    states = [current_verdicts(shoot)]
    mine = day.ids(8)
    give_frames(shoot, mine, 8, "set-A")
    states.append(current_verdicts(shoot))
    split_run(shoot, day.ids(4)[2], "set-A")
    states.append(current_verdicts(shoot))
    clear_overrides(shoot, mine[:2], "set-A")
    states.append(current_verdicts(shoot))
    join_runs(shoot, mine[0], day.ids(7)[0], "set-A")

    undone = []
    while (one := undo_last_override(shoot, "set-A")) is not None:
        assert current_verdicts(shoot) == states.pop()
        undone.append((one.kind, len(one.frames)))
    assert undone == [(EventKind.JOINED, 1), (EventKind.FREED, 2), (EventKind.SPLIT, 1), (EventKind.GIVEN, 5)]
    assert states == []


def test_undo_tells_what_it_took_back(shoot: Shoot, day: Day) -> None:
    give_frames(shoot, day.ids(8), 3, "set-A")
    undone = undo_last_override(shoot, "set-A")
    assert undone is not None
    assert undone.text == "given to Singer 3: 5 frames"
    assert undone.frames == tuple(day.ids(8))


def test_a_station_undoes_its_own_decisions_only(shoot: Shoot, day: Day) -> None:
    give_frames(shoot, day.ids(8)[:1], 3, "set-A")
    set_frames_aside(shoot, day.ids(8)[1:2], "door-1")
    undone = undo_last_override(shoot, "set-A")
    assert undone is not None
    assert undone.kind is EventKind.GIVEN
    assert undo_last_override(shoot, "set-A") is None
    assert told(shoot, day.ids(8)[:2]) == ["loose", "aside"]


def test_a_decision_after_an_undo_is_undone_first(shoot: Shoot, day: Day) -> None:
    frame = day.ids(8)[0]
    give_frames(shoot, [frame], 1)
    give_frames(shoot, [frame], 2)
    undo_last_override(shoot)
    give_frames(shoot, [frame], 3)
    undo_last_override(shoot)
    assert told(shoot, [frame]) == [1]
    undo_last_override(shoot)
    assert told(shoot, [frame]) == ["loose"]


def test_slates_in_a_range_stay_slates(shoot: Shoot, day: Day) -> None:
    slate = day.ids(8)[0] - 1
    counters = {frame.id: frame.counter for frame in day.frames}
    given = give(shoot, [f"A:{counters[slate]}-{counters[day.ids(8)[-1]]}"], "C-8")
    assert given.slates == (slate,)
    assert list(given.frames) == day.ids(8)
