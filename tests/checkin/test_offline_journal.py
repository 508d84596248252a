"""Stations without their server lose no arrival and give no number twice, however the network behaves."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import event
from sqlmodel import select

from onsite.checkin import offline_journal
from onsite.checkin.check_in import check_in_person, undo_arrival_of
from onsite.checkin.deck_cards import make_deck
from onsite.checkin.offline_journal import NUMBERS, OfflineJournal, reserve_offline_journal
from onsite.checkin.station_door import StationDoor, record_journal, recorded_text
from onsite.checkin.waiting_people import OFFLINE_NUMBERS
from onsite.checkin.walk_ins_and_corrections import add_walk_in, walk_in_fields
from onsite.core.codes import new_code
from onsite.core.errors import Problem
from onsite.roster.find_people import RosterPerson
from onsite.roster.read_people import read_people
from onsite.store.events import EventKind, read_events
from onsite.store.join_store import join_store
from onsite.store.schema import Person, SequenceNumber
from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot, open_shoot
from tests.store.server import new_database
from tests.store.server import server_url as server_url

AT = datetime(2026, 6, 13, 9, 0, tzinfo=UTC)
PEOPLE = 6


def add_people(shoot: Shoot) -> dict[int, RosterPerson]:
    with shoot.writing() as session:
        for number in range(1, PEOPLE + 1):
            session.add(Person(id=number, key=f"C-{number}", name=f"Singer {number}", code=f"code {number}"))
    with shoot.reading() as session:
        return {person.id: person for person in read_people(session)}


@pytest.fixture
def shoot(tmp_path: Path) -> Iterator[Shoot]:
    made = create_shoot(tmp_path / "shoot", Settings("Festival", date="2026-06-13"), "AAAA")
    yield made
    made.engine.dispose()


@pytest.fixture
def people(shoot: Shoot) -> dict[int, RosterPerson]:
    return add_people(shoot)


@pytest.fixture
def journal(shoot: Shoot) -> OfflineJournal:
    return journal_in(shoot.folder, OFFLINE_NUMBERS)


def journal_in(folder: Path, first: int) -> OfflineJournal:
    journal = OfflineJournal(folder, first)
    journal.resume_numbers(0)
    return journal


def arrived(shoot: Shoot) -> dict[int, int]:
    """Person -> the number with which they are here."""
    with shoot.reading() as session:
        numbers = {row.person_id: row.number for row in session.exec(select(SequenceNumber))}
        events = read_events(session, [EventKind.ARRIVED])
    assert len({event.person_id for event in events}) == len(events)
    return {event.person_id or 0: numbers[event.person_id or 0] for event in events}


def test_who_arrived_meanwhile_is_here_when_the_server_is_back(
    shoot: Shoot, people: dict[int, RosterPerson], journal: OfflineJournal
) -> None:
    check_in_person(shoot, 1, "door-1", at=AT)
    kept = journal.arrive(people[2], AT, "door-1", None)
    assert (kept.sequence, kept.is_offline) == (OFFLINE_NUMBERS, True)
    assert journal.arrive(people[2], AT + timedelta(minutes=1), "door-1", None).is_repeated
    journal.slate_shown(2, AT, "set-A")
    done = record_journal(journal, shoot)
    assert (done.recorded, done.renumbered, journal.acts()) == (2, [], [])
    assert arrived(shoot) == {1: 1, 2: OFFLINE_NUMBERS}
    assert check_in_person(shoot, 3, "door-1", at=AT).sequence == 2  # numbers go on where they were


def test_who_had_a_number_from_elsewhere_keeps_it_and_that_is_told(
    shoot: Shoot, people: dict[int, RosterPerson], journal: OfflineJournal
) -> None:
    journal.arrive(people[2], AT, "door-2", None)
    check_in_person(shoot, 2, "door-1", at=AT)
    assert record_journal(journal, shoot).renumbered == [("Singer 2", OFFLINE_NUMBERS, 1)]
    assert arrived(shoot) == {2: 1}


def test_a_deck_card_goes_along_and_an_unknown_one_is_told(
    shoot: Shoot, people: dict[int, RosterPerson], journal: OfflineJournal
) -> None:
    make_deck(shoot, 1)
    journal.arrive(people[1], AT, "door-1", 1)
    journal.arrive(people[2], AT, "door-1", 99)
    done = record_journal(journal, shoot)
    assert len(done.refused) == 1
    assert "99" in done.refused[0]
    assert sorted(arrived(shoot)) == [1, 2]
    with shoot.reading() as session:
        assert [event.person_id for event in read_events(session, [EventKind.CARD_TIED])] == [1]


def test_killed_right_after_the_commit_nothing_is_recorded_twice(
    shoot: Shoot, people: dict[int, RosterPerson], journal: OfflineJournal, monkeypatch: pytest.MonkeyPatch
) -> None:
    journal.arrive(people[1], AT, "door-1", None)
    journal.slate_shown(1, AT, "door-1")
    with monkeypatch.context() as patched:
        patched.setattr(Path, "unlink", lambda *_: (_ for _ in ()).throw(KeyboardInterrupt))
        with pytest.raises(KeyboardInterrupt):
            record_journal(journal, shoot)
    undo_arrival_of(shoot, 1, "door-2")  # and what was decided since stands
    assert record_journal(journal, shoot).recorded == 0
    assert arrived(shoot) == {}
    with shoot.reading() as session:
        assert len(read_events(session, [EventKind.SLATE_SHOWN])) == 1


def test_a_line_cut_short_was_never_confirmed(
    shoot: Shoot, people: dict[int, RosterPerson], journal: OfflineJournal
) -> None:
    journal.arrive(people[1], AT, "door-1", None)
    path = shoot.folder / "private" / "offline.jsonl"
    path.write_text(path.read_text() + '{"kind": "arrived", "per')
    assert record_journal(journal, shoot).recorded == 1


def test_a_line_cut_short_does_not_take_the_next_act_with_it(
    shoot: Shoot, people: dict[int, RosterPerson], journal: OfflineJournal
) -> None:
    journal.arrive(people[1], AT, "door-1", None)
    path = shoot.folder / "private" / "offline.jsonl"
    path.write_text(path.read_text() + '{"kind": "arrived", "per')
    journal.arrive(people[2], AT, "door-1", None)
    assert record_journal(journal, shoot).recorded == 2
    assert sorted(arrived(shoot)) == [1, 2]


def walk_in_of(
    journal: OfflineJournal, name: str, code: str, at: datetime = AT, consent: str = "yes"
) -> RosterPerson:
    fields = walk_in_fields({"given": name, "family": "", "group": "", "email": "", "consent": consent})
    return journal.walk_in(fields, code, at, "door-1", None).person


def test_a_walk_in_is_on_the_list_with_code_number_and_slate_when_the_server_is_back(
    shoot: Shoot, journal: OfflineJournal
) -> None:
    nora = walk_in_of(journal, "Nora", "NXAAAA34ACD9")
    journal.slate_shown(nora.id, AT, "set-A")
    assert journal.arrive(nora, AT, "door-1", None).is_repeated
    assert record_journal(journal, shoot).recorded == 2
    with shoot.reading() as session:
        (there,) = [person for person in read_people(session) if person.name == "Nora"]
        shown = read_events(session, [EventKind.SLATE_SHOWN])
    assert (there.code, there.sequence, there.key) == (nora.code, OFFLINE_NUMBERS, nora.key)
    assert [event.person_id for event in shown] == [there.id]


def test_a_walk_in_is_not_recorded_twice_and_takes_nobodys_code(
    shoot: Shoot, journal: OfflineJournal, monkeypatch: pytest.MonkeyPatch
) -> None:
    code = new_code("AAAA", ())
    walk_in_of(journal, "Nora", code)
    walk_in_of(journal, "Olga", code, AT + timedelta(minutes=1))
    with monkeypatch.context() as patched:
        patched.setattr(Path, "unlink", lambda *_: (_ for _ in ()).throw(KeyboardInterrupt))
        with pytest.raises(KeyboardInterrupt):
            record_journal(journal, shoot)
    with shoot.reading() as session:
        before = {person.name: person for person in read_people(session)}
    assert before["Nora"].code == code != before["Olga"].code
    assert before["Nora"].sequence != before["Olga"].sequence
    record_journal(journal, shoot)
    with shoot.reading() as session:
        assert {person.name: person for person in read_people(session)} == before


def test_who_was_removed_meanwhile_stays_away_and_holds_nobody_up(
    shoot: Shoot, people: dict[int, RosterPerson], journal: OfflineJournal
) -> None:
    there = add_walk_in(shoot, "Pia", "", at=AT).person
    journal.arrive(there, AT + timedelta(minutes=1), "door-1", None)
    journal.arrive(people[1], AT, "door-1", None)
    undo_arrival_of(shoot, there.id, "door-2")
    done = record_journal(journal, shoot)
    assert (done.recorded, len(done.refused)) == (1, 1)
    assert sorted(arrived(shoot)) == [1]


def test_numbers_are_never_used_again_and_end(
    shoot: Shoot, people: dict[int, RosterPerson], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(offline_journal, "NUMBERS", 2)
    journal = journal_in(shoot.folder, OFFLINE_NUMBERS)
    journal.arrive(people[1], AT, "door-1", None)
    record_journal(journal, shoot)
    again = OfflineJournal(shoot.folder, OFFLINE_NUMBERS)
    assert again.arrive(people[2], AT, "door-1", None).sequence == OFFLINE_NUMBERS + 1
    with pytest.raises(Problem, match="has given all numbers"):
        again.arrive(people[3], AT, "door-1", None)


def test_numbers_go_on_where_the_last_one_is_lost(
    shoot: Shoot, people: dict[int, RosterPerson], journal: OfflineJournal
) -> None:
    for person in (1, 2):
        journal.arrive(people[person], AT, "door-1", None)
    (shoot.folder / "private" / "offline.last").write_text("")
    assert journal.arrive(people[3], AT, "door-1", None).sequence == OFFLINE_NUMBERS + 2
    record_journal(journal, shoot)
    (shoot.folder / "private" / "offline.last").unlink()
    with pytest.raises(Problem, match="no longer knows which numbers"):
        journal.arrive(people[4], AT, "door-1", None)
    journal.resume_numbers(OFFLINE_NUMBERS + 2)
    assert journal.arrive(people[4], AT, "door-1", None).sequence == OFFLINE_NUMBERS + 3


def test_a_disk_that_fails_is_told_and_keeps_the_last_number(
    shoot: Shoot, people: dict[int, RosterPerson], journal: OfflineJournal, monkeypatch: pytest.MonkeyPatch
) -> None:
    journal.arrive(people[1], AT, "door-1", None)

    def fails(*_: object) -> None:
        raise OSError("no space left")

    with monkeypatch.context() as patched:
        patched.setattr("os.fsync", fails)
        with pytest.raises(Problem, match="no space left"):
            journal.arrive(people[2], AT, "door-1", None)
    path = shoot.folder / "private" / "offline.jsonl"
    path.write_text(path.read_text() + "{")
    with monkeypatch.context() as patched:
        patched.setattr("os.truncate", fails)
        with pytest.raises(Problem, match="no space left"):
            journal.slate_shown(1, AT, "door-1")
    assert journal.arrive(people[2], AT, "door-1", None).sequence == OFFLINE_NUMBERS + 1


def test_numbers_are_promised_only_once_the_store_has_them(shoot: Shoot) -> None:
    on_server = replace(shoot, settings=replace(shoot.settings, store="postgresql://"))

    def fails(_: object) -> None:
        raise Problem("cannot be committed")

    event.listen(shoot.engine, "commit", fails)
    with pytest.raises(Problem, match="cannot be committed"):
        reserve_offline_journal(on_server)
    assert offline_journal.journal_of(shoot.folder) is None
    event.remove(shoot.engine, "commit", fails)
    assert reserve_offline_journal(on_server) is not None
    assert offline_journal.journal_of(shoot.folder) is not None


def test_a_number_that_somebody_else_has_makes_nobody_them(shoot: Shoot, journal: OfflineJournal) -> None:
    walk_in_of(journal, "Nora", new_code("AAAA", ()))
    record_journal(journal, shoot)
    (shoot.folder / "private" / "offline.last").write_text(str(OFFLINE_NUMBERS - 1))
    walk_in_of(journal, "Olga", new_code("AAAA", ()), AT + timedelta(minutes=1))
    assert record_journal(journal, shoot).renumbered == [("Olga", OFFLINE_NUMBERS, 1)]
    with shoot.reading() as session:
        there = {person.name: person.sequence for person in read_people(session)}
    assert there == {"Nora": OFFLINE_NUMBERS, "Olga": 1}


def test_a_walk_in_whom_the_server_added_without_an_answer_is_not_added_again(
    shoot: Shoot, journal: OfflineJournal
) -> None:
    added = add_walk_in(shoot, "Nora", "", at=AT, station="door-1", consent="yes").person
    add_walk_in(shoot, "Olga", "", at=AT, station="door-2")
    later = AT + timedelta(seconds=6)
    for name in ("Nora", "Nora", "Olga"):  # two people called Nora, and Olga from another station
        walk_in_of(journal, name, new_code("AAAA", ()), later)
    walk_in_of(journal, "Nora", new_code("AAAA", ()), AT + timedelta(minutes=1))
    assert record_journal(journal, shoot).renumbered == [("Nora", OFFLINE_NUMBERS, 1)]
    with shoot.reading() as session:
        names = [person.name for person in read_people(session)]
    assert (names.count("Nora"), names.count("Olga"), len(names)) == (3, 2, 5)
    assert arrived(shoot)[added.id] == 1


def test_a_refusal_is_never_taken_for_a_namesake_who_said_yes(shoot: Shoot, journal: OfflineJournal) -> None:
    add_walk_in(shoot, "Nora", "", at=AT, station="door-1", consent="yes")
    walk_in_of(journal, "Nora", new_code("AAAA", ()), AT + timedelta(seconds=6), consent="no")
    record_journal(journal, shoot)
    with shoot.reading() as session:
        said = [person.publication.allowed for person in read_people(session)]
    assert said == [True, False]


def test_a_walk_in_of_an_earlier_journal_is_found_by_number(shoot: Shoot, journal: OfflineJournal) -> None:
    nora = walk_in_of(journal, "Nora", new_code("AAAA", ()))
    record_journal(journal, shoot)
    for person in (nora.id, nora.id - 1):
        journal.slate_shown(person, AT, "set-A")
    done = record_journal(journal, shoot)
    assert (done.recorded, done.refused) == (1, ["Somebody whose slate was shown has been removed since."])
    assert recorded_text(done) == (
        "The server is back. 1 check-in or slate from that time is saved."
        " Somebody whose slate was shown has been removed since."
    )


def test_who_is_kept_as_arrived(
    shoot: Shoot, people: dict[int, RosterPerson], journal: OfflineJournal
) -> None:
    journal.arrive(people[1], AT, "door-1", None)
    journal.arrive(people[1], AT + timedelta(minutes=1), "door-1", 7)
    nora = walk_in_of(journal, "Nora", new_code("AAAA", ()))
    journal.slate_shown(people[2].id, AT, "set-A")
    ida, walked_in = journal.arrivals(people.values())
    assert (ida.person.id, ida.sequence, ida.at, ida.is_offline) == (1, OFFLINE_NUMBERS, AT, True)
    assert (walked_in.person, walked_in.at, walked_in.station) == (nora, AT, "door-1")
    assert StationDoor(shoot).kept_arrivals(people.values()) == []  # on no server


FIELDS = {"name": "Nora", "given": "Nora", "family": "", "group": "", "email": "", "consent": ""}
ACTS = st.tuples(
    st.integers(0, 2),
    st.sampled_from(["online", "offline", "walk-in", "record", "reopen", "lose", "undo"]),
    st.integers(1, PEOPLE),
)


@settings(max_examples=15)
@given(acts=st.lists(ACTS, max_size=30))
def test_however_the_network_comes_and_goes(acts: list[tuple[int, str, int]]) -> None:
    """Three stations, each with what it knew of people when it lost the server; files of numbers get lost."""
    with TemporaryDirectory() as folder:
        shoot = create_shoot(Path(folder) / "shoot", Settings("Festival"), "AAAA")
        people = add_people(shoot)
        stations = [
            replace(shoot, folder=Path(folder) / f"{one}", settings=replace(shoot.settings, store="server"))
            for one in range(3)
        ]
        for one in stations:
            one.folder.mkdir()
        journals = [reserve_offline_journal(one) for one in stations]
        told: dict[int, set[int]] = {}  # number -> to whom it was given, by whichever station
        confirmed, undone = set(), set()
        walked_in: set[int] = set()
        for minute, (station, what, person) in enumerate(acts):
            at, name, journal = AT + timedelta(minutes=minute), f"door-{station}", journals[station]
            assert journal is not None
            if what == "online":
                told.setdefault(check_in_person(shoot, person, name, at=at).sequence, set()).add(person)
                confirmed.add(person)
            elif what == "offline":
                with suppress(Problem):  # it no longer knows its numbers
                    kept = journal.arrive(replace(people[person], sequence=None), at, name, None)
                    told.setdefault(kept.sequence, set()).add(person)
                    confirmed.add(person)
            elif what == "walk-in":
                with suppress(Problem):
                    kept = journal.walk_in(FIELDS, f"code {minute} {station}", at, name, None)
                    told.setdefault(kept.sequence, set()).add(-minute - 1)
                    walked_in.add(kept.sequence)
            elif what == "record":
                record_journal(journal, shoot)
            elif what == "reopen":
                journals[station] = reserve_offline_journal(stations[station])
            elif what == "lose":
                lost = "station-mark" if person == PEOPLE else "offline.last"
                (stations[station].folder / "private" / lost).unlink(missing_ok=True)
            elif person in arrived(shoot):
                undo_arrival_of(shoot, person, name)
                undone.add(person)
        for journal in filter(None, journals):
            record_journal(journal, shoot)
        shoot_now = arrived(shoot)
        assert {number for person, number in shoot_now.items() if person > PEOPLE} == walked_in
        assert confirmed - undone <= {person for person in shoot_now if person <= PEOPLE} <= confirmed
        assert len(set(shoot_now.values())) == len(shoot_now)
        assert all(len(whose) == 1 for whose in told.values())
        shoot.engine.dispose()


@pytest.fixture
def stations(server_url: str, tmp_path: Path) -> Iterator[list[Shoot]]:
    url = new_database(server_url, "offline")
    shoots = [create_shoot(tmp_path / "one", Settings("Festival", store=url), "AAAA")]
    join_store(url, tmp_path / "two")
    shoots.append(open_shoot(tmp_path / "two"))
    yield shoots
    for shoot in shoots:
        shoot.engine.dispose()


@pytest.mark.long
def test_each_folder_of_a_shoot_on_a_server_has_numbers_of_its_own(
    shoot: Shoot, stations: list[Shoot]
) -> None:
    person = add_people(stations[0])[1]
    first, second = map(reserve_offline_journal, stations)
    again = reserve_offline_journal(stations[0])
    assert first is not None
    assert second is not None
    assert again is not None
    assert first.arrive(person, AT, "door-1", None).sequence == OFFLINE_NUMBERS
    assert second.arrive(person, AT, "door-1", None).sequence == OFFLINE_NUMBERS + NUMBERS
    assert again.arrive(person, AT, "door-1", None).is_repeated
    assert reserve_offline_journal(shoot) is None
