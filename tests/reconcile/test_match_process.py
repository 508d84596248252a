from __future__ import annotations

import shutil

import pytest

from onsite.core.errors import Problem
from onsite.reconcile import match_process
from onsite.reconcile.current_match import current_verdicts, is_match_current
from onsite.reconcile.match_process import update_match_in_process
from onsite.store.shoot import Shoot
from tests.matching.days import Day
from tests.reconcile.stored import store_day


@pytest.fixture
def day(shoot: Shoot) -> Day:
    day = Day().people(range(1, 8))
    store_day(shoot, day)
    return day


@pytest.mark.parametrize("few", [0, 5_000])
def test_the_match_is_brought_up_to_date(shoot: Shoot, day: Day, few: int) -> None:
    """In a process of its own, and in this one."""
    update_match_in_process(shoot, few=few)
    assert is_match_current(shoot)
    assert sorted(current_verdicts(shoot)) == sorted(day.truth)


@pytest.mark.usefixtures("day")
def test_nothing_is_started_where_the_match_is_up_to_date(
    shoot: Shoot, monkeypatch: pytest.MonkeyPatch
) -> None:
    update_match_in_process(shoot)
    monkeypatch.setattr(match_process.subprocess, "Popen", None)
    update_match_in_process(shoot, few=0)


@pytest.mark.long
@pytest.mark.usefixtures("day")
def test_a_match_that_is_stopped_is_made_next_time(shoot: Shoot) -> None:
    update_match_in_process(shoot, stopped=lambda: True, few=0)
    assert not is_match_current(shoot)
    update_match_in_process(shoot, few=0)
    assert is_match_current(shoot)


@pytest.mark.long
@pytest.mark.usefixtures("day")
def test_a_shoot_that_is_gone_is_told(shoot: Shoot) -> None:
    away = shoot.folder.with_name("away")
    shutil.move(shoot.folder, away)
    with pytest.raises(Problem, match=r"has no|is not a shoot"):
        match_process._run_in_process(shoot.folder, lambda: False)


def test_the_process_tells_what_is_wrong_with_its_folder(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert match_process.main(["/no/such/folder"]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert "/no/such/folder is not a shoot" in said.err
