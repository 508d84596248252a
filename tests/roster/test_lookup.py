"""The index says of every text what going through everybody says."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.core.errors import Problem
from onsite.roster import person_lookup as lookup
from onsite.roster.name_spellings import PlainNameIndex, RosterPerson

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


@pytest.mark.long
@given(crowds(), texts)
def test_the_answer_is_the_same(people: list[RosterPerson], text: str) -> None:
    """As the rules of `resolve` say for everybody, each read anew."""
    fitting = lookup._exact_matches(text.strip(), people) or PlainNameIndex(people).matching_people(
        text.strip()
    )
    try:
        found = [lookup.PersonLookup(people).resolve(text)]
    except lookup.AmbiguousPerson as problem:
        found = list(problem.candidates)
    except Problem:
        found = []
    assert found == list(fitting)
