"""Everybody, kept up to date by what has happened since, is everybody read anew."""

import random
import threading
from collections.abc import Callable
from datetime import datetime

import pytest
from sqlmodel import delete

from onsite.checkin.check_in import assign_deck_card, check_in_person, record_slate_shown, undo_arrival_of
from onsite.checkin.deck_cards import make_deck
from onsite.checkin.walk_ins_and_corrections import add_walk_in, confirm_person, correct_person
from onsite.core.errors import Problem
from onsite.status.person_status import Stage
from onsite.status.read_status import read_person_statuses
from onsite.status.status_cache import StatusCache
from onsite.store.events import EventKind, add_event, newest_event_id, read_events
from onsite.store.schema import Meta, VerdictRow
from onsite.store.shoot import Shoot
from tests.status.choirs import ROSTER, Shot, listed
from tests.tiers import long_after

NINE = datetime.fromisoformat("2026-06-13T09:00+02:00")
TEN = datetime.fromisoformat("2026-06-13T10:00+02:00")


@pytest.fixture
def everybody(choirs: Shoot) -> StatusCache:
    known = StatusCache()
    known.catch_up(choirs)
    return known


def same_as_anew(everybody: StatusCache, shoot: Shoot) -> bool:
    anew = StatusCache()
    anew.catch_up(shoot)
    people = sorted(everybody.finder.people, key=lambda one: one.id)
    return (
        dict(everybody.statuses) == dict(anew.statuses)
        and list(everybody.statuses) == list(anew.statuses)
        and everybody.codes == anew.codes
        and everybody.cards == anew.cards
        and (everybody.newest, everybody.matched) == (anew.newest, anew.matched)
        and people == [s.person for s in everybody.statuses.values()]
    )


def test_at_first_everybody_is_read(choirs: Shoot) -> None:
    known = StatusCache()
    assert (known.newest, dict(known.statuses)) == (-1, {})
    assert known.catch_up(choirs) == {1, 2, 3, 4}
    mira = known.statuses[1]
    assert (mira.person.key, mira.stage, mira.arrived, mira.frames) == ("S-1", Stage.EXPECTED, None, 0)
    assert (mira.slot, mira.consent, mira.spoken, mira.role) == ("10:30", "yes", "MEE-ra", "soloist")
    assert known.statuses[2].note == "wheelchair"
    assert known.groups == ("Alto", "Bass", "Soprano", "Tenor")
    assert known.finder.find("okafor")[0].person.id == 1
    assert known.catch_up(choirs) == frozenset()


def test_it_agrees_with_what_the_commands_read(choirs: Shoot, everybody: StatusCache) -> None:
    check_in_person(choirs, 2, "door-1", at=NINE)
    everybody.catch_up(choirs)
    assert read_person_statuses(choirs) == list(everybody.statuses.values())


def test_an_arrival_and_its_undo(choirs: Shoot, everybody: StatusCache) -> None:
    check_in_person(choirs, 2, "door-1", at=NINE)
    assert everybody.catch_up(choirs) == {2}
    here = everybody.statuses[2]
    assert (here.stage, here.arrived, here.station, here.person.sequence) == (
        Stage.ARRIVED,
        NINE,
        "door-1",
        1,
    )
    assert everybody.finder.find("1")[0].person.id == 2
    undo_arrival_of(choirs, 2)
    assert everybody.catch_up(choirs) == {2}
    assert (everybody.statuses[2].stage, everybody.statuses[2].arrived) == (Stage.EXPECTED, None)
    assert same_as_anew(everybody, choirs)


def test_a_card_goes_from_hand_to_hand_and_back(choirs: Shoot, everybody: StatusCache) -> None:
    make_deck(choirs, 2)
    check_in_person(choirs, 1, card=1, at=NINE)
    check_in_person(choirs, 2, at=NINE)
    everybody.catch_up(choirs)
    assert everybody.statuses[1].card == 1
    assign_deck_card(choirs, 2, 1)
    assert everybody.catch_up(choirs) == {1, 2}
    assert (everybody.statuses[1].card, everybody.statuses[2].card) == (None, 1)
    holder = everybody.holder(1)
    assert holder is not None
    assert holder.person.id == 2
    assert everybody.holder(2) is None
    undo_arrival_of(choirs, 2)
    assert everybody.catch_up(choirs) == {1, 2}
    assert everybody.statuses[1].cards == (1,)
    assert same_as_anew(everybody, choirs)


def test_a_deck_made_meanwhile_is_known(choirs: Shoot, everybody: StatusCache) -> None:
    codes = {card.code: card.number for card in make_deck(choirs, 3)}
    check_in_person(choirs, 1)
    everybody.catch_up(choirs)
    assert everybody.cards == codes


