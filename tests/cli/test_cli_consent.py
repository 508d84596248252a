"""`onsite roster load`: columns about consent to explain, mappings, and two rows of headings."""

from __future__ import annotations

import csv
import shlex
from pathlib import Path

import openpyxl
import pytest

from onsite.roster.parse_consent import Consent, parse_consent
from tests.cli.command_line import Onsite, Outcome, refused
from tests.tiers import long_after

PEOPLE = (("1a", "Ana Horvat"), ("2a", "Bo Lind"), ("3a", "Cy Ro"))


@pytest.fixture
def day(onsite: Onsite) -> Onsite:
    onsite("new", ".", "--name", "Day", "--timezone", "Europe/Vienna")
    return onsite


def write(path: Path, *rows: tuple[str, ...]) -> Path:
    with path.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows(rows)
    return path


def a_list(path: Path, headings: tuple[str, ...], *answers: tuple[str, ...]) -> Path:
    """A list of three people with these columns beside key and name."""
    rows = [(*person, *texts) for person, texts in zip(PEOPLE, answers, strict=True)]
    return write(path / "list.csv", ("key", "name", *headings), *rows)


def consents(day: Onsite) -> list[str]:
    people = day("roster", "list", "--json").data["people"]
    return [parse_consent(one["consent"]).value for one in people]


def told(outcome: Outcome) -> str:
    assert outcome.status == 0, outcome
    return outcome.out


@pytest.mark.long
def test_following_the_hint_cannot_publish_a_refusal(day: Onsite, tmp_path: Path) -> None:
    file = a_list(tmp_path, ("Photo consent declined",), ("yes",), ("no",), ("",))
    dry = day("roster", "load", file, "--dry-run").out
    assert "--map no-consent='Photo consent declined'" in dry
    assert "--map consent" not in dry
    assert "1 must not be published (Ana Horvat: yes)" in dry
    assert "1 may be published (Bo Lind: no)" in dry
    wrong = refused(day("roster", "load", file, "--map", "consent=Photo consent declined"))
    assert "a yes there would be a refusal" in wrong
    assert "--map no-consent='Photo consent declined'" in wrong
    assert consents(day) == []
    told(day("roster", "load", file, "--map", "no-consent=Photo consent declined"))
    assert consents(day) == ["no", "yes", "unknown"]


def test_what_is_open_is_not_loaded(day: Onsite, tmp_path: Path) -> None:
    file = a_list(tmp_path, ("Photos",), ("yes",), ("no",), ("?",))
    said = refused(day("roster", "load", file))
    assert "list.csv: Photos (column C) may say who may be published" in said
    assert "--map consent=Photos (yes means may be published)" in said
    assert "--map no-consent=Photos (yes means must not be published)" in said
    assert consents(day) == []


@pytest.mark.parametrize(
    "heading",
    ["Photo's fine?", 'Say "cheese": photo', "Photo $HOME", "Photo `id`", "Fotos für Ümläute",
    "Photos; rm", "-photo",
     "Photo & film", "Photo=yes", "Foto\\n", "  Photos  two  "],
)  # fmt: skip
def test_a_shell_takes_the_option_that_is_printed(day: Onsite, tmp_path: Path, heading: str) -> None:
    file = a_list(tmp_path, (heading,), ("yes",), ("no",), ("",))
    (question,) = day("roster", "load", file, "--dry-run", "--json").data["consent_questions"]
    option = question["answers"][0]["option"]
    assert option in day("roster", "load", file, "--dry-run").out
    told(day("roster", "load", file, *shlex.split(option)))
    assert consents(day) == ["yes", "no", "unknown"]


