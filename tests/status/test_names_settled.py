"""Frames are matched anew only where a name may change."""

from __future__ import annotations

from sqlmodel import select

from onsite.checkin.check_in import check_in_person
from onsite.reconcile.current_match import update_match
from onsite.store.events import AFTERWARDS, EventKind, add_event
from onsite.store.schema import VerdictRow
from onsite.store.shoot import Shoot
from tests.status.choirs import Shot


def named(shoot: Shoot) -> int:
    """Frames under a name; these have no slate, so that a match leaves none."""
    update_match(shoot)
    with shoot.reading() as session:
        return len(session.exec(select(VerdictRow).where(VerdictRow.kind == "named")).all())


def test_what_happens_after_the_shoot_changes_no_name(choirs: Shoot, shot: Shot) -> None:
    shot({1: 3, 2: 1})
    assert named(choirs) == 4
    with choirs.writing() as session:
        for kind in AFTERWARDS:
            add_event(session, kind, choirs.now(), person_id=1, frame_id=1, frames=[1])
    assert named(choirs) == 4


def test_anything_else_may(choirs: Shoot, shot: Shot) -> None:
    shot({1: 3, 2: 1})
    check_in_person(choirs, 1)
    assert named(choirs) == 0


def test_frames_that_were_never_matched_are(choirs: Shoot) -> None:
    with choirs.writing() as session:
        add_event(session, EventKind.PROOFED, choirs.now(), person_id=1, frames=[])
    assert named(choirs) == 0
