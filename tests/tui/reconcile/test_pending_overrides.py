"""What a decision does to the runs shown, before a match knows it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.matching.evidence import NamedBy, Suggestion
from onsite.reconcile.runs import LaneRun, RunKind
from onsite.store.events import EventKind
from onsite.tui.reconcile.pending_overrides import PendingOverride, with_override
from tests.tui.reconcile.runs import aside, loose, named, slate


def told(runs: list[LaneRun]) -> list[tuple[str, int | None, tuple[int, ...]]]:
    return [(run.kind.value, run.person, run.frames) for run in runs]


RUNS = [
    named(1, 2, 3, slate=1),
    loose(4, 5, 6, suggestions=(Suggestion(2, ("a reason",)),)),
    named(3, 8, slate=7),
]


def test_given_frames_are_that_persons_by_hand() -> None:
    after = with_override(RUNS, PendingOverride(EventKind.GIVEN, (4, 5, 6), 2))
    assert told(after)[1] == ("named", 2, (4, 5, 6))
    assert after[1].how is NamedBy.OVERRIDE
    assert after[0] is RUNS[0]


def test_only_the_frames_meant_are_given_where_a_match_has_moved_the_ends_of_the_run() -> None:
    after = with_override(RUNS, PendingOverride(EventKind.GIVEN, (5, 6, 8), 2))
    assert told(after) == [
        ("named", 1, (2, 3)),
        ("loose", None, (4,)),
        ("named", 2, (5, 6)),
        ("named", 2, (8,)),
    ]
    assert after[3].slates == (7,)


def test_what_is_taken_back_has_no_name_and_offers_nobody() -> None:
    after = with_override(RUNS, PendingOverride(EventKind.UNDONE, (2, 3)))
    assert told(after)[0] == ("loose", None, (2, 3))
    assert after[0].suggestions == ()


def test_set_aside() -> None:
    assert told(with_override(RUNS, PendingOverride(EventKind.SET_ASIDE, (4, 5, 6))))[1] == (
        "aside",
        None,
        (4, 5, 6),
    )


def test_what_is_split_off_from_its_slate_is_loose() -> None:
    assert told(with_override(RUNS, PendingOverride(EventKind.SPLIT, (3,))))[:2] == [
        ("named", 1, (2,)),
        ("loose", None, (3,)),
    ]


def test_before_a_tail_slate_the_name_stays_on_the_side_of_the_slate() -> None:
    runs = [named(1, 2, 3, how=NamedBy.TAIL_SLATE, tail_slates=(4,))]
    after = with_override(runs, PendingOverride(EventKind.SPLIT, (3,)))
    assert told(after) == [("loose", None, (2,)), ("named", 1, (3,))]
    assert after[1].tail_slates == (4,)


def test_both_sides_of_a_split_keep_what_a_hand_gave() -> None:
    after = with_override([named(1, 2, 3, how=NamedBy.OVERRIDE)], PendingOverride(EventKind.SPLIT, (3,)))
    assert told(after) == [("named", 1, (2,)), ("named", 1, (3,))]


def test_joined_with_a_run_of_somebody_all_of_it_is_theirs() -> None:
    assert told(with_override(RUNS, PendingOverride(EventKind.JOINED, (4,), to=3)))[0] == (
        "named",
        1,
        (2, 3, 4, 5, 6),
    )


def test_of_two_names_joined_none_is_kept() -> None:
    runs = [named(1, 2), named(3, 8)]
    assert told(with_override(runs, PendingOverride(EventKind.JOINED, (8,), to=2))) == [
        ("loose", None, (2, 8))
    ]


def test_joined_with_a_slate_the_frames_are_theirs() -> None:
    after = with_override([slate(1, person=4), loose(2, 3)], PendingOverride(EventKind.JOINED, (2,), to=1))
    assert told(after) == [("named", 4, (2, 3))]
    assert after[0].first == 2


@pytest.mark.long
@given(
    st.lists(st.sampled_from(["named", "loose", "aside"]), min_size=1, max_size=6),
    st.lists(
        st.tuples(
            st.sampled_from(
                [EventKind.GIVEN, EventKind.SET_ASIDE, EventKind.FREED, EventKind.SPLIT, EventKind.JOINED]
            ),
            st.lists(st.integers(1, 24), min_size=1, max_size=5, unique=True),
            st.integers(1, 24),
        ),
        max_size=5,
    ),
)
def test_no_frame_is_lost_or_doubled_by_any_decisions(
    kinds: list[str], decisions: list[tuple[EventKind, list[int], int]]
) -> None:
    make = {"named": lambda *frames: named(1, *frames), "loose": loose, "aside": aside}
    runs = [make[kind](*range(4 * n + 1, 4 * n + 5)) for n, kind in enumerate(kinds)]
    for kind, frames, to in decisions:
        runs = with_override(
            runs, PendingOverride(kind, tuple(frames), 2 if kind is EventKind.GIVEN else None, to)
        )
    assert sorted(frame for run in runs for frame in run.frames) == list(range(1, 4 * len(kinds) + 1))
    assert all(run.kind is not RunKind.NAMED or run.person is not None for run in runs)
