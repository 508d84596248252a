"""Stages are derived from what happened."""

import pytest

from onsite.checkin.door import check_in, undo
from onsite.progress.stage import Stage, count_stages, stage_of, standings
from onsite.roster.load import load
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


def test_an_arrival_and_its_undo_move_somebody_there_and_back(shoot: Shoot) -> None:
    listed = shoot.folder / "list.csv"
    listed.write_text("key,name\n1,Ana Horvat\n2,Bo Lind\n", encoding="utf-8")
    load(shoot, listed)
    check_in(shoot, "Ana Horvat")
    assert count_stages(standings(shoot)) == {Stage.EXPECTED: 1, Stage.ARRIVED: 1, Stage.PHOTOGRAPHED: 0}
    undo(shoot, "Ana Horvat")
    assert count_stages(standings(shoot)) == {Stage.EXPECTED: 2, Stage.ARRIVED: 0, Stage.PHOTOGRAPHED: 0}


def test_somebody_withdrawn_is_not_expected(shoot: Shoot) -> None:
    listed = shoot.folder / "list.csv"
    listed.write_text("key,name\n1,Ana Horvat\n2,Bo Lind\n", encoding="utf-8")
    load(shoot, listed)
    listed.write_text("key,name\n1,Ana Horvat\n", encoding="utf-8")
    load(shoot, listed)
    assert count_stages(standings(shoot))[Stage.EXPECTED] == 1
