"""Flashes that did not fire. The limits in L* are this project's own choice."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from onsite.matching.cut_runs import cut_runs
from onsite.matching.evidence import Evidence, FrameKind
from onsite.matching.looks import DARKER, MOST_MISFIRES, flash_misfires
from onsite.matching.match_frames import match
from tests.matching.days import BINS, NINE, Day, assert_all_named, clothes, look, names, verdicts, wrong
from tests.matching.test_match_frames import ACCIDENTS, story

BEGIN, REST = range(1, 10), range(11, 15)
GREY, DARK = 60.0, 20.0
NOBODY = bytes(BINS)


def lit(day: Day, backdrop: float | None = GREY) -> Day:
    """The day before a backdrop of that lightness."""
    day.frames = [replace(frame, backdrop=backdrop) for frame in day.frames]
    return day


def seen(day: Day, frames: Collection[int], backdrop: float | None, shown: bytes = NOBODY) -> Day:
    """These frames with that look, before a backdrop of that lightness."""
    day.frames = [
        replace(frame, backdrop=backdrop, look=shown) if frame.id in frames else frame for frame in day.frames
    ]
    return day


def slow(day: Day) -> Day:
    """The day at half the pace: slow enough for looks to be compared from frame to frame."""
    day.frames = [replace(f, taken=NINE + 2 * ((f.taken or NINE) - NINE)) for f in day.frames]
    return day


@pytest.mark.parametrize("place", range(5))
def test_a_misfire_keeps_the_run_whole(place: int) -> None:
    day = lit(Day().people(range(1, 15)))
    seen(day, [day.ids(9)[place]], DARK)
    assert_all_named(day, verdicts(day.evidence()))


@pytest.mark.parametrize("count", range(1, MOST_MISFIRES + 1))
def test_misfires_in_a_row_from_the_slate_on_keep_the_run_whole(count: int) -> None:
    day = lit(Day().people(range(1, 15)))
    seen(day, day.ids(9)[:count], DARK)
    assert_all_named(day, verdicts(day.evidence()))


def test_after_a_misfire_the_flash_is_seen_to_and_the_run_goes_on() -> None:
    day = lit(Day().people(BEGIN).person(10, count=1))
    day.now += 60
    lit(day.portraits(10).people(REST))
    seen(day, day.ids(10)[:1], DARK)
    assert_all_named(day, verdicts(day.evidence()))


def test_a_misfire_of_a_run_with_a_tail_slate() -> None:
    day = lit(Day().people(BEGIN).person(10, "tail").people(REST))
    seen(day, day.ids(10)[3:4], DARK)
    assert_all_named(day, verdicts(day.evidence()))


def test_a_distorted_look_without_flash_is_not_compared() -> None:
    """Somebody is to be seen, in other colours."""
    day = slow(lit(Day().people(range(1, 15))))
    shown = look(clothes(77), np.random.default_rng(1))
    seen(day, day.ids(9)[2:], GREY, shown)
    assert names(verdicts(day.evidence()), day.ids(9))[2:] == ["loose"] * 3
    seen(day, day.ids(9)[2:], DARK, shown)
    assert names(verdicts(day.evidence()), day.ids(9)) == [9] * 5


def test_a_slate_without_flash_names_its_run() -> None:
    day = slow(lit(Day().people(range(1, 15))))
    slate = day.ids(9)[0] - 1
    shown = look(clothes(77), np.random.default_rng(1))
    assert names(verdicts(seen(day, [slate], GREY, shown).evidence()), day.ids(9)) == ["loose"] * 5
    assert_all_named(day, verdicts(seen(day, [slate], DARK, shown).evidence()))


def test_where_slates_are_held_up_beside_the_light_their_looks_count() -> None:
    """Somebody stepped in between nine's slate and nine's portraits."""
    day = slow(lit(Day().people(BEGIN).people(REST)))
    mine = set(day.ids(9))
    day.frames = [replace(f, backdrop=DARK) if f.id in day.slates else f for f in day.frames]
    seen(day, mine, GREY, look(clothes(77), np.random.default_rng(1)))
    assert names(verdicts(day.evidence()), sorted(mine)) == ["loose"] * 5


@pytest.mark.parametrize(
    ("usual", "empty"),
    [(GREY, GREY), (GREY, GREY - DARKER), (GREY, None), (None, DARK), (None, None), (DARKER - 1, 0.0)],
    ids=["same light", "a little darker", "not known", "usual not known", "neither known", "black backdrop"],
)
def test_an_empty_light_test_and_then_somebody_without_a_slate(
    usual: float | None, empty: float | None
) -> None:
    """In one go and all dressed alike, so that nothing but the empty frame tells."""
    day = Day(looks="alike").people(BEGIN)
    test = day.frame(None)
    lit(day.portraits(10).people(REST), usual)
    found = verdicts(seen(day, [test], empty).evidence())
    assert wrong(day, found) == []
    assert names(found, [test, *day.ids(10)]) == ["loose"] * 6
    assert names(found, day.ids(9)) == [9] * 5


def test_before_another_backdrop_an_empty_frame_is_no_misfire() -> None:
    """The backdrop is changed to a dark one, tested, and ten steps in without a slate: the dark lasts."""
    day = Day(looks="alike").people(BEGIN)
    test = day.frame(None)
    day.portraits(10, 2).people(REST)
    bright = set(day.truth) & set(range(min(day.truth), test))
    day.frames = [replace(f, backdrop=GREY if f.id in bright else DARK) for f in day.frames]
    found = verdicts(seen(day, [test], DARK).evidence())
    assert wrong(day, found) == []
    assert names(found, [test, *day.ids(10)]) == ["loose"] * 3


def test_more_in_a_row_than_anybody_would_overlook_are_no_misfires() -> None:
    day = lit(Day().people(BEGIN).person(10, count=MOST_MISFIRES + 5).people(REST))
    seen(day, day.ids(10)[2 : 2 + MOST_MISFIRES + 1], DARK)
    found = verdicts(day.evidence())
    assert names(found, day.ids(10)) == [10, 10, *["loose"] * (MOST_MISFIRES + 1), 10, 10]


def test_a_misfire_that_has_just_landed() -> None:
    """One is none to worry about; after two nobody knows what goes on."""
    day = lit(Day().people(BEGIN))
    assert names(verdicts(seen(day, day.ids(9)[4:], DARK).evidence()), day.ids(9)) == [9] * 5
    found = verdicts(seen(day, day.ids(9)[3:], DARK).evidence())
    assert names(found, day.ids(9)) == [9, 9, 9, "loose", "loose"]


def test_a_frame_whose_backdrop_is_not_known_is_no_misfire() -> None:
    day = Day().people([1])
    day.frames = [replace(f, backdrop=None if f.id % 2 else GREY) for f in day.frames]
    assert flash_misfires(day.frames, cut_runs(day.frames, {})) == frozenset()


@st.composite
def days_with_misfires(draw: st.DrawFn) -> tuple[Day, Evidence]:
    """A day with accidents in steady light, and the same with a few frames that had no flash."""
    slates = draw(st.lists(st.sampled_from(ACCIDENTS), min_size=8, max_size=16))
    day = lit(story(["head"] * 6 + slates, draw(st.integers(0, 2**16))))
    portraits = [frame for frame in sorted(day.truth) if frame not in day.slates]
    dark = draw(st.sets(st.sampled_from(portraits), max_size=6))
    before = day.evidence()
    return seen(day, dark, draw(st.floats(0, GREY - DARKER - 0.1))), before


@pytest.mark.long
@given(days_with_misfires())
@settings(max_examples=60, deadline=None)
def test_misfires_never_put_a_wrong_name_on_a_frame_where_looks_tell(days: tuple[Day, Evidence]) -> None:
    day, _ = days
    assert wrong(day, verdicts(day.evidence())) == []


@pytest.mark.long
@given(days_with_misfires())
@settings(max_examples=60, deadline=None)
def test_no_frame_is_lost_over_misfires(days: tuple[Day, Evidence]) -> None:
    day, before = days
    result = match(day.evidence())
    assert sorted(v.frame for v in result.verdicts) == sorted(frame.id for frame in before.frames)
    assert {v.frame for v in result.verdicts if v.kind is FrameKind.SLATE} == day.slates
