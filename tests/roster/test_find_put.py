"""A finder that is kept up to date says what one built anew says."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.core.codes import new_code
from onsite.roster.find_people import LONGEST, PersonFinder, RosterPerson

RNG = random.Random(11)
CODES = [new_code("34AC", (), RNG) for _ in range(30)]
WORDS = [
    "Ann",
    "Anna",
    "Zoë",
    "Zoe",
    "Lee",
    "Leeds",
    "van den Hoorn",
    "Müller",
    "Иван",
    "王芳",
    "O’Brien",
    "",
]


def someone(
    number: int, given_name: str, family: str, group: str, sequence: int | None, gone: bool
) -> RosterPerson:
    name = f"{given_name} {family}".strip()
    return RosterPerson(number, f"k-{number}", CODES[number], sequence, name, given_name, family, group, gone)


people = st.builds(
    someone,
    st.integers(0, 12),
    st.sampled_from(WORDS),
    st.sampled_from(WORDS),
    st.sampled_from(["Altos", "Basses", ""]),
    st.one_of(st.none(), st.integers(1, 30)),
    st.booleans(),
)
queries = st.one_of(
    st.sampled_from(
        [*WORDS, *CODES[:13], "an", "ann lee", "al", "zl", "k-3", "12", "anne", "hoorn zoe", "ivan"]
    ),
    st.text(max_size=6),
)


@pytest.mark.long
@given(st.lists(people, max_size=8, unique_by=lambda one: one.id), st.lists(people, max_size=12), queries)
def test_after_any_puts_it_finds_what_a_fresh_finder_finds(
    first: list[RosterPerson], puts: list[RosterPerson], text: str
) -> None:
    kept = PersonFinder(first)
    known = {one.id: one for one in first}
    for one in puts:
        kept.add_or_replace(one)
        known[one.id] = one
    fresh = PersonFinder(known.values())
    assert kept.find(text) == fresh.find(text)
    assert kept.people == fresh.people


def test_a_new_spelling_takes_the_place_of_the_old_one() -> None:
    finder = PersonFinder([someone(1, "Jon", "Smyth", "Altos", None, False)])
    finder.add_or_replace(someone(1, "Johanna", "Smith", "Altos", 4, False))
    assert [hit.why for hit in finder.find("johanna")] == ["name"]
    assert finder.find("4")[0].why == "sequence number"
    assert [hit.why for hit in finder.find("jon")] != ["name"]


def test_many_newcomers_of_one_name_each_have_a_place() -> None:
    finder = PersonFinder([])
    for number in range(30):
        finder.add_or_replace(
            RosterPerson(number, f"k{number}", CODES[number], None, "Ann Lee", "Ann", "Lee", "")
        )
    assert [hit.person.id for hit in finder.find("ann lee", limit=30)] == list(range(30))


def test_in_a_paste_no_slips_are_looked_for() -> None:
    finder = PersonFinder([someone(1, "Johanna", "Smith", "", None, False)])
    assert finder.find("johana smiht")
    assert finder.find("johana smiht" + " " * LONGEST) == []