def test_a_heading_that_is_long_or_there_twice_is_called_by_its_letter(day: Onsite, tmp_path: Path) -> None:
    long = "I agree that pictures of my child are shown in the festival's programme and on its pages"
    file = a_list(tmp_path, (long, "Photos", "Photos"), *[("yes", "no", "no")] * 3)
    asked = day("roster", "load", file, "--dry-run", "--json").data["consent_questions"]
    assert [one["answers"][0]["option"] for one in asked] == [
        "--map consent=C", "--map consent=D", "--map consent=E"
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("maps", "says"),
    [
        (["no-consent=Consent"], "a no there would become a consent"),
        (["other=Consent"], "has answers about consent"),
        (["note=Consent"], "has answers about consent"),
        (["other=Do not publish"], "has answers about consent"),
        (["consent=Do not publish"], "a yes there is no consent"),
        (["consent=Extra", "no-consent=Extra"], "both mapped to Extra"),
        (["consent=Extra", "consent=E"], "consent is mapped twice to Extra"),
        (["group=Extra", "group=name"], "group is mapped to Extra and to name"),
        (["nonsense=Extra"], "There is no field nonsense"),
    ],
)
def test_a_map_that_turns_an_answer_round_is_refused(
    day: Onsite, tmp_path: Path, maps: list[str], says: str
) -> None:
    file = a_list(
        tmp_path, ("Consent", "Do not publish", "Extra"), ("yes", "", "a"), ("no", "", ""), ("", "x", "")
    )
    options = [part for one in maps for part in ("--map", one)]
    assert says in refused(day("roster", "load", file, *options))
    assert says in refused(day("roster", "load", file, "--dry-run", *options))
    assert consents(day) == []


def test_a_column_without_readable_answers_is_said(day: Onsite, tmp_path: Path) -> None:
    file = a_list(tmp_path, ("Choir",), ("Altos",), ("Basses",), ("Altos",))
    said = told(day("roster", "load", file, "--map", "consent=Choir"))
    assert (
        "Choir (column C) is mapped to consent and has no yes or no that is understood: Altos, Basses" in said
    )
    assert consents(day) == ["unclear"] * 3


def test_several_columns_mapped_by_hand_all_count(day: Onsite, tmp_path: Path) -> None:
    file = a_list(tmp_path, ("Print", "Web"), ("yes", "yes"), ("yes", "no"), ("", ""))
    told(day("roster", "load", file, "--map", "consent=Print", "--map", "consent=Web"))
    assert consents(day) == ["yes", "no", "unknown"]


@pytest.mark.long
def test_mappings_are_remembered_for_newer_lists(day: Onsite, tmp_path: Path) -> None:
    maps = ("--map", "name=Who", "--map", "no-consent=Blocked", "--map", "other=Status")
    headings = ("key", "Who", "Blocked", "Status")
    rows = [(*person, "no", "yes") for person in PEOPLE]
    told(day("roster", "load", write(tmp_path / "a.csv", headings, *rows), *maps))
    newer = write(tmp_path / "b.csv", headings, *rows[:2], (*PEOPLE[2], "yes", "yes"))
    said = told(day("roster", "load", newer, "--dry-run"))
    assert "as for an earlier list: --map no-consent=Blocked" in said
    told(day("roster", "load", newer))
    assert consents(day) == ["yes", "yes", "no"]
    without = write(tmp_path / "c.csv", ("key", "Who", "Status"), *[(*person, "yes") for person in PEOPLE])
    said = told(day("roster", "load", without))
    assert "remembered, but not a column of this list: --map no-consent=Blocked" in said
    assert consents(day) == ["yes", "yes", "no"]
    told(day("roster", "load", newer))  # and it is known again where the column is back
    told(day("roster", "load", newer, "--map", "name=Who", "--map", "other=Blocked"))
    assert "--map other=Blocked" in told(day("roster", "load", newer, "--dry-run"))


