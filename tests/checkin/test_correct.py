"""A name confirmed or put right at the door, and the client's next list."""

from collections.abc import Callable
from pathlib import Path

import pytest
from sqlmodel import select

from onsite.checkin.walk_ins_and_corrections import confirm_person, correct_person
from onsite.core.errors import Problem
from onsite.roster.load_roster import LoadedList, load_list
from onsite.roster.read_people import read_people
from onsite.store.events import EventKind, newest_event_id, read_events
from onsite.store.schema import Person
from onsite.store.shoot import Shoot

LIST = "key,given,family,group\nS-1,Mira,Okafor,Soprano\nJ-2,Jon,Smyth,Bass\n"
KEYLESS = "name,group\nMira Okafor,Soprano\nJon Smyth,Bass\n"

Put = Callable[[str], LoadedList]


@pytest.fixture
def put(shoot: Shoot, tmp_path: Path) -> Put:
    """Loads a list given as text."""

    def put(text: str) -> LoadedList:
        path = tmp_path / "list.csv"
        path.write_text(text, encoding="utf-8")
        return load_list(shoot, path)

    return put


def person(shoot: Shoot, name: str) -> Person:
    with shoot.reading() as session:
        row = session.exec(select(Person).where(Person.name == name)).one()
        session.expunge(row)
        return row


def number(shoot: Shoot, name: str) -> int:
    found = person(shoot, name).id
    assert found is not None
    return found


def newest(shoot: Shoot) -> int:
    with shoot.reading() as session:
        return newest_event_id(session)


def names(shoot: Shoot) -> dict[str, bool]:
    """Name -> whether withdrawn, of the two who matter here."""
    with shoot.reading() as session:
        return {
            one.name: one.withdrawn
            for one in read_people(session)
            if one.family in ("Smyth", "Smith", "Smythe")
        }


@pytest.mark.parametrize(
    ("changes", "now"),
    [
        ({"name": "John Smith"}, ("John Smith", "John", "Smith")),
        ({"family": "Smith"}, ("Jon Smith", "Jon", "Smith")),
        ({"given": "John", "family": "van der Smith"}, ("John van der Smith", "John", "van der Smith")),
        ({"name": "Jon Paul Smyth"}, ("Jon Paul Smyth", "Jon", "Paul Smyth")),
        ({"name": "Smith, John"}, ("John Smith", "John", "Smith")),
        ({"given": ""}, ("Smyth", "", "Smyth")),
        ({"name": "John Smith", "given": "John", "family": "Smith"}, ("John Smith", "John", "Smith")),
    ],
)
def test_a_name_and_its_parts_agree(
    shoot: Shoot, put: Put, changes: dict[str, str], now: tuple[str, str, str]
) -> None:
    put(LIST)
    someone = correct_person(shoot, number(shoot, "Jon Smyth"), changes, "door-1")
    assert (someone.name, someone.given, someone.family) == now
    row = person(shoot, someone.name)
    assert (row.name, row.given, row.family) == now


def test_the_record_has_old_and_new_and_whose_word_it_is(shoot: Shoot, put: Put) -> None:
    put(LIST)
    someone = number(shoot, "Jon Smyth")
    correct_person(shoot, someone, {"spoken": "Smaith", "note": "tall", "group": "Bass"}, "door-1")
    with shoot.reading() as session:
        (event,) = read_events(session, (EventKind.CHANGED,), person_id=someone)
    assert event.details == {"spoken": ["", "Smaith"], "note": ["", "tall"], "by": "hand"}
    assert event.station == "door-1"


def test_what_is_as_before_changes_nothing(shoot: Shoot, put: Put) -> None:
    put(LIST)
    before = newest(shoot)
    assert (
        correct_person(shoot, number(shoot, "Jon Smyth"), {"name": " Jon Smyth ", "group": "Bass"}).name
        == "Jon Smyth"
    )
    assert newest(shoot) == before


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"key": "S-9"}, "cannot be corrected"),
        ({"name": " "}, "needs a name"),
        ({"given": "", "family": "\u200b"}, "needs a name"),
        ({"note": "a\0b"}, "not text"),
    ],
)
def test_what_cannot_be_right_is_refused(shoot: Shoot, put: Put, changes: dict[str, str], told: str) -> None:
    put(LIST)
    before = newest(shoot)
    with pytest.raises(Problem, match=told):
        correct_person(shoot, number(shoot, "Jon Smyth"), changes)
    assert newest(shoot) == before


def test_nobody_cannot_be_corrected_or_confirmed(shoot: Shoot) -> None:
    for ask in (lambda: correct_person(shoot, 999, {"note": "x"}), lambda: confirm_person(shoot, 999)):
        with pytest.raises(Problem, match="not in this shoot"):
            ask()


@pytest.mark.parametrize("name", ["[bold]Bo\x1b[31m", "Leo\nHaas", "'); DROP TABLE person; --"])
def test_hostile_texts_are_kept_as_written(shoot: Shoot, put: Put, name: str) -> None:
    put(LIST)
    assert correct_person(shoot, number(shoot, "Jon Smyth"), {"name": name}).name == name


