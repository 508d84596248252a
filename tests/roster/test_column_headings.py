"""Usual headings in several languages. The headings are common practice, no source."""

import pytest

from onsite.roster.column_headings import WORDS, is_name_heading, recognise
from onsite.roster.roster_entry import FIELDS


@pytest.mark.parametrize(
    ("heading", "sort"),
    [
        ("First Name", "given"),
        ("first_name", "given"),
        ("FIRSTNAME:", "given"),
        ("Student first name *", "given"),
        ("Name", "bare"),
        ("Name (as printed)", "bare"),
        ("Full name", "name"),
        ("Last name, First name", "family first"),
        ("E-Mail", "email"),
        ("e‑mail address", "email"),
        ("Nachname", "family"),
        ("Prénom", "given"),
        ("PRENOM", "given"),
        ("Nom et prénom", "family first"),
        ("Apellidos", "family"),
        ("Teléfono", "phone"),
        ("Cognome", "family"),
        ("Turma", "group"),
        ("Achternaam", "family"),
        ("Förnamn", "given"),
        ("Imię i nazwisko", "name"),
        ("Příjmení", "family"),
        ("Ονοματεπώνυμο", "name"),
        ("ΕΠΩΝΥΜΟ", "family"),
        ("Фамилия", "family"),
        ("ФИО", "family first"),
        ("Soyadı", "family"),
        ("Sınıf", "group"),
        ("#", "number"),
        ("Nr.", "number"),
        ("姓名", "name"),
        ("Pronunciation", "spoken"),
        ("Aussprache", "spoken"),
        ("Prononciation", "spoken"),
        ("ふりがな", "spoken"),
        ("Photo consent (yes/no)", "consent"),
        ("Fotoeinwilligung", "consent"),
        ("Droit à l'image", "consent"),
        ("Derechos de imagen", "consent"),
        ("Zgoda na wizerunek", "consent"),
        ("Согласие на фото", "consent"),
    ],
)
def test_a_usual_heading(heading: str, sort: str) -> None:
    assert recognise(heading) == sort


@pytest.mark.parametrize(
    "heading",
    [
        "",
        "Do not publish",
        "Opt out",
        "GDPR",
        "Teacher name",
        "Parent's e-mail",
        "Emergency phone",
        "T-shirt",
        "a" * 500,
        "Ann Lee",
        "12",
    ],
)
def test_somebody_elses_name_or_address_is_not_the_persons(heading: str) -> None:
    assert recognise(heading) is None


def test_every_field_has_headings_and_no_heading_means_two_things() -> None:
    assert set(WORDS) == {*FIELDS, "bare", "family first", "number", "voice"}
    for sort, headings in WORDS.items():
        for heading in headings.split(";"):
            assert recognise(heading) == sort, heading


def test_columns_that_hold_names() -> None:
    assert is_name_heading("Vorname")
    assert not is_name_heading("Klasse")