def test_a_remembered_mapping_that_turns_an_answer_round_is_asked_anew(day: Onsite, tmp_path: Path) -> None:
    from onsite.roster.list_column_options import ListDecisions, save_list_decisions
    from onsite.store.shoot import open_shoot

    shoot = open_shoot(tmp_path)
    with shoot.writing() as session:
        save_list_decisions(session, ListDecisions((("consent", "Blocked"), ("other", "Do not publish"))))
    shoot.engine.dispose()
    file = a_list(tmp_path, ("Blocked",), ("yes",), ("no",), ("",))
    dry = day("roster", "load", file, "--dry-run")
    assert dry.status == 3
    assert "no longer used, --map consent=Blocked" in dry.out
    assert "--map no-consent=Blocked" in refused(day("roster", "load", file))
    forbids = a_list(tmp_path, ("Do not publish",), ("yes",), ("no",), ("",))
    told(day("roster", "load", forbids))
    assert consents(day) == ["no", "yes", "unknown"]


ORDINARY = """Vegetarian;Paid;Present;Bus;Own instrument;Soloist;First time;Member;T-shirt paid;Needs a chair;
Allergies;Mittagessen;Anwesend;Bezahlt;Végétarien;Présent;Vegetariano;Pranzo;Almoço;Aanwezig;Närvarande;Obecność;Oběd;
Confirmed;Driver;Overnight stay;Black shoes;Solo;Not vegetarian;No meat;Kein Fleisch"""


@pytest.mark.parametrize("heading", long_after(10, [text.strip() for text in ORDINARY.split(";")]))
def test_nobody_is_asked_about_an_ordinary_column(day: Onsite, tmp_path: Path, heading: str) -> None:
    file = a_list(tmp_path, (heading,), ("yes",), ("no",), ("",))
    said = told(day("roster", "load", file, "--dry-run"))
    assert "may say who" not in said
    assert "may be about consent" not in said


@pytest.mark.parametrize(
    ("headings", "answers"),
    [
        (("Photo",), [("a.jpg",), ("b.jpg",), ("",)]),
        (("Photo no.",), [("12",), ("13",), ("14",)]),
        (("Photos taken",), [("1",), ("3",), ("2",)]),
        (("Block",), [("A",), ("B",), ("B",)]),
        (("Status",), [("new",), ("yes",), ("old",)]),
        (("Consent", "Status"), [("yes", "yes"), ("no", "yes"), ("no", "no")]),
        (("Consent", "Signed"), [("yes", "yes"), ("no", "no"), ("", "")]),
        (("Consent", "Swimming permission"), [("yes", "no"), ("no", "yes"), ("", "")]),
        (("Consent", "GDPR"), [("yes", "yes"), ("no", "yes"), ("", "yes")]),
        (("Consent", "Photo"), [("yes", "a.jpg"), ("no", "b.jpg"), ("", "")]),
    ],
)
def test_no_false_alarm(
    day: Onsite, tmp_path: Path, headings: tuple[str, ...], answers: list[tuple[str, ...]]
) -> None:
    told(day("roster", "load", a_list(tmp_path, headings, *answers)))


@pytest.mark.parametrize(
    ("headings", "answers"),
    [
        (("Consent", "Photos"), [("yes", "no"), ("yes", "yes"), ("", "")]),
        (("Consent", "Do not film"), [("yes", "yes"), ("yes", ""), ("", "")]),
        (("Consent", "Blocked"), [("yes", "x"), ("yes", ""), ("", "")]),
        (("Consent form",), [("signed",), ("refused",), ("",)]),
        (("Consent form",), [("2026-05-02",), ("",), ("",)]),
        (("Photos",), [("ask mother",), ("no",), ("in the group",)]),
        (("Photos",), [("x",), ("",), ("x",)]),
        (("Do not photograph",), [("mother called",), ("",), ("",)]),
        (("",), [("yes",), ("no",), ("yes",)]),
        (("OK for the programme book?",), [("yes",), ("no",), ("ask mother",)]),
        (("Can be shown",), [("no",), ("",), ("no",)]),
        (("Flyer",), [("ja, nur intern",), ("nein",), ("offen",)]),
        (("May appear on the website",), [("yes",), ("no",), ("see mail",)]),
        (("Photo allowed (parents)",), [("OK",), ("not yet",), ("no",)]),
    ],
)
def test_what_may_hide_a_no_is_asked_about(
    day: Onsite, tmp_path: Path, headings: tuple[str, ...], answers: list[tuple[str, ...]]
) -> None:
    refused(day("roster", "load", a_list(tmp_path, headings, *answers)))


