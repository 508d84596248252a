"""Pages, mails, papers and reports in people's languages, on the command line."""

from __future__ import annotations

import csv
import email
import email.policy
import re
from pathlib import Path

import pytest
from PIL import Image

from onsite.cli import run
from onsite.messages.languages import CATALOGUES
from onsite.messages.message_catalogue import catalogue
from tests.cli.command_line import Onsite, refused
from tests.made_once import copied, made_once
from tests.tiers import long_after

LIST = """\
Nr.,Vorname,Nachname,Gruppe,E-Mail,Sprache
C-1,Åsa,Lindqvarn,Harbour Choir,asa@example.org,français
C-2,Maria,Keller,Harbour Choir,maria@example.org,
C-3,Joris,van den Eikhof,Valley Orchestra,joris@example.org,
C-4,Bo,Lind,Valley Orchestra,bo@example.org,Klingonisch?
C-5,Ewa,Zielna,Valley Orchestra,ewa@example.org,polnisch
"""


@pytest.fixture(scope="session")
def shot_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shoot in German with an Italian group and somebody French, two frames each."""

    def make(folder: Path) -> None:
        (folder / "list.csv").write_text(LIST, encoding="utf-8")
        shoot = folder / "festival"
        made = [
            "new", str(shoot), "--name", "Festival", "--timezone", "Europe/Vienna", "--date", "2026-06-13",
            "--studio", "Studio Møll", "--reply-to", "pics@example.org", "--picks-due", "2126-07-01",
            "--language", "Deutsch", "--client", "Chorbüro",
        ]  # fmt: skip
        assert run(made) == 0
        settings = (shoot / "shoot.toml").read_text(encoding="utf-8").replace("[languages]\n", "")
        languages = '\n[languages]\n"valley orchestra" = "it"\n'
        (shoot / "shoot.toml").write_text(settings + languages, encoding="utf-8")
        assert run(["--shoot", str(shoot), "roster", "load", str(folder / "list.csv")]) == 0
        pictures = [folder / f"IMG_{number:04}.JPG" for number in range(1, 11)]
        for number, path in enumerate(pictures, start=1):
            Image.new("RGB", (240, 160), (20 * number, 90, 120)).save(path)
        assert run(["--shoot", str(shoot), "ingest", *map(str, pictures), "--camera", "A"]) == 0
        for person in range(1, 6):
            frames = f"A:{2 * person - 1:04}-{2 * person:04}"
            assert run(["--shoot", str(shoot), "frames", "give", frames, f"C-{person}"]) == 0

    return made_once(tmp_path_factory, "languages", make)


@pytest.fixture
def shot(shot_once: Path, onsite: Onsite, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Onsite:
    """Runs `onsite` in a copy of it."""
    copied(shot_once, tmp_path, "festival").engine.dispose()
    monkeypatch.chdir(tmp_path / "festival")
    return onsite


def mails(folder: str) -> list[tuple[email.message.EmailMessage, str, str]]:
    """(message, its text, its language)."""
    found = []
    for path in sorted((Path(folder) / "mails").iterdir()):
        message = email.message_from_bytes(path.read_bytes(), policy=email.policy.default)
        body = message.get_body()
        assert body is not None
        found.append((message, body.get_content().replace("\r\n", "\n"), body["Content-Language"]))
    return found


@pytest.mark.long
def test_the_column_is_found_kept_and_what_is_not_understood_is_said(shot: Onsite) -> None:
    told = shot("roster", "load", "../list.csv", "--dry-run")
    assert "language Klingonisch? of Bo Lind is not understood as a language" in told.out
    assert "language polnisch of Ewa Zielna is a language without texts here" in told.out
    people = shot("roster", "list", "--json").data["people"]
    assert [one["language"] for one in people] == ["français", "", "", "Klingonisch?", "polnisch"]


@pytest.mark.long
@pytest.mark.parametrize(
    "heading", ["Sprache", "langue", "Idioma", "Lingua", "Language", "preferred_language"]
)
def test_the_usual_headings_are_the_language(shot: Onsite, tmp_path: Path, heading: str) -> None:
    (tmp_path / "b.csv").write_text(LIST.replace("Sprache", heading), encoding="utf-8")
    assert shot("roster", "load", "../b.csv", "--json").data["changed"] == []


@pytest.mark.long
def test_another_heading_by_hand_and_a_change(shot: Onsite, tmp_path: Path) -> None:
    (tmp_path / "b.csv").write_text(
        LIST.replace("Sprache", "Blah").replace("français", "es"), encoding="utf-8"
    )
    assert shot("roster", "load", "../b.csv", "--map", "language=Blah").status == 0
    assert shot("roster", "list", "--json").data["people"][0]["language"] == "es"


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["--reply-to", "nobody"], "'nobody' is not a mail address"),
        (["--reply-to", "a@example.org?bcc=b@example.org"], "is not a mail address"),
        (["--language", "polnisch"], "has no texts here"),
        (["--language", "mumbled"], "is not understood"),
        (["--picks-due", "soon"], "'soon' is not a date"),
    ],
)
def test_what_a_new_shoot_is_not_made_with(onsite: Onsite, arguments: list[str], told: str) -> None:
    assert told in refused(onsite("new", "x", "--name", "X", *arguments))
    assert not Path("x").exists()


@pytest.mark.long
def test_a_wrong_line_in_the_settings_is_named(shot: Onsite) -> None:
    text = Path("shoot.toml").read_text(encoding="utf-8")
    Path("shoot.toml").write_text(text.replace('"it"', '"mumbled"'), encoding="utf-8")
    assert "valley orchestra" in refused(shot("proofs", "build", "../out"))
    Path("shoot.toml").write_text(text.replace('"pics@example.org"', '"pics"'), encoding="utf-8")
    assert "'pics' is not a mail address" in refused(shot("status"))


@pytest.mark.long
def test_pages_are_in_the_persons_the_groups_or_the_shoots_language(shot: Onsite, tmp_path: Path) -> None:
    built = shot("proofs", "build", "../out")
    assert built.status == 0
    assert "shoot.toml" not in built.out  # nothing is missing
    with (tmp_path / "out" / "private" / "pages.csv").open(encoding="utf-8-sig", newline="") as file:
        pages = {
            row["key"]: (tmp_path / "out" / row["page"]).read_text("utf-8") for row in csv.DictReader(file)
        }
    said = {key: re.search(r'<html lang="([\w-]+)"', page)[1] for key, page in pages.items()}  # type: ignore[index]
    assert said == {"C-1": "fr", "C-2": "de", "C-3": "it", "C-4": "it", "C-5": "it"}
    for key, page in pages.items():
        words = catalogue(said[key])
        for told in ("Studio Møll", "pics@example.org", words.day("2126-07-01"), words.day("2026-06-13")):
            assert told in page
        assert words.text("page-unretouched") in page
    assert shot("proofs", "build", "../out", "--json").data["made"] == 0
    text = Path("shoot.toml").read_text(encoding="utf-8")
    Path("shoot.toml").write_text(text.replace("Studio Møll", "Studio Moll"), encoding="utf-8")
    assert shot("proofs", "build", "../out", "--json").data["made"] == 5


@pytest.mark.long
def test_what_nobody_said_is_hinted_at_once_and_all_works(festival: Onsite, tmp_path: Path) -> None:
    Image.new("RGB", (120, 80)).save(tmp_path / "IMG_0001.JPG")
    festival("ingest", "../IMG_0001.JPG", "--camera", "A")
    festival("frames", "give", "A:0001", "C-1")
    text = Path("shoot.toml").read_text(encoding="utf-8")
    old = re.sub(r"(?m)^(studio|reply_to|picks_due|language) = .*\n|^\[languages\]\n", "", text)
    Path("shoot.toml").write_text(old, encoding="utf-8")
    hint = 'put studio = "…", reply_to = "…" under [agreed] in shoot.toml'
    built = festival("proofs", "build", "../out")
    assert built.out.count(hint) == 1
    written = festival("proofs", "mails", "../out")
    assert written.out.count(hint) == 1
    Path("shoot.toml").write_text(text.replace('studio = ""', 'studio = "S"'), encoding="utf-8")
    assert 'put reply_to = "…" under' in festival("proofs", "build", "../out").out


@pytest.mark.long
def test_a_mail_for_each_says_that_the_proofs_are_there(shot: Onsite) -> None:
    shot("proofs", "build", "../out")
    done = shot("proofs", "mails", "../out", "--at", "https://proofs.example.org/f", "--json").data
    assert (done["mails"], done["with_sheet"], done["of"]) == (5, 0, "proofs")
    languages = []
    for message, text, language in mails(done["folder"]):
        words = catalogue(language)
        languages.append(words.tag)
        assert message["Reply-To"] == "pics@example.org"
        assert message["Subject"] == words.text("mail-ready-subject", shoot="Festival")
        assert "https://proofs.example.org/f/" in text
        assert words.text("mail-page-choose", picks=1) in text
        assert words.text("mail-by", day=words.day("2126-07-01")) in text
        assert text.endswith("Studio Møll\npics@example.org\n")
        assert words.day("2026-06-13") in text
        assert "A:00" not in text  # in a reply that quotes it, it would be picked
    assert languages == ["fr", "de", "it", "it", "it"]
    again = shot("proofs", "mails", "../out")
    assert again.out.splitlines() == [
        "Nobody is to be written to.",
        "Written to already, so left alone: 5 (--again takes them in).",
    ]
    assert "left alone: 5" in shot("remind").out  # not within a day
    shot("frames", "aside", "A:0002")
    shot("proofs", "build", "../out")
    assert shot("proofs", "mails", "../out", "--json").data["people"] == ["C-1"]


@pytest.mark.long
def test_without_an_address_the_sheet_goes_with_the_mail(shot: Onsite, tmp_path: Path) -> None:
    shot("proofs", "build", "../out")
    refused(shot("proofs", "mails", "../nowhere"))
    written = shot("proofs", "mails", "../out", "--group", "Harbour Choir")
    assert "With the proof sheet, where no address of a page is known (--at): 2." in written.out
    (folder,) = (Path("reminders")).iterdir()
    for message, text, language in mails(str(folder)):
        (sheet,) = message.iter_attachments()
        assert (sheet.get_content_type(), sheet.get_content()[:4]) == ("application/pdf", b"%PDF")
        assert catalogue(language).text("mail-sheet-choose", picks=1) in text
    with (folder / "merge.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["language"] for row in rows] == ["fr", "de"]
    assert all(Path(row["attachment"]).is_file() for row in rows)
    sheets = tmp_path / "out" / "private" / "sheets"
    for path in sheets.glob("*.pdf"):
        path.unlink()
    assert "is not in that folder" in refused(shot("proofs", "mails", "../out", "--again"))


@pytest.mark.long
@pytest.mark.parametrize(
    "reply",
    long_after(
        2,
        [
            "A:0002",
            "0002 Åsa Lindqvarn",
            "Åsa Lindqvarn: 2",
            "Bonjour,\n\nA:0002\n\nÅsa Lindqvarn",
            "0002",
        ],
    ),
)
def test_a_number_sent_back_is_read(shot: Onsite, tmp_path: Path, reply: str) -> None:
    shot("proofs", "build", "../out")
    (tmp_path / "reply.txt").write_text(reply + "\n", encoding="utf-8")
    taken = shot("picks", "load", "../reply.txt", "--json").data["taken"]
    assert [(one["key"], [pick["frame"] for pick in one["picks"]]) for one in taken] == [("C-1", ["A:0002"])]


@pytest.mark.long
@pytest.mark.parametrize("language", long_after(2, CATALOGUES))
def test_reminders_receipts_and_the_clients_report_are_in_each_language(
    shot: Onsite, tmp_path: Path, language: str
) -> None:
    text = Path("shoot.toml").read_text(encoding="utf-8")
    Path("shoot.toml").write_text(
        text.replace('language = "de"', f'language = "{language}"').replace('"it"', f'"{language}"'),
        encoding="utf-8",
    )
    words = catalogue(language)
    shot("proofs", "build", "../out")
    shot("proofs", "mails", "../out")
    folder = shot("remind", "--again", "--group", "Valley Orchestra", "--json").data["folder"]
    for message, mail, _ in mails(folder):
        assert message["Subject"] == words.text("mail-remind-subject", shoot="Festival", picks=1)
        assert words.text("mail-crossed") in mail
        assert words.text("mail-page-elsewhere", picks=1) in mail
    assert shot("report", "../report.html").status == 0
    page = (tmp_path / "report.html").read_text(encoding="utf-8")
    assert f'<html lang="{language}">' in page
    for message_id in ("report-stages", "report-make-up", "report-everybody", "stage-at-retouch"):
        assert words.text(message_id) in page
    shot("report", "../books.html", "--books")
    assert '<html lang="en">' in (tmp_path / "books.html").read_text(encoding="utf-8")
    shot("picks", "add", "C-1", "A:0001")
    delivered = shot("deliver", "../finished", "--originals", "--json")
    if delivered.status == 0 and delivered.data.get("receipt"):
        receipt = Path(delivered.data["receipt"]).read_text(encoding="utf-8")
        assert f'<html lang="{language}">' in receipt
        assert words.text("receipt-head", shoot="Festival", number=1) in receipt
        assert "Studio Møll" in receipt
