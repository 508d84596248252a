"""The index says of every text what going through everybody says."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.core.codes import parse_slate_code
from onsite.core.errors import Problem
from onsite.roster import person_lookup as lookup
from onsite.roster.name_spellings import PlainNameIndex, RosterPerson
from onsite.roster.person_names import fold_name

CODES = ("NX34ACDEFHJK", "NXAAAAPEMRN7")
NAMES = [
    "Anna",
    "anna",
    "Lindqvist",
    "Ágoston",
    "Zoë",
    "van der Berg",
    "Berg,",
    ",",
    "7",
    "S-1",
    "李",
    "O’Neil",
    "Jean-Luc",
    "",
]
names = st.sampled_from(NAMES)


@st.composite
def crowds(draw: st.DrawFn) -> list[RosterPerson]:
    rows = draw(
        st.lists(st.tuples(st.sampled_from(["S-1", "s-1", "7", "07", "Anna"]), names, names), max_size=8)
    )
    return [
        RosterPerson(i, key, CODES[i % 2], i + 5 if i % 2 else None, f"{one} {two}".strip(), one, two, "")
        for i, (key, one, two) in enumerate(rows, start=1)
    ]


texts = st.one_of(
    st.builds("{} {}".format, names, names),
    st.builds("{}, {}".format, names, names),
    st.sampled_from(
        [
            *NAMES,
            *CODES,
            "nx34 acde fhjk",
            "6",
            "007",
            "8",
            " S-1 ",
            "Agoston",
            "ZOE",
            "O'NEIL",
            "oneil",
            "vanderberg",
            "anna berg",
            "luc",
            "?",
        ]
    ),
)


def everybody_who_fits(text: str, people: list[RosterPerson]) -> list[RosterPerson]:
    """The rule of `resolve`, asked of each person: key, code, sequence number, or a name in any order."""
    code = parse_slate_code(text)
    number = int(text) if text.isdecimal() and len(text) < 10 else None
    by_key = {person.id for person in people if person.key == text}
    if not by_key:
        by_key = {person.id for person in people if person.key and person.key.casefold() == text.casefold()}
    return [
        person
        for person in people
        if person.id in by_key
        or (code is not None and person.code == code.text)
        or (number is not None and person.sequence == number)
        or (fold_name(text) and fold_name(text) in names_of(person))
    ]


def names_of(person: RosterPerson) -> set[str]:
    given, family = person.given, person.family
    both = [f"{given} {family}", f"{family} {given}", f"{family}, {given}"] if given and family else []
    return {fold_name(name) for name in (person.name, given, family, *both)}


@pytest.mark.long
@given(crowds(), texts)
def test_the_answer_is_the_same(people: list[RosterPerson], text: str) -> None:
    """As the rules of `resolve` say for everybody, each read anew."""
    text = text.strip()
    fitting = everybody_who_fits(text, people) or PlainNameIndex(people).matching_people(text)
    try:
        found = [lookup.PersonLookup(people).resolve(text)]
    except lookup.AmbiguousPerson as problem:
        found = list(problem.candidates)
    except Problem:
        found = []
    assert found == list(fitting)