def test_a_walk_in_and_a_new_list(choirs: Shoot, everybody: StatusCache) -> None:
    leo = add_walk_in(choirs, "Leo", "Haas").person.id
    assert everybody.catch_up(choirs) == {leo}
    assert everybody.statuses[leo].walk_in
    listed(choirs, ROSTER.replace("Brandl", "Brandtl").replace("S-3,Anna,Lindqvist,Alto,,,,,\n", ""))
    assert everybody.catch_up(choirs) == {2, 3}
    assert everybody.statuses[2].person.name == "Tomas Brandtl"
    assert everybody.statuses[3].person.withdrawn
    assert everybody.finder.find("brandtl")[0].why == "name"
    assert same_as_anew(everybody, choirs)


def test_a_walk_in_taken_back_at_another_station_is_gone(choirs: Shoot, everybody: StatusCache) -> None:
    leo = add_walk_in(choirs, "Leo", "Haas").person.id
    everybody.catch_up(choirs)
    undo_arrival_of(choirs, leo)
    assert leo in everybody.catch_up(choirs)
    assert leo not in everybody.statuses
    assert not [hit for hit in everybody.finder.find("haas") if hit.person.id == leo]
    assert same_as_anew(everybody, choirs)


def test_the_first_yes_on_a_list_changes_who_may_be_published(choirs: Shoot, everybody: StatusCache) -> None:
    listed(choirs, "key,given,family,consent\nN-1,Nia,Vance,yes\nN-2,Ole,Berg,\n")
    everybody.catch_up(choirs)
    assert everybody.asks_consent
    allowed = {s.person.name for s in everybody.statuses.values() if s.publication.allowed}
    assert "Nia Vance" in allowed
    assert "Ole Berg" not in allowed
    assert same_as_anew(everybody, choirs)


def test_a_name_is_confirmed_until_it_is_another(choirs: Shoot, everybody: StatusCache) -> None:
    confirm_person(choirs, 1)
    assert everybody.catch_up(choirs) == {1}
    assert everybody.statuses[1].confirmed
    correct_person(choirs, 1, {"family": "Okafur", "spoken": "mira"})
    everybody.catch_up(choirs)
    assert not everybody.statuses[1].confirmed
    assert everybody.statuses[1].spoken == "mira"
    assert same_as_anew(everybody, choirs)


def test_frames_come_with_a_newer_match_only(choirs: Shoot, everybody: StatusCache, shot: Shot) -> None:
    shot({1: 2, 3: 1})
    assert everybody.catch_up(choirs) == {1, 3}
    mira = everybody.statuses[1]
    assert (mira.stage, mira.frames) == (Stage.PHOTOGRAPHED, 2)
    assert mira.first_frame == datetime.fromisoformat("2026-06-13T11:00+02:00")
    check_in_person(choirs, 1)  # an event that is not matched yet leaves the frames as they are
    assert everybody.catch_up(choirs) == {1}
    assert everybody.statuses[1].frames == 2
    shot({3: 3})
    assert everybody.catch_up(choirs) == {1, 3}
    assert (everybody.statuses[1].stage, everybody.statuses[3].frames) == (Stage.ARRIVED, 3)
    assert same_as_anew(everybody, choirs)


def test_while_a_match_is_being_kept_the_frames_stay(
    choirs: Shoot, everybody: StatusCache, shot: Shot
) -> None:
    shot({1: 2})
    everybody.catch_up(choirs)
    with choirs.writing() as session:
        session.execute(delete(VerdictRow))
        session.merge(Meta(key="matched_event", value="-7"))
    check_in_person(choirs, 2)
    assert everybody.catch_up(choirs) == {2}
    assert everybody.statuses[1].frames == 2


def test_a_slate_shown(choirs: Shoot, everybody: StatusCache) -> None:
    record_slate_shown(choirs, 1, "set-A", TEN)
    record_slate_shown(choirs, 1, "set-A", NINE)  # noted later, shown earlier
    assert everybody.catch_up(choirs) == {1}
    assert everybody.statuses[1].shown == TEN


def test_an_arrival_typed_in_later_with_an_earlier_time(choirs: Shoot, everybody: StatusCache) -> None:
    check_in_person(choirs, 1, at=TEN)
    everybody.catch_up(choirs)
    check_in_person(choirs, 2, at=NINE)
    assert everybody.catch_up(choirs) == {2}
    assert [s.person.id for s in everybody.latest(5)] == [2, 1]


def test_an_undo_that_is_undone(choirs: Shoot, everybody: StatusCache) -> None:
    check_in_person(choirs, 1, at=NINE)
    undo_arrival_of(choirs, 1)
    everybody.catch_up(choirs)
    with choirs.writing() as session:
        (undo,) = read_events(session, (EventKind.UNDONE,))
        add_event(session, EventKind.UNDONE, TEN, undoes=[undo.id])
    assert everybody.catch_up(choirs) == {1}
    assert everybody.statuses[1].arrived == NINE


