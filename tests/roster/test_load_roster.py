"""A list into the store, and newer versions of it."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlmodel import select

from onsite.checkin.check_in import check_in
from onsite.checkin.deck_cards import make_deck
from onsite.checkin.walk_ins_and_corrections import add_walk_in
from onsite.core.codes import parse_slate_code
from onsite.core.errors import Problem
from onsite.roster.load_roster import LoadedList, load_list
from onsite.roster.read_people import read_people
from onsite.store.events import EventKind, newest_event_id, read_events
from onsite.store.schema import DeckCard, Person
from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot

FIRST = """key,given,family,group,email
S-1,Mira,Okafor,Soprano,mira@choir.example
S-2,Tomas,Brandl,Bass,
S-3,Anna,Lindqvist,Alto,
"""


@pytest.fixture
def shoot(tmp_path: Path) -> Iterator[Shoot]:
    opened = create_shoot(tmp_path / "festival", Settings(name="Choirs", timezone="Europe/Vienna"), "AAAA")
    yield opened
    opened.engine.dispose()


@pytest.fixture
def put(shoot: Shoot, tmp_path: Path) -> Callable[..., LoadedList]:
    """Loads a list given as text."""

    def put(text: str, **options: Any) -> LoadedList:
        path = tmp_path / "list.csv"
        path.write_text(text, encoding="utf-8")
        return load_list(shoot, path, **options)

    return put


Put = Callable[..., LoadedList]


def stored(shoot: Shoot) -> dict[str, Person]:
    with shoot.reading() as session:
        rows = {person.name: person for person in session.exec(select(Person))}
        session.expunge_all()
        return rows


def recorded(shoot: Shoot, kind: EventKind) -> list[tuple[int | None, dict[str, Any]]]:
    with shoot.reading() as session:
        return [(event.person_id, event.details) for event in read_events(session, (kind,))]


def test_a_first_list_adds_everybody_with_a_code_of_this_shoot(shoot: Shoot, put: Put) -> None:
    loaded = put(FIRST)
    assert [entry.key for entry in loaded.added] == ["S-1", "S-2", "S-3"]
    rows = stored(shoot)
    assert rows["Mira Okafor"].email == "mira@choir.example"
    codes = [code for person in rows.values() if (code := parse_slate_code(person.code))]
    assert len({code.text for code in codes}) == 3
    assert {code.shoot for code in codes} == {"AAAA"}
    assert len(recorded(shoot, EventKind.LISTED)) == 3


def test_the_same_list_again_changes_nothing(shoot: Shoot, put: Put) -> None:
    put(FIRST)
    with shoot.reading() as session:
        before = newest_event_id(session)
    again = put(FIRST)
    assert (again.added, again.changed, again.withdrawn, again.unchanged) == ((), (), (), 3)
    with shoot.reading() as session:
        assert newest_event_id(session) == before


def test_a_second_version_adds_changes_withdraws_and_restores(shoot: Shoot, put: Put) -> None:
    put(FIRST)
    codes = {name: person.code for name, person in stored(shoot).items()}
    second = put(
        "key,given,family,group,email\nS-1,Mira,Okafor,Alto,mira@choir.example\nS-4,Leo,Haas,Bass,\n"
    )
    assert [entry.key for entry in second.added] == ["S-4"]
    assert [change.fields for change in second.changed] == [(("group", "Soprano", "Alto"),)]
    assert {one.key for one in second.withdrawn} == {"S-2", "S-3"}
    rows = stored(shoot)
    assert recorded(shoot, EventKind.CHANGED) == [(rows["Mira Okafor"].id, {"group": ["Soprano", "Alto"]})]
    with shoot.reading() as session:
        assert {one.key for one in read_people(session) if one.withdrawn} == {"S-2", "S-3"}

    third = put(FIRST.replace("S-2,Tomas,Brandl,Bass", "S-2,Tomas,Brandl,Tenor"))
    assert {(change.entry.key, change.fields) for change in third.restored} == {
        ("S-2", (("group", "Bass", "Tenor"),)),
        ("S-3", ()),
    }
    rows = stored(shoot)
    assert rows["Tomas Brandl"].group == "Tenor"
    assert {name: rows[name].code for name in codes} == codes
    with shoot.reading() as session:
        assert {one.key for one in read_people(session) if one.withdrawn} == {"S-4"}


def test_a_dry_run_tells_the_same_and_writes_nothing(shoot: Shoot, put: Put) -> None:
    put(FIRST)
    with shoot.reading() as session:
        before = newest_event_id(session)
    second = "key,given,family,group\nS-1,Mira,Okafor,Alto\nS-4,Leo,Haas,Bass\n"
    told = put(second, dry_run=True)
    with shoot.reading() as session:
        assert newest_event_id(session) == before
    assert stored(shoot)["Mira Okafor"].group == "Soprano"
    assert put(second) == told


def test_people_without_keys_get_one_that_is_nobody_elses(shoot: Shoot, put: Put) -> None:
    put("key,given,family\n,Mira,Okafor\np2,Tomas,Brandl\nP3,Leo,Haas\n,Anna,Lindqvist\n")
    rows = stored(shoot)
    keys = [person.key.casefold() for person in rows.values()]
    assert len(set(keys)) == 4
    assert {name for name, person in rows.items() if person.own_key} == {"Mira Okafor", "Anna Lindqvist"}


def test_a_clients_key_goes_before_one_made_here(shoot: Shoot, put: Put) -> None:
    put("given,family\nMira,Okafor\nTomas,Brandl\n")
    rows = stored(shoot)
    mira, tomas = rows["Mira Okafor"], rows["Tomas Brandl"]
    loaded = put(
        f"key,given,family\n,Mira,Okafor\n{mira.key},Tomas,Brandl\n{tomas.key},Leo,Haas\nwalkin-1,Ida,Moser\n"
    )
    assert loaded.questions == ()
    after = stored(shoot)
    assert {name: after[name].key for name in ("Tomas Brandl", "Leo Haas")} == {
        "Tomas Brandl": mira.key,
        "Leo Haas": tomas.key,
    }
    assert after["Mira Okafor"].own_key
    assert len({person.key for person in after.values()}) == 4
    assert after["Tomas Brandl"].id == tomas.id


def test_a_walk_in_who_is_on_a_later_list_is_one_person(shoot: Shoot, put: Put) -> None:
    put(FIRST)
    arrived = add_walk_in(shoot, "Leo", "Haas")
    put(FIRST)
    assert not stored(shoot)["Leo Haas"].key.startswith("S-")
    loaded = put(FIRST + "S-9,Leo,Haas,Bass,\n")
    assert loaded.added == ()
    leo = stored(shoot)["Leo Haas"]
    assert (leo.id, leo.key, leo.own_key, leo.code) == (arrived.person.id, "S-9", False, arrived.person.code)


def test_nobody_in_a_question_changes_and_an_answer_settles_it(shoot: Shoot, put: Put) -> None:
    put(FIRST)
    other = FIRST.replace("S-2,Tomas,Brandl,Bass", "S-2,Wilhelmine,Xu,Alto")
    asked = put(other)
    assert [question.row for question in asked.questions] == [3]
    assert "Tomas Brandl" in stored(shoot)
    tomas = stored(shoot)["Tomas Brandl"].id
    put(other, answers={3: tomas})
    assert stored(shoot)["Wilhelmine Xu"].id == tomas


def test_answers_cannot_give_two_people_one_key(shoot: Shoot, put: Put) -> None:
    put(FIRST)
    with pytest.raises(Problem, match="two people"):
        put(FIRST, answers={2: None, 3: stored(shoot)["Mira Okafor"].id})
    assert stored(shoot)["Mira Okafor"].key == "S-1"


def test_keys_can_change_places_by_an_answer(shoot: Shoot, put: Put) -> None:
    put(FIRST)
    rows = stored(shoot)
    swapped = FIRST.replace("S-1,", "S-x,").replace("S-2,", "S-1,").replace("S-x,", "S-2,")
    put(swapped, answers={2: rows["Mira Okafor"].id, 3: rows["Tomas Brandl"].id})
    after = stored(shoot)
    assert (after["Mira Okafor"].key, after["Tomas Brandl"].key) == ("S-2", "S-1")
    assert after["Mira Okafor"].id == rows["Mira Okafor"].id


def test_other_columns_are_kept_whatever_they_are_called(shoot: Shoot, put: Put) -> None:
    head = "key,given,family,station,at,person_id,details,Robe,Robe\n"
    put(head + "S-1,Mira,Okafor,a,b,c,d,red,long\n")
    assert put(head + "S-1,Mira,Okafor,a,b,c,d,red,long\n").unchanged == 1
    put(head + "S-1,Mira,Okafor,A,B,C,D,red,short\n")
    mira = stored(shoot)["Mira Okafor"]
    assert mira.extra == {
        "station": "A", "at": "B", "person_id": "C", "details": "D", "Robe": "red", "Robe (2)": "short",
    }  # fmt: skip
    assert recorded(shoot, EventKind.CHANGED)[0][1] == {
        "station": ["a", "A"], "at": ["b", "B"], "person_id": ["c", "C"], "details": ["d", "D"],
        "Robe (2)": ["long", "short"],
    }  # fmt: skip


@pytest.mark.parametrize(
    "name", ["'; DROP TABLE person; --", "\x1b[31mred", "[bold]x[/]", "👩‍🎤 Ida", "Ida\u202eatI"]
)
def test_hostile_names_are_kept_as_written(shoot: Shoot, put: Put, name: str) -> None:
    put(f'name,group\n"{name}",Alto\nMira Okafor,Bass\n')
    assert set(stored(shoot)) == {name, "Mira Okafor"}


def test_refused_rows_and_the_columns_are_told(shoot: Shoot, put: Put) -> None:
    loaded = put("key,name,group,Robe\nS-1,Mira Okafor,Alto,red\nS-1,Tomas Brandl,Bass,blue\nS-3,,Bass,\n")
    assert [notice.row for notice in loaded.refused] == [3, 4]
    assert loaded.columns == (
        ("A", "key", "key"),
        ("B", "name", "name"),
        ("C", "group", "group"),
        ("D", "Robe", ""),
    )
    assert set(stored(shoot)) == {"Mira Okafor"}


def test_codes_of_people_and_cards_never_meet(shoot: Shoot, put: Put) -> None:
    cards = {card.code for card in make_deck(shoot, 30)}
    put("name\n" + "".join(f"Singer {number}\n" for number in range(100)))
    assert len({person.code for person in stored(shoot).values()} | cards) == 130
    with shoot.reading() as session:
        assert len(session.exec(select(DeckCard)).all()) == 30


def test_of_two_columns_about_consent_the_stricter_counts_and_one_line_tells(shoot: Shoot, put: Put) -> None:
    loaded = put(
        "key,name,Consent,Publish,Do not publish\n"
        "S-1,Mira Okafor,yes,yes,\nS-2,Tomas Brandl,yes,no,\nS-3,Leo Haas,yes,yes,x\nS-4,Ida Moser,,,\n"
    )
    consents = {name: person.consent for name, person in stored(shoot).items()}
    assert consents == {
        "Mira Okafor": "yes", "Tomas Brandl": "no", "Leo Haas": "do not publish", "Ida Moser": "",
    }  # fmt: skip
    assert stored(shoot)["Leo Haas"].extra == {"Consent": "yes", "Publish": "yes", "Do not publish": "x"}
    assert {answer.value: count for answer, count in loaded.consents} == {
        "yes": 1, "no": 2, "unclear": 0, "unknown": 1,
    }  # fmt: skip
    (told,) = [notice.text for notice in loaded.notices if "disagree" in notice.text]
    assert told == "columns about consent disagree; the stricter counts: 2 (rows 3, 4)"


def test_what_an_empty_cell_leaves_as_it_is_known_is_told(shoot: Shoot, put: Put) -> None:
    put(FIRST)
    loaded = put(FIRST.replace("mira@choir.example", ""))
    assert (loaded.changed, loaded.unchanged) == ((), 3)
    assert stored(shoot)["Mira Okafor"].email == "mira@choir.example"
    assert "email is empty in this list and what is known stays: 1 (Mira Okafor)" in [
        notice.text for notice in loaded.notices
    ]


def many(*left_out: int) -> str:
    people = (f"S-{n},Singer {n}\n" for n in range(1, 13) if n not in left_out)
    return "key,name\n" + "".join(people)


def test_a_list_that_withdraws_many_is_refused_unless_that_is_meant(shoot: Shoot, put: Put) -> None:
    put(many())
    assert put(many(1, 2, 3, 4), dry_run=True, withdraw=False).doubt == ""
    half = many(*range(1, 7))
    doubt = put(half, dry_run=True, withdraw=False).doubt
    with pytest.raises(Problem, match="6 of 12 people are not on this list") as refused:
        put(half, withdraw=False)
    assert refused.value.what == doubt
    assert "--withdraw" in refused.value.remedy
    with shoot.reading() as session:
        assert not any(one.withdrawn for one in read_people(session))
    assert len(put(half, withdraw=True).withdrawn) == 6


def test_a_list_that_withdraws_somebody_who_is_here_is_refused(shoot: Shoot, put: Put) -> None:
    put(many())
    check_in(shoot, "S-3")
    with pytest.raises(Problem, match=r"1 of them has arrived \(Singer 3\)"):
        put(many(3, 4), withdraw=False)
    assert len(put(many(4) + "S-20,Singer 20\n", withdraw=False).withdrawn) == 1
