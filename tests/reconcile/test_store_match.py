from __future__ import annotations

import threading
from dataclasses import replace

import pytest
from sqlmodel import select

from onsite.matching.evidence import FrameVerdict
from onsite.reconcile import store_match as keeping
from onsite.reconcile.current_match import (
    current_verdicts,
    frames_per_person,
    is_match_current,
    match_now,
    update_match,
)
from onsite.reconcile.overrides import give_frames, set_frames_aside
from onsite.reconcile.store_match import matched_until, save_match
from onsite.store.events import newest_event_id
from onsite.store.schema import VerdictRow
from onsite.store.shoot import Shoot
from tests.matching.days import Day
from tests.reconcile.stored import store_day


@pytest.fixture
def day(shoot: Shoot) -> Day:
    day = Day().people(range(1, 8)).person(8, "unread")
    store_day(shoot, day)
    return day


def kept(shoot: Shoot) -> dict[int, tuple[str, int | None, str, int | None]]:
    with shoot.reading() as session:
        return {v.frame_id: (v.kind, v.person_id, v.doubt, v.run) for v in session.exec(select(VerdictRow))}


def wanted(verdicts: tuple[FrameVerdict, ...]) -> dict[int, tuple[str, int | None, str, int | None]]:
    return {v.frame: (v.kind.value, v.person, v.doubt, v.run) for v in verdicts}


def until(shoot: Shoot) -> tuple[int, int]:
    with shoot.reading() as session:
        return matched_until(session), newest_event_id(session)


@pytest.mark.parametrize("at_once", [3, 10_000])
def test_what_is_kept_is_the_match(
    shoot: Shoot, day: Day, at_once: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whether it is written in one go or in parts."""
    monkeypatch.setattr(keeping, "_AT_ONCE", at_once)
    assert not is_match_current(shoot)
    outcome = match_now(shoot)
    assert kept(shoot) == wanted(outcome.verdicts)
    give_frames(shoot, day.ids(8), 8)
    assert not is_match_current(shoot)
    outcome = match_now(shoot)
    assert kept(shoot) == wanted(outcome.verdicts)
    assert is_match_current(shoot)


@pytest.mark.usefixtures("day")
def test_verdicts_that_should_not_be_there_go(shoot: Shoot) -> None:
    outcome = match_now(shoot)
    some = replace(outcome, verdicts=outcome.verdicts[:5])
    save_match(shoot, some, until(shoot)[1])
    assert kept(shoot) == wanted(some.verdicts)


def test_an_earlier_match_never_replaces_a_later_one(shoot: Shoot, day: Day) -> None:
    early, at = match_now(shoot), until(shoot)[1]
    set_frames_aside(shoot, day.ids(8))
    late = match_now(shoot)
    save_match(shoot, early, at)
    assert kept(shoot) == wanted(late.verdicts)
    assert is_match_current(shoot)


def test_a_match_that_was_kept_in_part_counts_as_none(
    shoot: Shoot, day: Day, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As when the machine is switched off in the midst of it."""
    monkeypatch.setattr(keeping, "_AT_ONCE", 4)
    plain, writes = keeping._write, iter(range(100))

    def fails(*arguments: object, **named: object) -> bool:
        if next(writes) == 2:
            raise KeyboardInterrupt
        return plain(*arguments, **named)  # type: ignore[arg-type]

    monkeypatch.setattr(keeping, "_write", fails)
    with pytest.raises(KeyboardInterrupt):
        match_now(shoot)
    assert 0 < len(kept(shoot)) < len(day.frames)
    assert until(shoot)[0] < 0
    monkeypatch.setattr(keeping, "_write", plain)
    update_match(shoot)
    assert sorted(kept(shoot)) == sorted(day.truth)
    assert is_match_current(shoot)


@pytest.mark.usefixtures("day")
def test_two_stations_that_keep_a_match_at_once_leave_one_whole(
    shoot: Shoot, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(keeping, "_AT_ONCE", 2)
    outcome = match_now(shoot)
    others = replace(outcome, verdicts=tuple(replace(v, doubt="another") for v in outcome.verdicts))
    last = until(shoot)[1]
    threads = [
        threading.Thread(target=save_match, args=(shoot, match, last + 1 + later))
        for later, match in enumerate((outcome, others))
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    whole = {last + 1: wanted(outcome.verdicts), last + 2: wanted(others.verdicts)}
    assert kept(shoot) == whole[until(shoot)[0]]


@pytest.mark.usefixtures("day")
def test_frames_are_counted_by_person(shoot: Shoot) -> None:
    match_now(shoot)
    with shoot.reading() as session:
        assert frames_per_person(session) == dict.fromkeys(range(1, 8), 5)


@pytest.mark.usefixtures("day")
def test_a_match_again_writes_nothing_where_nothing_changed(shoot: Shoot) -> None:
    before = current_verdicts(shoot)
    with shoot.writing():  # a write would wait for this
        match_now(shoot)
    assert current_verdicts(shoot) == before
