"""Stages are derived from what happened."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.checkin.check_in import check_in, undo_arrival
from onsite.roster.find_people import RosterPerson
from onsite.roster.load_roster import load_list
from onsite.status.person_status import (
    PersonStatus,
    Stage,
    count_reached,
    count_stages,
    cumulative_counts,
    stage_of,
    stages_to_show,
)
from onsite.status.picture_status import NO_PICTURES, Pick, PictureStatus
from onsite.status.read_status import read_person_statuses
from onsite.store.shoot import Shoot


@pytest.mark.parametrize(
    ("arrived", "frames", "stage"),
    [
        (False, 0, Stage.EXPECTED),
        (True, 0, Stage.ARRIVED),
        (True, 4, Stage.PHOTOGRAPHED),
        (False, 4, Stage.PHOTOGRAPHED),
    ],
)
def test_a_stage_follows_from_arrival_and_frames(arrived: bool, frames: int, stage: Stage) -> None:
    assert stage_of(arrived, frames) is stage


def at(hour: int) -> datetime:
    return datetime(2026, 6, 14, tzinfo=UTC) + timedelta(hours=hour)


@pytest.mark.parametrize(
    ("after", "stage"),
    [
        (PictureStatus(proofed=at(1)), Stage.PROOFED),
        (PictureStatus(proofed=at(1), picked=at(2), picks=(Pick(7),)), Stage.PICKED),
        (PictureStatus(picks=(Pick(7, sent=at(3)),)), Stage.AT_RETOUCH),
        (PictureStatus(picks=(Pick(7, sent=at(3), received=at(4)),)), Stage.RETOUCHED),
        (PictureStatus(picks=(Pick(7, sent=at(3), sent_back=at(5)),)), Stage.PICKED),  # it goes out again
        (PictureStatus(picks=(Pick(7, sent=at(6), sent_back=at(5)),)), Stage.AT_RETOUCH),
        (PictureStatus(picks=(Pick(7, sent=at(3), received=at(4), delivered=at(6)),)), Stage.DELIVERED),
        (PictureStatus(picks=(Pick(7, delivered=at(6)),)), Stage.DELIVERED),  # without any retouching
        (PictureStatus(delivered=at(6)), Stage.DELIVERED),  # without any choice
    ],
)
def test_after_the_shoot_a_stage_follows_from_what_became_of_the_pictures(
    after: PictureStatus, stage: Stage
) -> None:
    assert stage_of(True, 4, after) is stage


def test_with_several_picks_the_least_far_counts() -> None:
    done = Pick(7, sent=at(3), received=at(4), delivered=at(6))
    assert stage_of(True, 4, PictureStatus(picks=(done, Pick(8)))) is Stage.PICKED
    assert stage_of(True, 4, PictureStatus(picks=(done, Pick(8, sent=at(3))))) is Stage.AT_RETOUCH


def test_a_delivered_picture_that_is_retouched_again_waits_to_be_delivered_again() -> None:
    again = Pick(7, sent=at(3), delivered=at(6), sent_back=at(7))
    out = Pick(7, sent=at(8), delivered=at(6), sent_back=at(7))
    back = Pick(7, sent=at(3), received=at(8), delivered=at(6), sent_back=at(7))
    assert stage_of(True, 4, PictureStatus(picks=(again,))) is Stage.PICKED
    assert stage_of(True, 4, PictureStatus(picks=(out,))) is Stage.AT_RETOUCH
    assert stage_of(True, 4, PictureStatus(picks=(back,))) is Stage.RETOUCHED


@given(st.dictionaries(st.sampled_from(list(Stage)), st.integers(0, 50)))
def test_nobody_who_is_further_is_lost_from_what_was_reached(stages: dict[Stage, int]) -> None:
    assert count_reached(stages, Stage.EXPECTED) == sum(stages.values())
    counts = [count_reached(stages, stage) for stage in Stage]
    assert counts == sorted(counts, reverse=True)


def test_later_stages_are_told_once_somebody_is_there() -> None:
    day = [Stage.EXPECTED, Stage.ARRIVED, Stage.PHOTOGRAPHED]
    assert stages_to_show(dict.fromkeys(Stage, 0)) == day
    assert stages_to_show({Stage.RETOUCHED: 1}) == [*day, Stage.RETOUCHED]


def test_an_arrival_and_its_undo_move_somebody_there_and_back(shoot: Shoot) -> None:
    listed = shoot.folder / "list.csv"
    listed.write_text("key,name\n1,Ana Horvat\n2,Bo Lind\n", encoding="utf-8")
    load_list(shoot, listed)
    check_in(shoot, "Ana Horvat")
    none = dict.fromkeys(Stage, 0)
    assert count_stages(read_person_statuses(shoot)) == {**none, Stage.EXPECTED: 1, Stage.ARRIVED: 1}
    undo_arrival(shoot, "Ana Horvat")
    assert count_stages(read_person_statuses(shoot)) == {**none, Stage.EXPECTED: 2}


def test_somebody_withdrawn_is_not_expected(shoot: Shoot) -> None:
    listed = shoot.folder / "list.csv"
    listed.write_text("key,name\n1,Ana Horvat\n2,Bo Lind\n", encoding="utf-8")
    load_list(shoot, listed)
    listed.write_text("key,name\n1,Ana Horvat\n", encoding="utf-8")
    load_list(shoot, listed)
    assert count_stages(read_person_statuses(shoot))[Stage.EXPECTED] == 1


def test_counts_that_are_shown_are_cumulative_and_the_expected_are_those_left() -> None:
    proofed, delivered = PictureStatus(proofed=at(1)), PictureStatus(proofed=at(1), delivered=at(6))
    everybody = [
        *(_somebody(False, 0) for _ in range(6)),
        _somebody(True, 0),
        *(_somebody(True, 4) for _ in range(20)),
        *(_somebody(True, 4, proofed) for _ in range(10)),
        *(_somebody(True, 4, delivered) for _ in range(4)),
    ]
    counts = cumulative_counts(everybody)
    assert (counts[Stage.EXPECTED], counts[Stage.ARRIVED], counts[Stage.PHOTOGRAPHED]) == (6, 35, 34)
    assert (counts[Stage.PROOFED], counts[Stage.PICKED], counts[Stage.DELIVERED]) == (14, 0, 4)


def _somebody(arrived: bool, frames: int, after: PictureStatus = NO_PICTURES) -> PersonStatus:
    person = RosterPerson(1, "1", "", None, "Ana Horvat", "Ana", "Horvat", "")
    stage = stage_of(arrived, frames, after)
    return PersonStatus(person, stage, at(0) if arrived else None, frames, pictures=after)
