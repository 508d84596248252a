"""The index says of every text what going through everybody says."""

from collections.abc import Callable

from hypothesis import given
from hypothesis import strategies as st

from onsite.core.errors import Problem
from onsite.roster.find_people import RosterPerson
from onsite.roster.person_lookup import PersonLookup, resolve_person

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


@given(crowds(), texts)
def test_the_answer_is_the_same(people: list[RosterPerson], text: str) -> None:
    assert _told(PersonLookup(people).resolve, text) == _told(lambda one: resolve_person(one, people), text)


def _told(ask: Callable[[str], RosterPerson], text: str) -> object:
    """The answer, or the kind and the words of the refusal."""
    try:
        return ask(text)
    except Problem as problem:
        return type(problem), str(problem)
