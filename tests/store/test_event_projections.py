"""The projections are what the event log says, after any history and whenever the program is killed."""

from __future__ import annotations

import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import delete, select
from sqlmodel import Session

from onsite.checkin.check_in import assign_deck_card, check_in_person, record_slate_shown, undo_arrival_of
from onsite.checkin.deck_cards import make_deck
from onsite.checkin.undo_check_in import undo_last_act
from onsite.checkin.walk_ins_and_corrections import add_walk_in, confirm_person, correct_person
from onsite.core.errors import Problem
from onsite.reconcile.overrides import clear_overrides, give_frames, set_frames_aside, undo_last_override
from onsite.status.status_cache import StatusCache
from onsite.store.event_projections import rebuild_projections
from onsite.store.events import EventKind, add_event, read_events
from onsite.store.schema import Camera, CardHolder, EventRow, Frame, PersonState, SequenceNumber, UndoneEvent
from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot, open_shoot
from tests.status.choirs import ROSTER, listed

NINE = datetime.fromisoformat("2026-06-13T09:00+02:00")
TEN = datetime.fromisoformat("2026-06-13T10:00+02:00")
SHORTER = ROSTER.replace("S-3,Anna,Lindqvist,Alto,,,,,\n", "")


@pytest.fixture(scope="module")
def prepared(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shoot with four people, three deck cards and six frames, to copy."""
    folder = tmp_path_factory.mktemp("projections") / "choirs"
    made = create_shoot(folder, Settings("Choirs", timezone="Europe/Vienna", date="2026-06-13"), "AAAA")
    listed(made, ROSTER)
    make_deck(made, 3)
    with made.writing() as session:
        session.add(Camera(id=1, label="A", identity="A"))
        session.flush()
        session.add_all(Frame(id=n, camera_id=1, name=f"A{n}", source="card") for n in range(1, 7))
    made.engine.dispose()
    return folder


@contextmanager
def copied(prepared: Path, to: Path) -> Iterator[Shoot]:
    shutil.rmtree(to, ignore_errors=True)
    shutil.copytree(prepared, to)
    shoot = open_shoot(to)
    try:
        yield shoot
    finally:
        shoot.engine.dispose()


def happen(shoot: Shoot, kind: EventKind, **details: Any) -> None:
    with shoot.writing() as session:
        add_event(session, kind, TEN, **details)


def undo_an_undo(shoot: Shoot, _person: int, number: int) -> None:
    """No screen does it, and the log may hold it."""
    with shoot.reading() as session:
        undos = read_events(session, (EventKind.UNDONE,))
    if undos:
        happen(shoot, EventKind.UNDONE, undoes=[undos[-number % len(undos)].id])


def two_at_once(shoot: Shoot, person: int, number: int) -> None:
    """Several events in one write: an arrival, and an undo of what was there before."""
    with shoot.writing() as session:
        events = read_events(session, (EventKind.CARD_TIED, EventKind.UNDONE))
        if session.execute(select(SequenceNumber).where(SequenceNumber.person_id == number)).first() is None:
            session.add(SequenceNumber(number=100 + number, person_id=number))  # as the door does
        add_event(session, EventKind.ARRIVED, NINE, person_id=number)
        add_event(session, EventKind.CARD_TIED, TEN, person_id=number, card_id=person % 3 + 1)
        add_event(session, EventKind.UNDONE, TEN, undoes=[event.id for event in events[-number:]])


ACTS: tuple[Callable[[Shoot, int, int], object], ...] = (
    lambda shoot, person, number: check_in_person(shoot, person, "door-1", card=number),
    lambda shoot, person, number: check_in_person(shoot, person, "door-2", at=(NINE, TEN, None)[number - 1]),
    lambda shoot, person, _: undo_arrival_of(shoot, person),
    lambda shoot, person, number: assign_deck_card(shoot, person, number),
    lambda shoot, person, number: assign_deck_card(shoot, person, number, at=NINE),
    lambda shoot, person, _: record_slate_shown(shoot, person),
    lambda shoot, person, _: confirm_person(shoot, person, "door-1"),
    lambda shoot, person, number: correct_person(shoot, person, {"given": f"Mira{number}"}, "door-1"),
    lambda shoot, person, _: undo_last_act(shoot, person, "door-1"),
    lambda shoot, _, number: add_walk_in(shoot, "Guest", str(number), card=number),
    lambda shoot, _, number: listed(shoot, (ROSTER, SHORTER, SHORTER)[number - 1]),
    lambda shoot, person, number: give_frames(shoot, [number, number + 3], person, "set-A"),
    lambda shoot, _, number: set_frames_aside(shoot, [number], "set-A"),
    lambda shoot, _, number: clear_overrides(shoot, [number], "set-A"),
    lambda shoot, _person, _: undo_last_override(shoot, "set-A"),
    lambda shoot, _, number: happen(shoot, EventKind.PROOFED, person_id=number, frames=[number]),
    undo_an_undo,
    two_at_once,
)

ACT = st.tuples(st.sampled_from(ACTS), st.integers(1, 6), st.integers(1, 3))


def projected(session: Session) -> dict[str, list[tuple[Any, ...]]]:
    """All rows; of people all but which event changed them last, which a rebuild cannot know."""
    states = [getattr(PersonState, name) for name in PersonState.model_fields if name != "changed"]
    return {
        "undone": [tuple(row) for row in session.execute(select(UndoneEvent.event_id).order_by("event_id"))],
        "states": sorted((tuple(row) for row in session.execute(select(*states))), key=lambda row: row[0]),
        "holders": sorted(
            tuple(row)
            for row in session.execute(
                select(CardHolder.card_id, CardHolder.person_id, CardHolder.since, CardHolder.event_id)
            )
        ),
    }


def undone_by_definition(session: Session) -> set[int]:
    """An event is undone if an undo that counts names it."""
    undos = {
        row.id: set(row.details["undoes"])
        for row in read_events(session, (EventKind.UNDONE,), undone_too=True)
    }

    def counts(event: int) -> bool:
        return not any(event in undoes and counts(undo) for undo, undoes in undos.items() if undo > event)

    return {event for event in session.scalars(select(EventRow.id)) if not counts(event)}


def assert_as_rebuilt(shoot: Shoot) -> None:
    with shoot.writing() as session:
        kept = projected(session)
        assert {event for (event,) in kept["undone"]} == undone_by_definition(session)
        rebuild_projections(session)
        assert projected(session) == kept


@settings(max_examples=20, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(ACT, min_size=1, max_size=25), st.sets(st.integers(0, 24)))
def test_after_any_history_they_are_what_a_rebuild_makes(
    prepared: Path, tmp_path: Path, history: list[tuple[Callable[..., object], int, int]], unseen: set[int]
) -> None:
    with copied(prepared, tmp_path / "shoot") as shoot:
        everybody = StatusCache()
        for turn, (act, person, number) in enumerate(history):
            try:
                act(shoot, person, number)
            except Problem:
                continue
            if turn not in unseen:
                everybody.catch_up(shoot)
        everybody.catch_up(shoot)
        anew = StatusCache()
        anew.catch_up(shoot)
        assert dict(everybody.statuses) == dict(anew.statuses)
        assert_as_rebuilt(shoot)
        rebuilt = StatusCache()
        rebuilt.catch_up(shoot)
        assert dict(rebuilt.statuses) == dict(anew.statuses)


def test_lost_projections_are_made_again(prepared: Path, tmp_path: Path) -> None:
    with copied(prepared, tmp_path / "shoot") as shoot:
        check_in_person(shoot, 1, "door-1", card=1, at=NINE)
        undo_arrival_of(shoot, 1)
        check_in_person(shoot, 1, "door-1", card=2, at=TEN)
        with shoot.writing() as session:
            kept = projected(session)
            for table in (UndoneEvent, PersonState, CardHolder):
                session.execute(delete(table))
            rebuild_projections(session)
            assert projected(session) == kept
        ((card, person, since, _),) = kept["holders"]
        assert (card, person, since) == (2, 1, TEN)


def arrive_in_vain(shoot: Shoot, before: dict[str, list[tuple[Any, ...]]]) -> None:
    with shoot.writing() as session:
        add_event(session, EventKind.ARRIVED, NINE, person_id=1)
        session.flush()
        assert projected(session) != before
        raise RuntimeError


def test_a_write_that_fails_leaves_them_as_they_were(prepared: Path, tmp_path: Path) -> None:
    with copied(prepared, tmp_path / "shoot") as shoot:
        with shoot.reading() as session:
            before = projected(session)
        with pytest.raises(RuntimeError):
            arrive_in_vain(shoot, before)
        with shoot.reading() as session:
            assert projected(session) == before


CHECKS_IN_FOR_EVER = """
import sys
from pathlib import Path
from onsite.checkin.check_in import check_in_person, undo_arrival_of
from onsite.store.shoot import open_shoot

shoot = open_shoot(Path(sys.argv[1]))
while True:
    for person in (1, 2, 3, 4):
        check_in_person(shoot, person, "door-1", card=person % 3 + 1)
        print(person, flush=True)
    for person in (4, 2):
        undo_arrival_of(shoot, person)
    undo_arrival_of(shoot, 3)
    undo_arrival_of(shoot, 1)
"""


@pytest.mark.long
def test_a_station_killed_while_it_checks_in_leaves_them_right(prepared: Path, tmp_path: Path) -> None:
    with copied(prepared, tmp_path / "shoot") as shoot:
        command = [sys.executable, "-c", CHECKS_IN_FOR_EVER, str(shoot.folder)]
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as station:
            assert station.stdout is not None
            for _ in range(11):
                assert station.stdout.readline()
            station.send_signal(signal.SIGKILL)
        assert_as_rebuilt(shoot)