def test_events_that_concern_nobody_change_nobody(choirs: Shoot, everybody: StatusCache) -> None:
    with choirs.writing() as session:
        add_event(session, EventKind.INGESTED, TEN, frames=3)
    assert everybody.catch_up(choirs) == frozenset()
    with choirs.reading() as session:
        assert everybody.newest == newest_event_id(session)


@pytest.mark.long
def test_after_very_much_everybody_is_read_again(choirs: Shoot, everybody: StatusCache) -> None:
    listed(choirs, ROSTER + "".join(f"N-{number},Singer,{number},Alto,,,,,\n" for number in range(300)))
    assert len(everybody.catch_up(choirs)) == 300
    assert same_as_anew(everybody, choirs)


def test_an_arrival_written_here_shows_before_it_is_read_back(choirs: Shoot, everybody: StatusCache) -> None:
    make_deck(choirs, 1)
    everybody.arrived(check_in_person(choirs, 3, "door-1", card=1, at=NINE))
    shown = everybody.statuses[3]
    assert (shown.stage, shown.arrived, shown.card, shown.person.sequence) == (Stage.ARRIVED, NINE, 1, 1)
    assert everybody.finder.find("1")[0].person.id == 3
    leo = add_walk_in(choirs, "Leo", "Haas")
    everybody.arrived(leo)
    assert everybody.codes[leo.person.code] == leo.person.id
    everybody.catch_up(choirs)
    assert same_as_anew(everybody, choirs)


@pytest.mark.parametrize("seed", long_after(2, range(6)))
def test_after_any_day_it_is_what_is_read_anew(choirs: Shoot, shot: Shot, seed: int) -> None:
    make_deck(choirs, 3)
    rng = random.Random(seed)
    everybody = StatusCache()
    acts: list[Callable[[int], object]] = [
        lambda person: check_in_person(choirs, person, card=rng.choice([None, 1, 2])),
        lambda person: check_in_person(choirs, person, at=rng.choice([NINE, TEN])),
        lambda person: undo_arrival_of(choirs, person),
        lambda person: assign_deck_card(choirs, person, rng.randint(1, 3), at=rng.choice([None, NINE])),
        lambda person: record_slate_shown(choirs, person),
        lambda person: confirm_person(choirs, person),
        lambda person: correct_person(choirs, person, {"note": str(rng.random()), "group": rng.choice("AB")}),
        lambda person: shot({person: rng.randint(1, 3)}),
        lambda _: add_walk_in(choirs, "Guest", str(rng.random())),
        lambda _: listed(choirs, ROSTER if rng.random() < 0.5 else ROSTER.replace("Okafor", "Okafir")),
    ]
    for _ in range(40):
        try:
            rng.choice(acts)(rng.randint(1, 4))
        except Problem:
            continue
        if rng.random() < 0.5:
            everybody.catch_up(choirs)
    everybody.catch_up(choirs)
    assert same_as_anew(everybody, choirs)


@pytest.mark.long
def test_it_can_be_looked_at_while_another_thread_catches_up(choirs: Shoot, everybody: StatusCache) -> None:
    done = threading.Event()

    def happen() -> None:
        for number in range(25):
            add_walk_in(choirs, "Guest", str(number))
            everybody.catch_up(choirs)
        done.set()

    worker = threading.Thread(target=happen)
    worker.start()
    while not done.is_set():
        everybody.finder.find("guest 1")
        people = everybody.statuses
        assert sum(1 for _ in people.values()) == len(people)
    worker.join()
    assert same_as_anew(everybody, choirs)


def test_what_becomes_of_somebodys_pictures_moves_them_alone(
    choirs: Shoot, everybody: StatusCache, shot: Shot
) -> None:
    shot({1: 2, 2: 1})
    everybody.catch_up(choirs)

    def happens(kind: EventKind, frame: int | None = None, **details: object) -> Stage:
        with choirs.writing() as session:
            add_event(session, kind, TEN, person_id=1, frame_id=frame, **details)
        assert everybody.catch_up(choirs) == {1}
        assert same_as_anew(everybody, choirs)
        return everybody.statuses[1].stage

    assert happens(EventKind.PROOFED, frames=[1, 2], page="k3.html") is Stage.PROOFED
    assert happens(EventKind.PICKED, frames=[2]) is Stage.PICKED
    assert happens(EventKind.SENT, 2, batch="B1", version=1) is Stage.AT_RETOUCH
    assert happens(EventKind.RECEIVED, 2, batch="B1", version=1) is Stage.RETOUCHED
    assert happens(EventKind.DELIVERED, 2, delivery=1) is Stage.DELIVERED
    assert everybody.statuses[2].stage is Stage.PHOTOGRAPHED
    with choirs.writing() as session:
        last = read_events(session, (EventKind.DELIVERED,))[0].id
        add_event(session, EventKind.UNDONE, TEN, undoes=[last])
    assert everybody.catch_up(choirs) == {1}
    assert everybody.statuses[1].stage is Stage.RETOUCHED
