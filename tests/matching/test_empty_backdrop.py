"""Loose frames of an empty backdrop are nobody's."""

from __future__ import annotations

from dataclasses import replace

import pytest

from onsite.matching.evidence import FrameKind
from onsite.matching.match_frames import NOBODY_SEEN
from tests.matching.days import Day, verdicts


def emptied(day: Day, frames: list[int]) -> None:
    """Nobody is to be seen in these frames."""
    empty = bytes(next(len(frame.look) for frame in day.frames if frame.look))
    day.frames = [replace(f, look=empty) if f.id in frames else f for f in day.frames]


def backdrop(day: Day) -> list[int]:
    """Three test shots."""
    return [day.frame(None) for _ in range(3)]


@pytest.mark.parametrize("people", [0, 1, 12])
def test_test_shots_before_the_first_slate_point_to_nobody(people: int) -> None:
    """Also in the morning, when there is nothing else yet."""
    day = Day()
    shots = backdrop(day)
    day.frames = [replace(f, look=bytes(192)) for f in day.frames]
    day.people(range(1, people + 1)).arrive(50)
    found = verdicts(day.evidence())
    for frame in shots:
        assert (found[frame].kind, found[frame].doubt) == (FrameKind.LOOSE, NOBODY_SEEN)
        assert found[frame].suggestions == ()


def test_test_shots_after_a_clock_slate_point_to_nobody() -> None:
    """A clock slate is held up before an empty set, and says nothing of who wears what."""
    day = Day().clock_slate()
    slate = day.frames[-1].id
    shots = backdrop(day)
    day.people(range(1, 13)).arrive(50)
    emptied(day, [slate, *shots])
    found = verdicts(day.evidence())
    assert [found[frame].doubt for frame in shots] == [NOBODY_SEEN] * 3
    assert all(not found[frame].suggestions for frame in shots)


def test_nobody_who_waits_is_kept_for_an_empty_backdrop() -> None:
    """Whoever has no frames is suggested for the loose runs that show somebody."""
    day = Day().people(range(1, 10)).person(10, "forgotten").people(range(11, 16))
    alone = verdicts(day.evidence())[day.ids(10)[0]].suggestions
    other = Day()
    shots = backdrop(other)
    other.people(range(1, 10)).person(10, "forgotten").people(range(11, 16))
    emptied(other, shots)
    assert [s.person for s in verdicts(other.evidence())[other.ids(10)[0]].suggestions] == [
        s.person for s in alone
    ]


def test_test_shots_in_the_run_of_somebody_point_to_nobody() -> None:
    day = Day().people(range(1, 6))
    day.now += 60
    shots = backdrop(day)
    day.people(range(6, 11))
    emptied(day, shots)
    found = verdicts(day.evidence())
    assert {found[frame].doubt for frame in shots} == {NOBODY_SEEN}
    assert {found[frame].suggestions for frame in shots} == {()}


def test_after_a_slate_that_does_not_read_too() -> None:
    day = Day().people(range(1, 6))
    day.now += 60
    day.slate(None, None)
    shots = backdrop(day)
    day.people(range(6, 11))
    emptied(day, shots)
    found = verdicts(day.evidence())
    assert {(found[frame].doubt, found[frame].suggestions) for frame in shots} == {(NOBODY_SEEN, ())}


def test_clothes_of_the_backdrops_colour_are_no_empty_backdrop() -> None:
    """All frames of somebody seem empty, their slate among them: they are never offered to be set aside."""
    day = Day().people(range(1, 6)).person(6).people(range(7, 12))
    first = min(day.ids(6)) - 1
    theirs = [first, *day.ids(6)]
    emptied(day, theirs)
    late = day.ids(6)[2:]
    later = {f.id: f for f in day.frames}
    day.frames = [replace(f, taken=(f.taken or 0) + 200 * (f.id >= late[0])) for f in later.values()]
    found = verdicts(day.evidence())
    assert NOBODY_SEEN not in {found[frame].doubt for frame in theirs}


def test_a_loose_run_with_some_empty_frames_still_points_to_people() -> None:
    day = Day().people(range(1, 6)).person(6, "forgotten", count=6).people(range(7, 12))
    emptied(day, day.ids(6)[3:4])
    found = verdicts(day.evidence())
    shown = [frame for n, frame in enumerate(day.ids(6)) if n != 3]
    assert all(found[frame].doubt != NOBODY_SEEN and found[frame].suggestions for frame in shown)
