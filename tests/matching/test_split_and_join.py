"""Runs split and joined by hand. What each decision does is this project's own rule."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from onsite.matching.evidence import Evidence, FrameKind, FrameVerdict, Join, NamedBy, Override, Split
from onsite.matching.match_frames import match
from onsite.matching.split_and_join import GIVEN_BEFORE, SPLIT_OFF, TWO_PEOPLE
from tests.matching.days import Day, code, names, verdicts
from tests.matching.test_match_frames import ACCIDENTS, story

BEGIN = range(1, 8)


def regrouped(day: Day, *decisions: Split | Join) -> dict[int, FrameVerdict]:
    return verdicts(replace(day.evidence(), regroupings=decisions))


def hinted(verdict: FrameVerdict) -> set[int]:
    return {suggestion.person for suggestion in verdict.suggestions}


def test_a_split_run_keeps_its_name_up_to_the_split() -> None:
    day = Day().people(BEGIN)
    mine = day.ids(4)
    found = regrouped(day, Split(mine[2]))
    assert names(found, mine) == [4, 4, "loose", "loose", "loose"]
    assert found[mine[2]].doubt == SPLIT_OFF
    assert {found[frame].run for frame in mine[2:]} == {mine[2]}
    assert 4 in hinted(found[mine[2]])
    assert names(found, day.ids(5)) == [5] * 5


def test_a_run_named_by_a_tail_slate_keeps_its_name_from_the_split_on() -> None:
    day = Day().people(BEGIN).person(8, "tail").people(range(9, 12))
    mine = day.ids(8)
    found = regrouped(day, Split(mine[3]))
    assert names(found, mine) == ["loose", "loose", "loose", 8, 8]


def test_a_loose_run_is_split_in_two_that_are_given_separately() -> None:
    day = Day().people(BEGIN).person(8, "unread")
    mine = day.ids(8)
    found = regrouped(day, Split(mine[1]))
    assert names(found, mine) == ["loose"] * 5
    assert [found[frame].run for frame in mine] == [mine[0], *[mine[1]] * 4]
    assert found[mine[1]].doubt == found[mine[0]].doubt


def test_a_split_where_a_run_begins_changes_nothing() -> None:
    day = Day().people(BEGIN)
    assert regrouped(day, Split(day.ids(4)[0])) == verdicts(day.evidence())


def test_joined_to_a_named_run_loose_frames_are_of_that_person() -> None:
    day = Day().people(BEGIN).person(8, "unread")
    found = regrouped(day, Join(day.ids(8)[2], day.ids(7)[0]))
    assert names(found, day.ids(8)) == [7] * 5
    assert {found[frame].how for frame in day.ids(8)} == {NamedBy.OVERRIDE}
    assert {found[frame].how for frame in day.ids(7)} == {NamedBy.SLATE}
    assert {found[frame].run for frame in (*day.ids(7), *day.ids(8))} == {day.ids(7)[0]}


def test_two_loose_runs_joined_are_one() -> None:
    day = Day().people(BEGIN).person(8, "unread").person(9, "unread")
    found = regrouped(day, Join(day.ids(8)[0], day.ids(9)[0]))
    assert names(found, [*day.ids(8), *day.ids(9)]) == ["loose"] * 10
    assert len({found[frame].run for frame in (*day.ids(8), *day.ids(9))}) == 1


def test_runs_of_two_people_joined_are_nobodys() -> None:
    day = Day().people(BEGIN)
    found = regrouped(day, Join(day.ids(4)[0], day.ids(5)[0]))
    assert names(found, [*day.ids(4), *day.ids(5)]) == ["loose"] * 10
    assert found[day.ids(4)[0]].doubt == TWO_PEOPLE
    assert {4, 5} <= hinted(found[day.ids(4)[0]])


def test_split_and_joined_again_is_as_before_but_by_hand() -> None:
    day = Day().people(BEGIN)
    mine = day.ids(4)
    found = regrouped(day, Split(mine[2]), Join(mine[1], mine[2]))
    assert names(found, mine) == [4] * 5
    assert [found[frame].how for frame in mine] == [NamedBy.SLATE] * 2 + [NamedBy.OVERRIDE] * 3


@pytest.mark.parametrize("place", [0, 2])
def test_what_was_joined_can_be_split_off_again(place: int) -> None:
    day = Day().people(BEGIN).person(8, "unread")
    mine = day.ids(8)
    found = regrouped(day, Join(mine[0], day.ids(7)[0]), Split(mine[place]))
    assert names(found, mine) == [7] * place + ["loose"] * (5 - place)
    assert names(found, day.ids(7)) == [7] * 5


def test_what_is_joined_to_a_frame_given_by_hand_is_of_that_person() -> None:
    day = Day().people(BEGIN).person(8, "unread")
    mine = day.ids(8)
    day.by_hand[mine[0]] = Override(3)
    found = regrouped(day, Join(mine[1], mine[0]))
    assert names(found, mine) == [3] * 5
    assert names(regrouped(day, Join(mine[1], mine[0]), Split(mine[3])), mine) == [3, 3, 3, "loose", "loose"]


def test_what_is_joined_to_a_slate_is_of_that_slates_person() -> None:
    day = Day().people(BEGIN).person(8, "unread").arrive(9)
    slate = day.slate(9, code(9), after=40)
    found = regrouped(day, Join(day.ids(8)[0], slate))
    assert names(found, day.ids(8)) == [9] * 5
    assert found[slate].kind is FrameKind.SLATE


def test_a_slate_set_aside_lends_its_person_to_nobody() -> None:
    evidence, join = joined_to_a_slate_set_aside()
    assert verdicts(replace(evidence, regroupings=(*evidence.regroupings, join))) == verdicts(evidence)


def test_a_join_across_cameras_or_with_frames_set_aside_changes_nothing() -> None:
    one, other = Day().people(BEGIN), Day(camera=2).people(range(11, 18))
    one.by_hand[one.ids(3)[0]] = Override(None)
    evidence = one.evidence(other)
    decisions = (Join(one.ids(4)[0], other.ids(11)[0]), Join(one.ids(4)[0], one.ids(3)[0]))
    assert verdicts(replace(evidence, regroupings=decisions)) == verdicts(evidence)


def test_after_a_frame_given_to_somebody_else_a_run_is_loose() -> None:
    day = Day().people(BEGIN)
    mine = day.ids(4)
    day.by_hand[mine[2]] = Override(5)
    found = verdicts(day.evidence())
    assert names(found, mine) == [4, 4, 5, "loose", "loose"]
    assert found[mine[3]].doubt == GIVEN_BEFORE
    assert {4, 5} <= hinted(found[mine[3]])


def test_before_a_frame_given_to_somebody_else_a_run_with_a_tail_slate_is_loose() -> None:
    day = Day().people(BEGIN).person(8, "tail").people(range(9, 12))
    mine = day.ids(8)
    day.by_hand[mine[2]] = Override(5)
    assert names(verdicts(day.evidence()), mine) == ["loose", "loose", 5, 8, 8]


@pytest.mark.parametrize("to", [4, None])
def test_a_frame_given_to_the_same_person_or_set_aside_loosens_nothing(to: int | None) -> None:
    day = Day().people(BEGIN)
    mine = day.ids(4)
    day.by_hand[mine[2]] = Override(to)
    assert names(verdicts(day.evidence()), [*mine[:2], *mine[3:]]) == [4] * 4


def test_the_last_frame_given_to_somebody_else_loosens_nothing() -> None:
    day = Day().people(BEGIN)
    mine = day.ids(4)
    day.by_hand[mine[4]] = Override(5)
    assert names(verdicts(day.evidence()), mine) == [4, 4, 4, 4, 5]


@st.composite
def regrouped_days(draw: st.DrawFn) -> Evidence:
    """A day with accidents, a few decisions on frames, and runs split and joined in any order."""
    slates = draw(st.lists(st.sampled_from(ACCIDENTS), min_size=4, max_size=10))
    day = story(slates, draw(st.integers(0, 2**16)))
    frame = st.sampled_from(sorted(day.truth))
    day.by_hand = draw(st.dictionaries(frame, st.builds(Override, st.sampled_from([None, 1, 2])), max_size=3))
    decisions = st.lists(st.builds(Split, frame) | st.builds(Join, frame, frame), min_size=1, max_size=6)
    return replace(day.evidence(), regroupings=tuple(draw(decisions)))


def people(evidence: Evidence) -> dict[int, int | None]:
    return {v.frame: v.person if v.kind is FrameKind.NAMED else None for v in match(evidence).verdicts}


@pytest.mark.long
@given(regrouped_days())
@settings(max_examples=40, deadline=None)
def test_no_frame_is_lost_or_doubled_and_a_decision_on_a_frame_stands(evidence: Evidence) -> None:
    result = match(evidence)
    assert sorted(v.frame for v in result.verdicts) == sorted(f.id for f in evidence.frames)
    found = {verdict.frame: verdict for verdict in result.verdicts}
    for frame, decision in evidence.overrides.items():
        assert found[frame].how is NamedBy.OVERRIDE
        assert found[frame].person == decision.person
    for verdict in result.verdicts:
        assert bool(verdict.doubt) or verdict.kind is not FrameKind.LOOSE
        assert verdict.person is not None or verdict.kind is not FrameKind.NAMED
    assert match(evidence) == result


@given(regrouped_days(), st.data())
@settings(max_examples=40, deadline=None)
def test_a_split_never_gives_a_name(evidence: Evidence, data: st.DataObject) -> None:
    before = people(evidence)
    split = Split(data.draw(st.sampled_from(sorted(before))))
    after = people(replace(evidence, regroupings=(*evidence.regroupings, split)))
    assert all(after[frame] in (None, person) for frame, person in before.items())


@st.composite
def joined_days(draw: st.DrawFn) -> tuple[Evidence, Join]:
    """Such a day and one more join."""
    evidence = draw(regrouped_days())
    frame = st.sampled_from(sorted(frame.id for frame in evidence.frames))
    return evidence, Join(draw(frame), draw(frame))


def joined_to_a_slate_set_aside() -> tuple[Evidence, Join]:
    """A slate is set aside, its run split, and what was split off joined to that slate."""
    day = Day().people(range(1, 5))
    slate, first = min(day.slates), day.ids(1)[0]
    day.by_hand[slate] = Override(None)
    return replace(day.evidence(), regroupings=(Split(first + 1),)), Join(slate, first + 1)


@pytest.mark.long
@given(joined_days())
@example(joined_to_a_slate_set_aside())
@settings(max_examples=40, deadline=None)
def test_a_join_names_nobody_who_was_on_neither_run(day: tuple[Evidence, Join]) -> None:
    """And touches no other run."""
    evidence, join = day
    found = {verdict.frame: verdict for verdict in match(evidence).verdicts}
    one, other = join.frame, join.to
    joined = match(replace(evidence, regroupings=(*evidence.regroupings, join))).verdicts
    for verdict in joined:
        before = found[verdict.frame]
        if (verdict.kind, verdict.person) != (before.kind, before.person):
            assert before.run in {found[one].run, found[other].run}
            assert verdict.person in {None, found[one].person, found[other].person}


@pytest.mark.long
@given(regrouped_days())
@settings(max_examples=30, deadline=None)
def test_splits_and_joins_on_unknown_frames_change_nothing(evidence: Evidence) -> None:
    unknown = (Split(-1), Join(-1, -2), *evidence.regroupings, Join(evidence.frames[0].id, -1))
    assert match(replace(evidence, regroupings=unknown)) == match(evidence)