def workbook(path: Path, rows: list[list[str]], merged: tuple[str, ...] = ()) -> Path:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in rows:
        sheet.append(row)
    for cells in merged:
        sheet.merge_cells(cells)
    book.save(path)
    return path


def as_files(tmp_path: Path, rows: list[list[str]], merged: tuple[str, ...]) -> list[Path]:
    """The rows as a text list and as a workbook with merged cells."""
    return [
        write(tmp_path / "list.csv", *(tuple(row) for row in rows)),
        workbook(tmp_path / "list.xlsx", rows, merged),
    ]


def test_a_second_row_of_headings_is_read(day: Onsite, tmp_path: Path) -> None:
    rows = [
        ["Key", "Name", "Choir", "Photos", ""],
        ["", "", "", "Consent", "Do not publish"],
        ["1a", "Ana Horvat", "Altos", "yes", ""],
        ["2a", "Bo Lind", "Altos", "yes", "x"],
    ]
    for file in as_files(tmp_path, rows, ("A1:A2", "B1:B2", "C1:C2", "D1:E1")):
        said = told(day("roster", "load", file, "--dry-run"))
        assert "rows 1 and 2 are read together as the headings" in said
        assert "Consent: 1 may be published, 1 must not be published." in said
        assert "Would be: 2 added" in said
    told(day("roster", "load", file))
    assert consents(day) == ["yes", "no"]


def test_a_lone_consent_in_the_second_row_is_not_lost(day: Onsite, tmp_path: Path) -> None:
    rows = [["Key", "Name", "Choir", ""], ["", "", "", "Consent"], ["1a", "Ana Horvat", "Altos", "no"]]
    for file in as_files(tmp_path, rows, ()):
        assert "Consent: 1 must not be published." in told(day("roster", "load", file, "--dry-run"))


@pytest.mark.long
def test_titles_of_groups_of_columns_are_read_with_the_headings(day: Onsite, tmp_path: Path) -> None:
    rows = [
        ["Person", "", "", "No consent for", "", "Lunch"],
        ["Key", "Name", "Choir", "Print", "Web", "Vegetarian"],
        ["1a", "Ana Horvat", "Altos", "x", "", "yes"],
        ["2a", "Bo Lind", "Altos", "", "x", "no"],
    ]
    for file in as_files(tmp_path, rows, ("A1:C1", "D1:E1")):
        asked = day("roster", "load", file, "--dry-run", "--json").data["consent_questions"]
        assert [(one["column"], one["heading"]) for one in asked] == [
            ("D", "No consent for Print"),
            ("E", "No consent for Web"),
        ]
        refused(day("roster", "load", file))
    options = [part for one in asked for part in shlex.split(one["answers"][0]["option"])]
    told(day("roster", "load", file, *options))
    assert consents(day) == ["no", "no"]


def test_a_merged_title_says_nothing_of_columns_beyond_it(day: Onsite, tmp_path: Path) -> None:
    rows = [
        ["", "", "Photos", "", "", ""],
        ["Key", "Name", "Print", "Web", "", "Vegetarian"],
        ["1a", "Ana Horvat", "yes", "no", "", "yes"],
    ]
    file = workbook(tmp_path / "list.xlsx", rows, ("C1:D1",))
    asked = day("roster", "load", file, "--dry-run", "--json").data["consent_questions"]
    assert [one["heading"] for one in asked] == ["Photos Print", "Photos Web"]


