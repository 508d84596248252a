"""The days after the invented one."""

from __future__ import annotations

import random
from collections import Counter
from pathlib import Path

import pytest
from sqlmodel import select

from onsite.core.codes import new_code
from onsite.simulator.play_delivery import PlayedDelivery, play_delivery
from onsite.status.person_status import Stage, WaitingFor, open_work
from onsite.status.read_status import read_person_statuses
from onsite.store.events import AFTERWARDS, EventKind, read_events
from onsite.store.schema import Person
from onsite.store.shoot import Shoot
from tests.retouch.prints import shoot_day


@pytest.fixture
def shot(shoot: Shoot, tmp_path: Path) -> Shoot:
    """Sixteen people in two groups with two frames each under their names; slate codes of this shoot."""
    shoot_day(shoot, tmp_path / "card", people=16)
    rng, taken = random.Random(1), set[str]()
    with shoot.writing() as session:
        for person in session.exec(select(Person)):
            person.code = new_code(shoot.mark, taken, rng)
            taken.add(person.code)
    return shoot


@pytest.mark.long
def test_somebody_is_at_every_stage_and_somebody_waits_for_everything(shot: Shoot) -> None:
    played = play_delivery(shot, 1)
    everybody = read_person_statuses(shot)
    stages = Counter(one.stage for one in everybody)
    assert stages[Stage.PHOTOGRAPHED] == 8  # the other group has no proofs yet
    assert played.asked == 8
    for stage in (Stage.PROOFED, Stage.PICKED, Stage.AT_RETOUCH, Stage.RETOUCHED, Stage.DELIVERED):
        assert stages[stage], stage
    waits = open_work(everybody, shot.now())
    assert all(waits[what] for what in WaitingFor)
    assert played.sent > played.accepted > played.delivered > 0
    assert played.held == 1  # one file came back as it went out
    assert len(list((shot.folder / "delivery").rglob("*.jpg"))) == played.delivered


@pytest.mark.long
def test_it_happens_on_the_days_after_the_shoot(shot: Shoot) -> None:
    play_delivery(shot, 1)
    with shot.reading() as session:
        events = read_events(session, AFTERWARDS)
    assert sorted({(event.at.date() - shot.day).days for event in events}) == [1, 4, 5, 7, 8, 9]
    assert AFTERWARDS - {event.kind for event in events} == {
        EventKind.REMINDED,
        EventKind.SENT_BACK,
        EventKind.INVITED,
    }


@pytest.mark.long
def test_a_day_without_frames_has_no_days_after(shoot: Shoot) -> None:
    assert play_delivery(shoot, 1) == PlayedDelivery()
