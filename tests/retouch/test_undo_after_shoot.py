"""Undo at the desk: what a station did last after the shoot."""

from __future__ import annotations

from pathlib import Path

import pytest

from onsite.core.errors import Problem
from onsite.personal_data.forget_person import forget_person
from onsite.picks.record_picks import choose_picks
from onsite.retouch.accept_or_reject import accept, again
from onsite.retouch.batch_contents import BatchOrder
from onsite.retouch.receive_batch import receive_batch
from onsite.retouch.retouch_folder import read_held_files
from onsite.retouch.send_batch import send_batch
from onsite.retouch.undo_after_shoot import undo_after_shoot
from onsite.status.batch_status import frames_at_retouch, read_batches
from onsite.status.picture_status import read_picture_statuses
from onsite.store.events import EventKind, add_event
from onsite.store.shoot import Shoot
from tests.retouch.prints import portrait, retouched

DESK = "desk-1"


def picks(shoot: Shoot, person: int = 1) -> list[int]:
    with shoot.reading() as session:
        return [pick.frame for pick in read_picture_statuses(session)[person].picks]


def is_out(shoot: Shoot, frame: int) -> bool:
    with shoot.reading() as session:
        out = frames_at_retouch(read_batches(session)).get(frame)
    return out is not None and out.received is None


@pytest.fixture
def held(picked: Shoot, tmp_path: Path) -> Shoot:
    """The picks are out, and of the first a file came back that is held: it is small."""
    send_batch(picked, tmp_path / "batch", BatchOrder(retoucher="A service", named=False), station=DESK)
    (tmp_path / "back").mkdir()
    retouched(portrait(1)).reduce(2).save(tmp_path / "back" / "0001_f1.jpg")
    receive_batch(picked, tmp_path / "back", station="desk-2")
    return picked


def test_picks_are_taken_back_and_those_before_count_again(picked: Shoot) -> None:
    before = picks(picked)
    with picked.reading() as session:
        standing = read_picture_statuses(session)[1]
    choose_picks(picked, 1, [], standing, source="the desk", station=DESK)
    assert picks(picked) == []
    assert "the last picks no longer count" in undo_after_shoot(picked, DESK)
    assert picks(picked) == before


def test_what_another_station_did_stays(picked: Shoot) -> None:
    with pytest.raises(Problem, match="Nothing is left to undo at this station"):
        undo_after_shoot(picked, DESK)


def test_what_rests_on_it_is_undone_first(picked: Shoot) -> None:
    with picked.reading() as session:
        standing = read_picture_statuses(session)[1]
    choose_picks(picked, 1, [2], standing, source="the desk", station=DESK)
    with picked.writing() as session:
        at = picked.now()
        add_event(session, EventKind.SENT, at, station="desk-2", person_id=1, frame_id=2, batch="b", file="f")
    with pytest.raises(Problem, match="after that at desk-2: sent to retouch"):
        undo_after_shoot(picked, DESK)
    assert picks(picked) == [2]


@pytest.mark.parametrize("kind", [EventKind.PROOFED, EventKind.DELIVERED])
def test_what_people_may_have_by_now_is_not_taken_back(picked: Shoot, kind: EventKind) -> None:
    with picked.writing() as session:
        add_event(session, kind, picked.now(), station=DESK, person_id=1, frame_id=1, frames=[1])
    with pytest.raises(Problem, match="That cannot be undone"):
        undo_after_shoot(picked, DESK)


def test_a_file_that_was_accepted_waits_for_a_look_again(held: Shoot) -> None:
    accept(held, ["f1"], station=DESK)
    assert not is_out(held, 1)
    assert undo_after_shoot(held, DESK).endswith("not accepted any more")
    assert is_out(held, 1)
    assert [file.frame for file in read_held_files(held)] == [1]
    accept(held, ["f1"], station=DESK)
    assert not is_out(held, 1)
    assert not read_held_files(held)


def test_a_file_that_was_sent_back_waits_for_a_look_again(held: Shoot) -> None:
    again(held, ["f1"], "not hers", station=DESK)
    assert not read_held_files(held)
    assert undo_after_shoot(held, DESK).endswith("no longer sent back; it waits to be looked at")
    assert [file.frame for file in read_held_files(held)] == [1]


def test_a_batch_that_went_out_by_mistake_is_due_again(held: Shoot, tmp_path: Path) -> None:
    assert str(tmp_path / "batch") in undo_after_shoot(held, DESK)
    assert not is_out(held, 1)
    sent = send_batch(held, tmp_path / "second", BatchOrder(retoucher="A service", named=False))
    assert len(sent.items) == 3


def test_a_name_of_a_batch_is_never_given_twice(held: Shoot, tmp_path: Path) -> None:
    undo_after_shoot(held, DESK)
    send_batch(held, tmp_path / "second", BatchOrder(retoucher="A service", named=False))
    with held.reading() as session:
        assert [batch.name for batch in read_batches(session)] == ["batch-2"]


def test_who_was_forgotten_stays_out_of_it(picked: Shoot) -> None:
    with picked.reading() as session:
        standing = read_picture_statuses(session)
    for person in (1, 2):
        choose_picks(picked, person, [], standing[person], source="the desk", station=DESK)
    forget_person(picked, "C-2")
    assert undo_after_shoot(picked, DESK).endswith("the last picks no longer count")
    with pytest.raises(Problem, match="Nothing is left to undo at this station"):
        undo_after_shoot(picked, DESK)
