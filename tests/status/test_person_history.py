"""A person's whole history, in plain words."""

from datetime import datetime, timedelta

import pytest

from onsite.checkin.check_in import assign_deck_card, check_in_person, record_slate_shown, undo_arrival_of
from onsite.checkin.deck_cards import make_deck
from onsite.checkin.walk_ins_and_corrections import add_walk_in, confirm_person, correct_person
from onsite.core.errors import Problem
from onsite.status.person_history import history
from onsite.store.events import EventKind, add_event
from onsite.store.shoot import Shoot
from tests.status.choirs import ROSTER, Shot, listed

NINE = datetime.fromisoformat("2026-06-13T09:00+02:00")


def told(shoot: Shoot, person: int) -> list[str]:
    """In the order of the record; the list was loaded today, the festival may be on another day."""
    return [one.text for one in history(shoot, person)]


def test_from_the_list_to_the_set(choirs: Shoot) -> None:
    make_deck(choirs, 5)
    check_in_person(choirs, 1, "door-1", card=5, at=NINE)
    record_slate_shown(choirs, 1, "set-A", NINE + timedelta(minutes=4))
    assign_deck_card(
        choirs, check_in_person(choirs, 2, at=NINE).person.id, 5, "door-1", NINE + timedelta(minutes=9)
    )
    lines = {one.text: one for one in history(choirs, 1)}
    assert set(lines) == {
        "on the client's list",
        "arrived, number 1",
        "deck card 5 given to them",
        "slate shown",
        "deck card 5 handed on to Tomas Brandl",
    }
    assert (lines["slate shown"].at, lines["slate shown"].station) == (NINE + timedelta(minutes=4), "set-A")
    times = [one.at for one in history(choirs, 1)]
    assert times == sorted(times)
    assert "deck card 5 given to them" in told(choirs, 2)


def test_what_was_taken_back_stays_and_is_marked(choirs: Shoot) -> None:
    check_in_person(choirs, 1)
    undo_arrival_of(choirs, 1)
    lines = history(choirs, 1)[1:]
    assert [(one.text, one.is_undone) for one in lines] == [
        ("arrived, number 1 (taken back)", True),
        ("taken back: the arrival", False),
    ]


def test_changes_by_the_list_and_by_hand(choirs: Shoot) -> None:
    correct_person(choirs, 1, {"family": "Okafur", "note": "tall"}, "door-1")
    confirm_person(choirs, 1)
    listed(choirs, ROSTER.replace("Okafor", "Okafir").replace("soloist", "lead"))
    listed(choirs, ROSTER.replace("S-1,Mira,Okafor,Soprano,10:30,yes,,MEE-ra,soloist\n", ""))
    listed(choirs, ROSTER)
    lines = told(choirs, 1)
    assert lines[1] == (
        "corrected by hand: family Okafor → Okafur; note nothing → tall; name Mira Okafor → Mira Okafur"
    )
    assert lines[2] == "spelling confirmed: Mira Okafur"
    assert "changed by the client's list: role soloist → lead" in lines
    assert any(
        line.startswith("new on the client's list, the correction by hand stays:") and "Mira Okafir" in line
        for line in lines
    )
    assert lines.index("no longer on the client's list") < lines.index("back on the client's list")


def test_frames_that_hands_decided_about(choirs: Shoot, shot: Shot) -> None:
    shot({1: 3, 2: 1})
    now = choirs.now()
    with choirs.writing() as session:
        for frame in (1, 2, 3):
            add_event(session, EventKind.GIVEN, now, frame_id=frame, person_id=1)
        add_event(session, EventKind.SET_ASIDE, now + timedelta(seconds=5), frame_id=2)
        add_event(session, EventKind.GIVEN, now + timedelta(seconds=9), frame_id=3, person_id=2)
        add_event(session, EventKind.SPLIT, now + timedelta(seconds=20), frame_id=1)
    assert told(choirs, 1)[1:] == [
        "3 frames, A:0001 to A:0003, given to them by hand",
        "frame A:0002 set aside by hand",
        "frame A:0003 given to Tomas Brandl by hand",
        "a run split by hand at frame A:0001",
    ]
    assert "frame A:0003 given to them by hand" in told(choirs, 2)


def test_a_walk_in(choirs: Shoot) -> None:
    assert told(choirs, add_walk_in(choirs, "Leo", "Haas").person.id) == ["arrived as a walk-in, number 1"]


def test_hostile_names_stay_on_one_line(choirs: Shoot) -> None:
    correct_person(choirs, 1, {"name": "[bold]Bo\nLee\x1b[31m"})
    assert all(line.isprintable() for line in told(choirs, 1))
    assert "[bold]Bo\\nLee\\x1b[31m" in told(choirs, 1)[1]


def test_nobody_has_no_history(choirs: Shoot) -> None:
    with pytest.raises(Problem, match="not in this shoot"):
        history(choirs, 999)


def test_what_became_of_the_pictures_after_the_shoot(choirs: Shoot, shot: Shot) -> None:
    shot({1: 3, 2: 1})
    at = iter(choirs.now() + timedelta(minutes=minute) for minute in range(20))

    def now(kind: EventKind, *frames: int, **details: object) -> None:
        moment = next(at)
        with choirs.writing() as session:
            for frame in frames or (None,):
                add_event(session, kind, moment, person_id=1, frame_id=frame, **details)

    now(EventKind.PROOFED, frames=[1, 2, 3], page="k3.html")
    now(EventKind.REMINDED, of="picks")
    now(
        EventKind.PICKED,
        frames=[1, 3],
        notes={"3": "stray hair"},
        note="soft\nlight",
        **{"from": "pick code"},
    )
    now(EventKind.SENT, 1, 3, batch="B1", version=1)
    now(EventKind.RECEIVED, 1, batch="B1", version=1)
    now(EventKind.SENT_BACK, 3, batch="B1", version=1, reason="too smooth")
    now(EventKind.SENT, 3, batch="B2", version=2)
    now(EventKind.DELIVERED, 1, delivery=1, set="client")
    now(EventKind.PICKED, frames=[])
    assert told(choirs, 1)[1:] == [
        "proofs made of 3 frames",
        "reminder written of picks",
        "picked 2 frames, from pick code; note: soft\\nlight; stray hair",
        "2 frames, A:0001 to A:0003, sent to retouch in batch B1",
        "frame A:0001 back from retouch in batch B1",
        "frame A:0003 to be retouched again: too smooth",
        "frame A:0003 sent to retouch in batch B2, version 2",
        "frame A:0001 delivered, delivery 1, set client",
        "picks taken back",
    ]


def test_every_kind_of_event_can_be_told(choirs: Shoot, shot: Shot) -> None:
    shot({1: 1})
    before = len(told(choirs, 1))
    kinds = [kind for kind in EventKind if kind is not EventKind.INGESTED]  # of no person
    with choirs.writing() as session:
        for kind in kinds:
            details = {"undoes": []} if kind is EventKind.UNDONE else {}
            add_event(session, kind, choirs.now(), person_id=1, frame_id=1, **details)
    assert len(told(choirs, 1)) == before + len(kinds)