def test_a_title_of_the_list_and_a_nameless_person_are_no_headings(day: Onsite, tmp_path: Path) -> None:
    titled = [["Consent list", "", ""], ["Key", "Name", "Vegetarian"], ["1a", "Ana Horvat", "yes"]]
    for file in as_files(tmp_path, titled, ("A1:C1",)):
        said = told(day("roster", "load", file, "--dry-run"))
        assert "row 1: above the headings, not read: Consent list" in said
    nameless = [["Key", "Name", "Consent"], ["1a", "", "no"], ["2a", "Bo Lind", "yes"]]
    for file in as_files(tmp_path, nameless, ()):
        dry = day("roster", "load", file, "--dry-run")
        assert "refused: row 2: no name; the row holds: 1a · no" in dry.out


def test_two_languages_of_headings_make_no_person(day: Onsite, tmp_path: Path) -> None:
    rows = [
        ["Key", "Name", "Consent", "Do not publish"],
        ["Kennung", "Vor- und Nachname", "Foto", ""],
        ["1a", "Ana Horvat", "yes", "x"],
    ]
    for file in as_files(tmp_path, rows, ()):
        said = told(day("roster", "load", file, "--dry-run"))
        assert "Would be: 1 added" in said
        assert "Consent: 1 must not be published." in said


def test_no_such_list_publishes_anybody_unasked(day: Onsite, tmp_path: Path) -> None:
    """The dry run counts nobody as published while a question is open."""
    file = a_list(tmp_path, ("Photos",), ("yes",), ("yes",), ("yes",))
    dry = day("roster", "load", file, "--dry-run", "--json").data
    assert dry["consents"].get(Consent.YES, 0) == 0
    assert "Consent: not settled" in day("roster", "load", file, "--dry-run").out


@pytest.mark.parametrize("heading", ["Role (photo consent)", "Group (consent)", "E-mail (photo consent)"])
def test_a_column_that_speaks_of_consent_in_brackets_is_no_other_field(
    day: Onsite, tmp_path: Path, heading: str
) -> None:
    file = a_list(tmp_path, (heading,), ("yes",), ("no",), ("",))
    said = refused(day("roster", "load", file))
    assert f"{heading} (column C) may say who may be published" in said
    assert consents(day) == []
    told(day("roster", "load", file, "--map", f"consent={heading}"))
    assert consents(day) == ["yes", "no", "unknown"]


def test_the_same_in_two_rows_of_headings(day: Onsite, tmp_path: Path) -> None:
    rows = [(*person, text) for person, text in zip(PEOPLE, ("yes", "no", ""), strict=True)]
    file = write(tmp_path / "list.csv", ("key", "name", "Remarks"), ("", "", "(Consent)"), *rows)
    assert "Remarks (Consent) (column C) may say who" in refused(day("roster", "load", file))
    assert consents(day) == []


def test_a_field_that_speaks_of_pictures_and_has_no_answers_stays_the_field(
    day: Onsite, tmp_path: Path
) -> None:
    file = write(
        tmp_path / "list.csv",
        ("key", "Name (as on the website)", "E-mail (for photos)"),
        *[(*person, f"{person[0]}@example.org") for person in PEOPLE],
    )
    told(day("roster", "load", file))
    assert [one["name"] for one in day("roster", "list", "--json").data["people"]] == [n for _, n in PEOPLE]


@pytest.mark.long
@pytest.mark.parametrize(
    ("heading", "answers"),
    [
        ("Red dot", ("x", "", "")),
        ("Red dot", ("yes", "-", "?")),
        ("Green sticker", ("1", "", "")),
        ("Form", ("yes", "no", "")),
        ("Form", ("✓", "", "")),
        ("Signed", ("x", "", "")),
        ("撮影NG", ("x", "", "")),
    ],
)
def test_plain_answers_in_a_list_without_consent_are_asked_about_and_remembered(
    day: Onsite, tmp_path: Path, heading: str, answers: tuple[str, str, str]
) -> None:
    file = a_list(tmp_path, (heading,), *[(text,) for text in answers])
    assert "Nothing was loaded" in refused(day("roster", "load", file))
    assert consents(day) == []
    told(day("roster", "load", file, "--map", f"no-consent={heading}"))
    assert consents(day)[0] == "no"
    told(day("roster", "load", file))
    told(day("roster", "load", file, "--map", f"other={heading}"))
    told(day("roster", "load", file))


