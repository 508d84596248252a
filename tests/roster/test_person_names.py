"""Names are taken apart sensibly, compared generously, and shown as written."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.roster.person_names import fold_name, full_name, natural_order, other_part, split_name, to_latin


@pytest.mark.parametrize(
    ("full", "given_name", "family"),
    [
        ("Ann Lee", "Ann", "Lee"),
        ("Müller, Jörg", "Jörg", "Müller"),
        ("Ludwig van den Hoorn", "Ludwig", "van den Hoorn"),
        ("van den Hoorn, Ludwig", "Ludwig", "van den Hoorn"),
        ("van den Hoorn Ludwig", "Ludwig", "van den Hoorn"),
        ("María José de la Cruz", "María José", "de la Cruz"),
        ("Juan De La Cruz", "Juan", "De La Cruz"),
        ("José Ortega y Gallo", "José", "Ortega y Gallo"),
        ("Omar bin Said", "Omar", "bin Said"),
        ("Niamh O' Brien", "Niamh", "O' Brien"),
        ("Niamh O’Brien", "Niamh", "O’Brien"),
        ("Seán Mac Donagh", "Seán", "Mac Donagh"),
        ("Al Fenwick", "Al", "Fenwick"),
        ("Mary Le", "Mary", "Le"),
        ("Ann E. Smith", "Ann E.", "Smith"),
        ("Ann Lee Jr.", "Ann", "Lee Jr."),
        ("Ann Lee, Jr.", "Ann", "Lee, Jr."),
        ("LEFÈVRE Élodie", "Élodie", "LEFÈVRE"),
        ("Élodie LEFÈVRE", "Élodie", "LEFÈVRE"),
        ("AJ Smith", "AJ", "Smith"),
        ("Ottoline", "Ottoline", ""),
        ("王芳", "王芳", ""),
        ("山田 太郎", "太郎", "山田"),
        ("يوسف بن كريم", "يوسف", "بن كريم"),
        ("\u00a0Ann Lee\u00a0", "Ann", "Lee"),
        ("", "", ""),
    ],
)
def test_a_full_name_in_two_parts(full: str, given_name: str, family: str) -> None:
    assert split_name(full) == (given_name, family)


def test_a_column_may_have_the_family_name_first() -> None:
    assert split_name("Иванов Иван Иванович", family_first=True) == ("Иван Иванович", "Иванов")
    assert split_name("de la Cruz Ana", family_first=True) == ("Ana", "de la Cruz")


@given(st.text())
def test_splitting_loses_no_letter(full: str) -> None:
    parts = "".join(split_name(full))
    assert sorted(filter(str.isalnum, parts)) == sorted(filter(str.isalnum, full))


def test_a_name_is_shown_as_written_but_for_its_comma() -> None:
    assert natural_order(" Ann  van Lee ") == "Ann  van Lee"
    assert natural_order("Müller, Jörg") == "Jörg Müller"
    assert natural_order("Ann Lee, Jr.") == "Ann Lee, Jr."
    assert natural_order("[bold]Ann\n\x1b[31mLee") == "[bold]Ann\n\x1b[31mLee"


def test_two_parts_make_a_name_in_the_order_of_their_script() -> None:
    assert full_name("Jörg", "Müller") == "Jörg Müller"
    assert full_name("太郎", "山田") == "山田 太郎"
    assert full_name("", "Müller") == "Müller"


def test_the_other_part_of_a_name() -> None:
    assert other_part("Ann van Lee", "Ann") == "van Lee"
    assert other_part("Ann van Lee", "van Lee") == "Ann"
    assert other_part("Annabel", "Ann") == ""


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Zoë", "zoe"),
        ("Łukasz Ørsted", "lukasz orsted"),
        ("Straße", "STRASSE"),
        ("O’Neil", "O'Neil"),
        ("Anne‑Marie", "Anne-Marie"),
        ("IŞIK", "ışık"),
        ("Zoe\u0308", "Zoë"),
        ("\u200fמשה\u200e", "משה"),
        ("Ａｎｎ", "Ann"),
        ("Ann\u00a0 Lee", "Ann Lee"),
    ],
)
def test_the_same_name_written_in_two_ways(one: str, other: str) -> None:
    assert fold_name(one) == fold_name(other)


@pytest.mark.parametrize(("one", "other"), [("王芳", "王方"), ("かき", "がき"), ("กา", "กี"), ("Ann", "Anna")])
def test_names_that_only_sound_or_look_alike_differ(one: str, other: str) -> None:
    assert fold_name(one) != fold_name(other)


@given(st.text())
def test_folding_twice_changes_nothing_more(text: str) -> None:
    assert fold_name(fold_name(text)) == fold_name(text)


def test_other_scripts_in_latin_letters_for_finding() -> None:
    assert to_latin("Иван") == "ivan"
    assert to_latin("Zoë") == "zoe"
