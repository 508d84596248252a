"""Finding people: likely ones while somebody types, exactly one for a command."""

import random
from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.core.codes import new_code, spaced_code
from onsite.core.errors import Problem
from onsite.roster.find_people import PersonFinder, RosterPerson
from onsite.roster.name_spellings import query_words, without_spaces
from onsite.roster.person_lookup import AmbiguousPerson, resolve_person
from onsite.roster.person_names import fold_name

RNG = random.Random(7)
CODES = [new_code("34AC", (), RNG) for _ in range(12)]


def someone(number: int, name: str, group: str, key: str = "", sequence: int | None = None) -> RosterPerson:
    given_name, _, family = name.partition(" ")
    return RosterPerson(number, key, CODES[number], sequence, name, given_name, family, group)


JORG = someone(1, "Jörg Müller", "Basses", "k-101", 12)
ZOE = someone(2, "Zoë van den Hoorn", "Altos", "k-102", 7)
ANN = someone(3, "Ann Lee", "Altos", "k-103")
ANNA = someone(4, "Anna Leeds", "Tenors", "k-104")
ANN_B = someone(5, "Ann Lee", "Tenors", "12")
IVAN = someone(6, "Иван Петров", "Basses")
NIAMH = someone(7, "Niamh O’Brien", "Strings")
MARIE = someone(8, "Anne-Marie Dupont", "Strings")
LI = someone(9, "王芳", "Strings")
BOLD = someone(10, "[bold]Bo\nLee", "Brass", "k-110")
SAMER = someone(11, "سامر كرمانجي", "Lanterns")
PEOPLE = (JORG, ZOE, ANN, ANNA, ANN_B, IVAN, NIAMH, MARIE, LI, BOLD, SAMER)
FINDER = PersonFinder(PEOPLE)


@pytest.mark.parametrize(
    ("typed", "first", "why"),
    [
        ("Jörg Müller", JORG, "name"),
        ("müller jörg", JORG, "name"),
        ("Müller, Jörg", JORG, "name"),
        ("jorg muller", JORG, "name, accents aside"),
        ("Joerg Mueller", JORG, "name, accents aside"),
        ("müll", JORG, "name"),
        ("jorg mul", JORG, "name, accents aside"),
        ("Jorg Mullre", JORG, "typo"),
        ("Mülller", JORG, "typo"),
        ("jm", JORG, "initials"),
        ("J.M.", JORG, "initials"),
        ("m j", JORG, "initials"),
        ("K-101", JORG, "key"),
        ("k101", JORG, "key"),
        ("hoorn", ZOE, "name"),
        ("zoe vandenhoorn", ZOE, "name, accents aside"),
        ("7", ZOE, "sequence number"),
        ("ivan petrov", IVAN, "name, in Latin letters"),
        ("петров", IVAN, "name"),
        ("obrien", NIAMH, "name"),
        ("o'brien", NIAMH, "name"),
        ("annemarie", MARIE, "name"),
        ("王", LI, "name"),
        ("samer", SAMER, "typo"),  # the list has no vowels to compare with
        ("karmanji", SAMER, "typo"),
        ("ann lee tenors", ANN_B, "name, group"),
        ("lee altos", ANN, "name, group"),
    ],
)
def test_what_somebody_types(typed: str, first: RosterPerson, why: str) -> None:
    hit = FINDER.find(typed)[0]
    assert (hit.person, hit.why) == (first, why)


@pytest.mark.parametrize(
    "write", [str, str.lower, spaced_code, lambda code: "-".join(code[i : i + 4] for i in (0, 4, 8))]
)
def test_a_code_in_any_spelling(write: Callable[[str], str]) -> None:
    hit = FINDER.find(write(ZOE.code))[0]
    assert (hit.person, hit.why, hit.score) == (ZOE, "code", 100.0)


def test_the_full_name_comes_before_a_longer_one() -> None:
    assert [hit.person for hit in FINDER.find("ann lee")[:3]] == [ANN, ANN_B, ANNA]


def test_people_on_the_list_come_before_withdrawn_ones() -> None:
    gone = RosterPerson(1, "", CODES[1], None, "Ann Lee", "Ann", "Lee", "", withdrawn=True)
    here = RosterPerson(2, "", CODES[2], None, "Ann Lee", "Ann", "Lee", "")
    assert [hit.person for hit in PersonFinder([gone, here]).find("ann")] == [here, gone]


def test_no_more_than_asked_for_and_nothing_for_nothing() -> None:
    assert len(FINDER.find("a", limit=2)) == 2
    assert FINDER.find("") == FINDER.find(" \n.") == []
    assert FINDER.find("qqqqqq") == []
    assert PersonFinder([]).find("ann") == []


def test_a_huge_paste_is_cut_not_searched() -> None:
    assert FINDER.find("x" * 100_000) == []
    assert FINDER.find("ann lee " * 12_500)[0].person == ANN


@given(st.text(max_size=40))
def test_any_text_gives_a_ranking(text: str) -> None:
    hits = FINDER.find(text)
    scores = [round(hit.score) for hit in hits]
    assert scores == sorted(scores, reverse=True)
    assert all(0 <= hit.score <= 100 for hit in hits)
    assert len({hit.person.id for hit in hits}) == len(hits)


@given(st.sampled_from(PEOPLE))
def test_everybody_is_found_first_by_their_own_name(person: RosterPerson) -> None:
    assert FINDER.find(person.name)[0].person.name == person.name