@pytest.mark.parametrize(
    ("headings", "answers"),
    [
        (("Consent", "Red dot"), [("yes", "x"), ("no", ""), ("", "")]),
        (("Red dot",), [("none",), ("",), ("none",)]),
        (("Red dot",), [("x",), ("small",), ("",)]),
        (("Meeting point",), [("No. 12",), ("No. 14",), ("no",)]),
        (("Red dot",), [("1",), ("1",), ("1",)]),
        (("Red dot",), [("1",), ("2",), ("",)]),
        (("Form",), [("1",), ("1",), ("",)]),
        (("Language",), [("no",), ("ja",), ("",)]),
    ],
)
def test_nobody_is_asked_where_the_cells_or_another_column_settle_it(
    day: Onsite, tmp_path: Path, headings: tuple[str, ...], answers: list[tuple[str, ...]]
) -> None:
    told(day("roster", "load", a_list(tmp_path, headings, *answers)))


def test_an_empty_column_of_consent_settles_nothing(day: Onsite, tmp_path: Path) -> None:
    file = a_list(tmp_path, ("Consent", "Red dot"), ("", "x"), ("", ""), ("", ""))
    assert "Red dot (column D) may say who" in refused(day("roster", "load", file))


ORDINARY_LISTS = """
Vegetarian;Lunch;Parking;T-shirt;Paid;First aider
Mitglied;Bezahlt;Mittagessen;Übernachtung;Bus hin;Bus zurück;Erste Hilfe;Noten erhalten
Végétarien;Allergies;Repas du midi;Arrivé;Payé;Membre;Nuitée;Infolettre;Soliste
Vegetariano;Comida;Aparcamiento;Pagado;Socio;Autobús;Alergias;Primeros auxilios;Boletín
Vegetariano;Pranzo;Parcheggio;Pagato;Pullman;Pernottamento;Solista;Primo soccorso
Vegetariana;Almoço;Estacionamento;Pago;Sócio;Autocarro;Dormida;Alergia;Primeiros socorros
Vegetarisch;Parkeren;Betaald;Lid;Overnachting;Bus;EHBO;Nieuwsbrief;Aanwezig
Vegetarian;Parkering;Betalt;Medlem;Buss;Övernattning;Allergi;Första hjälpen;Nyhetsbrev
Wegetarianin;Obiad;Zapłacone;Członek;Autobus;Nocleg;Alergia;Pierwsza pomoc
Vegetarián;Oběd;Parkování;Zaplaceno;Člen;Nocleh;Alergie;První pomoc
Section leader;Own music stand;Saturday rehearsal;Hotel needed;Gluten free;Plays solo;Under 18;Checked in"""


@pytest.mark.parametrize("listed", long_after(4, ORDINARY_LISTS.strip().splitlines()))
def test_nobody_is_asked_about_an_ordinary_list(day: Onsite, tmp_path: Path, listed: str) -> None:
    headings = tuple(listed.split(";"))
    file = a_list(tmp_path, headings, *[(text,) * len(headings) for text in ("yes", "no", "")])
    assert "about consent" not in told(day("roster", "load", file))


def test_a_list_without_answers_says_that_everybody_may_be_published(day: Onsite, tmp_path: Path) -> None:
    file = a_list(tmp_path, ("Consent",), ("",), ("",), ("",))
    everybody = "Consent: no answer in this list, so everybody on it may be published."
    assert everybody in told(day("roster", "load", file, "--dry-run"))
    assert everybody in told(day("roster", "load", file))
    told(day("roster", "load", a_list(tmp_path, ("Consent",), ("yes",), ("",), ("",))))
    file = a_list(tmp_path, ("Consent",), ("",), ("",), ("",))
    assert "what was said before stays, and nobody new may be published" in told(day("roster", "load", file))