@pytest.mark.parametrize("text", [LIST, KEYLESS])
def test_the_same_list_again_changes_nothing(shoot: Shoot, put: Put, text: str) -> None:
    put(text)
    correct_person(shoot, number(shoot, "Jon Smyth"), {"name": "Johanna Smith", "consent": "no"})
    before = newest(shoot)
    again = put(text)
    assert (again.added, again.changed, again.withdrawn, again.questions) == ((), (), (), ())
    assert newest(shoot) == before
    assert names(shoot) == {"Johanna Smith": False}


@pytest.mark.parametrize("text", [LIST, KEYLESS])
def test_a_list_that_has_taken_the_correction_over_changes_nothing(shoot: Shoot, put: Put, text: str) -> None:
    put(text)
    someone = number(shoot, "Jon Smyth")
    correct_person(shoot, someone, {"name": "Johanna Smith"})
    right = text.replace("Jon,Smyth", "Johanna,Smith").replace("Jon Smyth", "Johanna Smith")
    taken = put(right)
    assert (taken.added, taken.changed, taken.withdrawn, taken.questions) == ((), (), (), ())
    assert not [notice for notice in taken.notices if "stays" in notice.text]
    assert number(shoot, "Johanna Smith") == someone
    before = newest(shoot)
    put(right)
    assert newest(shoot) == before


def test_a_third_spelling_is_told_once_and_the_hands_stays(shoot: Shoot, put: Put) -> None:
    put(LIST)
    correct_person(shoot, number(shoot, "Jon Smyth"), {"name": "John Smith"})
    third = put(LIST.replace("Jon,Smyth", "Jonathan,Smythe"))
    assert (third.changed, third.withdrawn, third.questions) == ((), (), ())
    (told,) = [notice for notice in third.notices if "stays" in notice.text]
    assert told.row == 3
    assert "Jonathan Smythe" in told.text
    assert "John Smith" in told.text
    assert names(shoot) == {"John Smith": False}
    before = newest(shoot)
    again = put(LIST.replace("Jon,Smyth", "Jonathan,Smythe"))
    assert not [notice for notice in again.notices if "stays" in notice.text]
    assert newest(shoot) == before


def test_what_no_hand_touched_follows_the_list(shoot: Shoot, put: Put) -> None:
    put(LIST)
    correct_person(shoot, number(shoot, "Jon Smyth"), {"name": "John Smith"})
    assert [change.fields for change in put(LIST.replace("Bass", "Tenor")).changed] == [
        (("group", "Bass", "Tenor"),)
    ]
    row = person(shoot, "John Smith")
    assert (row.group, row.given, row.family) == ("Tenor", "John", "Smith")


def test_a_confirmed_name_is_not_written_over(shoot: Shoot, put: Put) -> None:
    put(LIST)
    assert confirm_person(shoot, number(shoot, "Jon Smyth"), "door-1").name == "Jon Smyth"
    loaded = put(LIST.replace("Jon,Smyth", "John,Smith"))
    assert [notice.row for notice in loaded.notices if "Jon Smyth was said at the door" in notice.text] == [3]
    assert names(shoot) == {"Jon Smyth": False}


def test_a_group_put_right_is_met_without_keys(shoot: Shoot, put: Put) -> None:
    put(KEYLESS)
    someone = number(shoot, "Jon Smyth")
    correct_person(shoot, someone, {"group": "Tenor", "name": "John Smith"})
    for text in (
        KEYLESS,
        KEYLESS.replace("Bass", "Tenor"),
        KEYLESS.replace("Jon Smyth,Bass", "John Smith,Tenor"),
    ):
        loaded = put(text)
        assert (loaded.added, loaded.withdrawn, loaded.questions) == ((), (), ())
    row = person(shoot, "John Smith")
    assert (row.id, row.group) == (someone, "Tenor")


def test_somebody_withdrawn_comes_back_as_corrected(shoot: Shoot, put: Put) -> None:
    put(LIST)
    someone = number(shoot, "Jon Smyth")
    correct_person(shoot, someone, {"name": "John Smith"})
    put("key,given,family,group\nS-1,Mira,Okafor,Soprano\n")
    assert names(shoot) == {"John Smith": True}
    assert [change.id for change in put(LIST).restored] == [someone]
    assert names(shoot) == {"John Smith": False}


def test_a_column_called_like_a_mark_of_the_record_is_only_a_column(put: Put) -> None:
    head = "key,given,family,by,listed\n"
    put(head + "J-2,Jon,Smyth,a,b\n")
    put(head + "J-2,Jon,Smyth,hand,c\n")
    changed = put("key,given,family,by,listed\nJ-2,Jon,Smith,hand,c\n")
    assert next(change.fields for change in changed.changed)[0] == ("name", "Jon Smyth", "Jon Smith")