@pytest.mark.parametrize(
    ("text", "person"),
    [
        ("k-101", JORG),
        ("K-101", JORG),
        (f" {spaced_code(ZOE.code).lower()} ", ZOE),
        ("7", ZOE),
        ("007", ZOE),
        ("jorg MULLER", JORG),
        ("Müller Jörg", JORG),
        ("Müller, Jörg", JORG),
        ("Müller", JORG),
        ("zoe", ZOE),
        ("niamh o'brien", NIAMH),
        ("Anna", ANNA),
        ("王芳", LI),
        ("[bold]Bo\nLee", BOLD),
        ("niamh obrien", NIAMH),
        ("niamhobrien", NIAMH),
        ("obrien", NIAMH),
        ("Mueller", JORG),
    ],
)
def test_one_person_for_a_command(text: str, person: RosterPerson) -> None:
    assert resolve_person(text, PEOPLE) == person


def test_an_ambiguous_name_lists_the_candidates() -> None:
    with pytest.raises(AmbiguousPerson) as refused:
        resolve_person("ann lee", PEOPLE)
    assert refused.value.candidates == (ANN, ANN_B)
    assert refused.value.what == (
        "ann lee fits 2 people: Ann Lee (Altos, key k-103); Ann Lee (Tenors, key 12)"
    )
    assert "key" in refused.value.remedy


def test_the_key_of_one_and_the_sequence_number_of_another_are_ambiguous() -> None:
    with pytest.raises(AmbiguousPerson) as refused:
        resolve_person("12", PEOPLE)
    assert set(refused.value.candidates) == {JORG, ANN_B}


def test_likeness_is_never_enough() -> None:
    with pytest.raises(Problem) as refused:
        resolve_person("Jorg Mullr", PEOPLE)
    assert not isinstance(refused.value, AmbiguousPerson)
    assert refused.value.remedy.startswith("Nearest: Jörg Müller (Basses, key k-101)")


def test_hostile_names_stay_on_one_line() -> None:
    with pytest.raises(Problem) as refused:
        resolve_person("bold bo", PEOPLE)
    assert "[bold]Bo\\nLee (Brass, key k-110)" in refused.value.remedy


@pytest.mark.parametrize("text", ["", "  ", "Ann Le", "z" * 100_000, "-", "9" * 500, "1043"])
def test_nobody(text: str) -> None:
    with pytest.raises(Problem) as refused:
        resolve_person(text, PEOPLE)
    assert not isinstance(refused.value, AmbiguousPerson)


def test_a_code_with_a_slip_is_nobodys() -> None:
    code = ZOE.code[:-1] + ("3" if ZOE.code[-1] != "3" else "4")
    with pytest.raises(Problem):
        resolve_person(code, PEOPLE)


@given(st.sampled_from(PEOPLE), st.integers(0, 20), st.characters())
def test_a_slip_gives_nobody_unless_it_makes_what_somebody_has(
    person: RosterPerson, place: int, slip: str
) -> None:
    text = person.name[:place] + slip + person.name[place + 1 :]
    try:
        found = resolve_person(text, PEOPLE)
    except Problem:
        return
    theirs = (found.name, found.given, found.family, found.key, str(found.sequence))
    words = {word for one in theirs for word in query_words(fold_name(one))}
    assert set(query_words(fold_name(text))) <= words or without_spaces(text) in {
        without_spaces(one) for one in theirs
    }


JEAN = RosterPerson(80, "a", CODES[0], None, "Jean-Luc van den Berg", "Jean-Luc", "van den Berg", "Altos")
LUC = RosterPerson(81, "b", CODES[1], None, "Luc Vandenberghe", "Luc", "Vandenberghe", "Tenors")


@pytest.mark.parametrize("text", ["berg", "vandenberg", "jeanluc", "Jean Berg", "jean-luc VANDENBERG"])
def test_whole_words_of_one_name_are_enough_for_a_command(text: str) -> None:
    assert resolve_person(text, [JEAN, LUC]) == JEAN


@pytest.mark.parametrize("text", ["bergh", "vandenber", "jean tenors", "altos", "j", "jl", "j l"])
def test_a_part_of_a_word_a_group_or_initials_are_not(text: str) -> None:
    with pytest.raises(Problem) as refused:
        resolve_person(text, [JEAN, LUC])
    assert not isinstance(refused.value, AmbiguousPerson)


def test_words_that_two_people_have_are_ambiguous() -> None:
    other = replace(JEAN, id=82, key="c", given="Ida", name="Ida van den Berg")
    with pytest.raises(AmbiguousPerson):
        resolve_person("berg", [JEAN, other])


def test_initials_of_a_given_name_with_a_hyphen() -> None:
    assert [hit.person for hit in PersonFinder([JEAN, LUC]).find("jl")] == [JEAN]


def test_an_apostrophe_comes_before_a_name_without_one() -> None:
    names = ("Maria da Silva", "Nico D\u2019Ambrosetti", "Dario Asti")
    finder = PersonFinder([replace(ANN, id=n, key=f"K{n}", name=name) for n, name in enumerate(names)])
    for typed in ("d'a", "D\u2019a"):
        assert finder.find(typed)[0].person.name == "Nico D\u2019Ambrosetti"
    assert finder.find("da")[0].person.name == "Maria da Silva"


def test_a_name_is_found_from_its_apostrophe_on() -> None:
    assert FINDER.find("brien")[0].person == NIAMH
    assert FINDER.find("bri")[0].person == NIAMH
    assert [hit.why for hit in FINDER.find("brien")] == ["name, from its apostrophe on"]
