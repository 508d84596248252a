"""Answers to proofs as mail programs write and save them, through `onsite picks load`."""

# ruff: noqa: E501 (mails as they are written)

from __future__ import annotations

import csv
import mailbox
import shutil
from dataclasses import replace
from email.message import EmailMessage
from email.policy import SMTP
from pathlib import Path

import pytest

from onsite.core.codes import holder_of, pick_code
from onsite.proofs.build_proofs import build_proofs
from onsite.roster.read_people import read_people
from onsite.store.settings import Agreement, Settings
from onsite.store.shoot import create_shoot
from tests.cli.command_line import Onsite, Outcome
from tests.proofs.studio import photographed
from tests.tiers import long_after

ROSTER = """key,given,family,group,email,consent
S-1,Mira,Okafor,Soprano,mira@example.org,yes
S-2,Tomas,Brandl,Bass,"brandl@example.org, tomas@example.org",yes
S-3,Lena,Brandl,Alto,brandl@example.org,yes
"""
FRAMES = {
    "S-1": ["IMG_0041.JPG", "IMG_0042.JPG", "IMG_0043.JPG"],
    "S-2": ["IMG_0051.JPG", "IMG_0052.JPG"],
    "S-3": ["IMG_0061.JPG"],
}
CODES: dict[str, str] = {}


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shoot whose proofs are out, two pictures agreed for each; and the codes of everybody in `CODES`."""
    folder = tmp_path_factory.mktemp("template")
    terms = replace(Settings(name="Day", timezone="Europe/Vienna"), agreed=Agreement(picks=2))
    shoot = create_shoot(folder / "day", terms, "ACDE")
    photographed(shoot, folder, FRAMES, ROSTER)
    build_proofs(shoot, folder / "out")
    with shoot.reading() as session:
        for person in read_people(session):
            CODES[person.key] = pick_code(shoot.mark, holder_of(person.code), [0])
            CODES[f"{person.key} two"] = pick_code(shoot.mark, holder_of(person.code), [0, 1])
            CODES[f"{person.key} ticket"] = person.code
    shoot.engine.dispose()
    return folder / "day"


@pytest.fixture
def asked(onsite: Onsite, template: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Onsite:
    """`onsite` in a copy of that shoot."""
    shutil.copytree(template, tmp_path / "day")
    monkeypatch.chdir(tmp_path / "day")
    return onsite


def mail(text: str, sender: str = "Mira Okafor <mira@example.org>", html: str = "") -> EmailMessage:
    message = EmailMessage(SMTP)
    message["From"] = sender
    message["To"] = "studio@example.org"
    message["Subject"] = "Re: Your pictures of Day"
    message["Message-ID"] = "<1@example.org>"
    message["Date"] = "Fri, 12 Jun 2026 10:00:00 +0200"
    if text:
        message.set_content(text)
    if html and text:
        message.add_alternative(html, subtype="html")
    elif html:
        message.set_content(html, subtype="html")
    return message


def load(asked: Onsite, content: str | bytes | EmailMessage, name: str = "answer.eml") -> Outcome:
    if isinstance(content, EmailMessage):
        content = content.as_bytes()
    Path(name).write_bytes(content if isinstance(content, bytes) else content.encode())
    return asked("picks", "load", name, "--json")


def taken(done: Outcome) -> dict[str, list[str]]:
    return {one["key"]: [pick["frame"] for pick in one["picks"]] for one in done.data["taken"]}


def told(done: Outcome) -> list[tuple[str, str, str]]:
    """(where, what, why) of everything that was not taken."""
    listed = done.data["refused"] + done.data["unsure"]
    return [(one["where"], one["text"], one["reason"]) for one in listed]


NOBODY = "Somebody <someone@example.net>"
QUOTED = {
    "marks": "Hi,\n\n> My pick code: CODE\n> IMG_0042.JPG\n>> A:0043\n",
    "marks without a space": "Hi,\n>CODE\n>IMG_0042.JPG",
    "initials": "Hi,\nMO> CODE\nMO> IMG_0042.JPG",
    "English": "Hi,\n\nOn Fri, 12 Jun 2026 at 10:00, Vera Holm <vera@example.org> wrote:\n\nCODE\n\nIMG_0042.JPG",
    "English, wrapped": "Hi,\n\nOn Fri, 12 Jun 2026 at 10:00, Vera Holm\n<vera@example.org> wrote:\nCODE\nIMG_0042.JPG",
    "German": "Hallo,\n\nAm 12.06.2026 um 10:00 schrieb Vera Holm <vera@example.org>:\nCODE\nIMG_0042.JPG",
    "German, the other way": "Hallo,\n\nVera Holm hat am 12.06.2026 10:00 geschrieben:\nCODE\nIMG_0042.JPG",
    "French": "Bonjour,\n\nLe ven. 12 juin 2026 à 10:00, Vera Holm <vera@example.org> a écrit\u00a0:\nCODE\nIMG_0042.JPG",
    "Spanish": "Hola,\n\nEl vie, 12 jun 2026 a las 10:00, Vera Holm (<vera@example.org>) escribió:\nCODE\nIMG_0042.JPG",
    "Italian": "Ciao,\n\nIl giorno ven 12 giu 2026 alle ore 10:00 Vera Holm <vera@example.org> ha scritto:\nCODE\nA:0042",
    "Dutch": "Hallo,\n\nOp vr 12 jun 2026 om 10:00 schreef Vera Holm <vera@example.org>:\nCODE\nIMG_0042.JPG",
    "Swedish": "Hej,\n\nDen fre 12 juni 2026 kl 10:00 skrev Vera Holm <vera@example.org>:\nCODE\nIMG_0042.JPG",
    "Portuguese": "Oi,\n\nVera Holm <vera@example.org> escreveu em sex., 12/06/2026 às 10:00:\nCODE\nIMG_0042.JPG",
    "Polish": "Witam,\n\nW dniu 12.06.2026 o 10:00, Vera Holm pisze:\nCODE\nIMG_0042.JPG",
    "date and address": "Hi,\n\n2026-06-12 10:00 GMT+02:00 Vera Holm <vera@example.org>:\nCODE\nIMG_0042.JPG",
    "Original Message": "Hi,\n\n-----Original Message-----\nFrom: Vera Holm\nCODE\nIMG_0042.JPG",
    "Ursprüngliche Nachricht": "Hallo,\n\n-----Ursprüngliche Nachricht-----\nVon: Vera Holm\nCODE\nIMG_0042.JPG",
    "Message d'origine": "Bonjour,\n\n-----Message d'origine-----\nDe : Vera Holm\nCODE\nIMG_0042.JPG",
    "forwarded": "See below.\n\nBegin forwarded message:\n\nCODE\nIMG_0042.JPG",
    "head, English": "Hi,\n\nFrom: Vera Holm\nSent: 12 June 2026 10:00\nTo: Mira Okafor\nSubject: Day\n\nCODE\nA:0042",
    "head, under a rule": "Hi,\n\n________________________________\nFrom: Vera Holm\nSent: 12 June\nTo: Mira\n\nCODE\nA:0042",
    "head, German": "Hallo,\n\nVon: Vera Holm\nGesendet: Freitag, 12. Juni 2026\nAn: Mira\nBetreff: Day\n\nCODE\nA:0042",
    "head, French": "Bonjour,\n\nDe : Vera Holm\nEnvoyé : vendredi 12 juin\nÀ : Mira\nObjet : Day\n\nCODE\nA:0042",
    "head, Spanish": "Hola,\n\nDe: Vera Holm\nEnviado: viernes 12\nPara: Mira\nAsunto: Day\n\nCODE\nA:0042",
    "head, Italian": "Ciao,\n\nDa: Vera Holm\nInviato: venerdì 12\nA: Mira\nOggetto: Day\n\nCODE\nA:0042",
    "head, bold": "Hi,\n\n*From:* Vera Holm\n*Date:* 12 June 2026\n*To:* Mira\n*Subject:* Day\n\nCODE\nA:0042",
}  # fmt: skip
"""Quoting styles, from memory of what mail programs write."""


@pytest.mark.parametrize("saved", long_after(1, ["eml", "txt"]))
@pytest.mark.parametrize("style", long_after(8, QUOTED))
def test_quoted_text_picks_nothing_and_notes_nothing(asked: Onsite, style: str, saved: str) -> None:
    text = QUOTED[style].replace("CODE", CODES["S-1 two"])
    done = load(asked, mail(text, NOBODY) if saved == "eml" else text, f"answer.{saved}")
    assert done.status == 2
    assert taken(done) == {}
    reasons = {why for _, what, why in told(done) if "0042" in what or "PK" in what.upper()}
    assert reasons == {"it is quoted from another mail, and picks nothing"}


def test_answers_between_and_under_marked_lines_count(asked: Onsite) -> None:
    text = (
        "Hello,\n\nOn Fri, 12 Jun 2026 at 10:00, Vera Holm wrote:\n> Which one would you like?\n42\n"
        "> Shall we remove the glare, as in A:0043?\nyes, please remove it\n> Kind regards\n"
    )
    done = load(asked, mail(text))
    assert taken(done) == {"S-1": ["A:0042"]}
    assert done.data["taken"][0]["note"] == "yes, please remove it"


def test_html_is_read_as_what_it_shows(asked: Onsite) -> None:
    html = (
        "<html><head><style>p { content: 'A:0043' }</style></head><body><p>Hallo!</p>"
        "<div>Ich nehme <b>Bild</b>&nbsp;<span>42</span><br>Die Kr&uuml;mel bitte weg</div>"
        "<div class='x'>Am 12.06.2026 schrieb Vera &lt;vera@example.org&gt;:<br></div>"
        "<blockquote><div>IMG_0043.JPG</div><p>CODE</p></blockquote></body></html>"
    )
    done = load(asked, mail("", html=html.replace("CODE", CODES["S-1"])))
    assert taken(done) == {"S-1": ["A:0042"]}
    assert done.data["taken"][0]["note"] == "Die Krümel bitte weg"
    page = html.replace("Ich nehme <b>Bild</b>&nbsp;<span>42</span>", "A:0042")
    assert taken(load(asked, page, "saved.html")) == {"S-1": ["A:0042"]}


SHORT_HEADS = {
    "rule": "<hr><div><b>Von:</b> Vera Holm<br><b>Datum:</b> 12.06.2026</div>",
    "line above": "<div style='border:none;border-top:solid #E1E1E1 1.0pt'><p><b>From:</b> Vera Holm<br><b>Sent:</b> 12 June</p></div>",
    "head by its id": "<div id='x_divRplyFwdMsg' dir='ltr'><b>From:</b> Vera Holm<br><b>Sent:</b> 12 June</div>",
}


@pytest.mark.parametrize("head", SHORT_HEADS)
def test_html_under_a_rule_and_a_short_head_is_quoted(asked: Onsite, head: str) -> None:
    html = f"<div>42</div><div>the glare off, please</div>{SHORT_HEADS[head]}<p>43</p><p>IMG_0041.JPG</p>"
    done = load(asked, mail("", html=html))
    assert taken(done) == {"S-1": ["A:0042"]}
    assert done.data["taken"][0]["note"] == "the glare off, please"
    assert [(what, why) for _, what, why in told(done)] == [
        ("IMG_0041.JPG", "it is quoted from another mail, and picks nothing")
    ]


def test_a_rule_alone_quotes_nothing(asked: Onsite) -> None:
    done = load(asked, mail("", html="<p>Hello</p><hr><p>42</p><hr><p style='border-top: 0'>thin frame</p>"))
    assert taken(done) == {"S-1": ["A:0042"]}
    assert done.data["taken"][0]["note"] == "thin frame"


def test_a_number_beside_a_greeting_is_listed_with_what_to_do(asked: Onsite) -> None:
    done = load(asked, mail("Hello, I take 0042.\n"))
    assert taken(done) == {}
    why = "a number among words picks nothing, the number alone on its line does"
    assert told(done) == [("line 1", "0042.", why)]


def test_of_two_texts_that_say_the_same_the_plain_one_is_read(asked: Onsite) -> None:
    done = load(asked, mail("42\nFür Größe\n", html="<p>42</p><p>Für Größe</p>"))
    assert taken(done) == {"S-1": ["A:0042"]}
    assert done.data["taken"][0]["note"] == "Für Größe"


@pytest.mark.parametrize("encoding", ["quoted-printable", "base64", "8bit"])
@pytest.mark.parametrize("charset", ["utf-8", "iso-8859-1", "windows-1252"])
def test_encodings_and_charsets_are_decoded(asked: Onsite, encoding: str, charset: str) -> None:
    message = mail("")
    note = "Die Größe prüfen, " + "und das Licht " * 12
    message.set_content(f"{CODES['S-1 two']}\n{note}\n", charset=charset, cte=encoding)
    done = load(asked, message)
    assert taken(done) == {"S-1": ["A:0041", "A:0042"]}
    assert done.data["taken"][0]["note"] == note.strip()


def test_lines_that_were_broken_to_be_narrow_are_joined(asked: Onsite) -> None:
    # RFC 3676, 4.1: a line that ends in a space goes on in the next one.
    first, rest = CODES["S-1 two"][:10], CODES["S-1 two"][10:]
    message = mail(f"My code: {first}".rstrip() + " \n" + rest + "\n")
    message.set_param("format", "flowed")
    assert taken(load(asked, message)) == {"S-1": ["A:0041", "A:0042"]}


def test_many_mails_in_one_file(asked: Onsite) -> None:
    box = mailbox.mbox("answers.mbox")
    box.add(mail("No. 42\n\nThanks!\n-- \nMira, A:0043\n").as_bytes())
    box.add(mail("the second one please\n", NOBODY).as_bytes())
    box.add(mail(f"{CODES['S-3']}\nkeep the scar\n", "brandl@example.org").as_bytes())
    box.close()
    done = asked("picks", "load", "answers.mbox", "--json")
    assert taken(done) == {"S-1": ["A:0042"], "S-3": ["A:0061"]}
    assert ("mail 2 (someone@example.net, Re: Your pictures of Day), line 1", "the second one please",
            "it is not understood") in told(done)  # fmt: skip
    said = asked("picks", "load", "answers.mbox").out
    assert "answers.mbox, mail 2 (someone@example.net, Re: Your pictures of Day), line 1" in said
    assert "it stands under a signature, and picks nothing" in said


@pytest.mark.parametrize("sender", ["mira@example.org", NOBODY])
def test_what_is_not_understood_is_listed_with_its_line(asked: Onsite, sender: str) -> None:
    done = load(asked, mail("Dear Vera\n\nthe second one please\n\nBest wishes\n", sender))
    assert done.status == 2
    assert told(done) == [("line 3", "the second one please", "it is not understood")]
    said = asked("picks", "load", "answer.eml").out
    assert "not taken: answer.eml, line 3: the second one please: it is not understood" in said


def test_what_is_not_understood_is_listed_beside_what_is(asked: Onsite) -> None:
    done = load(
        asked, "A:0042\n\nand for my sister the one with the hat\n\nHi,\nthe blue one\n", "answers.txt"
    )
    assert taken(done) == {"S-1": ["A:0042"]}
    assert [(where, what) for where, what, _ in told(done)] == [
        ("row 3", "and for my sister the one with the hat"), ("row 6", "the blue one"),
    ]  # fmt: skip


@pytest.mark.parametrize("text", ["42", "No. 42", "Nr. 42", "number 42", "Bild 42, bitte", "Photo n° 42 merci", "0042",
                                  "42.", "I'd like picture 42", "#42"])  # fmt: skip
def test_a_number_alone_is_the_number_under_the_senders_picture(asked: Onsite, text: str) -> None:
    assert taken(load(asked, mail(f"Hello!\n{text}\n"))) == {"S-1": ["A:0042"]}


@pytest.mark.parametrize(
    "text", ["number 41 and 43", "41, 43", "41\n43", "Nr. 41 und Nr. 43", "pictures 41 & 43"]
)
def test_several_numbers_are_several_pictures(asked: Onsite, text: str) -> None:
    assert taken(load(asked, mail(text))) == {"S-1": ["A:0041", "A:0043"]}


def test_a_code_makes_the_person_of_a_mail_known(asked: Onsite) -> None:
    done = load(asked, mail(f"My code: {CODES['S-2 ticket']}\n\n52\n", NOBODY))
    assert taken(done) == {"S-2": ["A:0052"]}


@pytest.mark.parametrize(
    ("text", "sender", "why"),
    [
        ("42", NOBODY, "a number alone needs a person"),
        ("61", "brandl@example.org", "a number alone needs a person"),  # an address of two people
        ("51", "mira@example.org", "no picture of Mira Okafor with the number 51"),
        ("2", "mira@example.org", "no picture of Mira Okafor with the number 2"),
        ("Lena Brandl\n42", "mira@example.org", "the mail may be about Lena Brandl, Mira Okafor"),
        ("A:0061", "mira@example.org", "it is not a frame of Mira Okafor"),
        ("41, 42, 43", "mira@example.org", "3 picks, and 2 are agreed; none was taken"),
    ],
)
def test_a_number_that_is_not_clear_is_refused(asked: Onsite, text: str, sender: str, why: str) -> None:
    done = load(asked, mail(text, sender))
    assert taken(done) == {}
    assert any(reason.startswith(why) for _, _, reason in told(done)), told(done)


@pytest.mark.long
def test_a_small_number_that_may_be_the_place_or_the_label_is_refused(asked: Onsite, tmp_path: Path) -> None:
    from tests.proofs.studio import frame

    for number in (1, 2):
        frame(tmp_path / "card" / f"IMG_000{number}.JPG", (9, 9, 9 + number))
    assert asked("ingest", tmp_path / "card", "--camera", "A").status == 0
    assert asked("frames", "give", "IMG_0001.JPG", "IMG_0002.JPG", "S-3").status == 0
    assert asked("proofs", "build", tmp_path / "out").status == 0
    done = load(asked, mail(f"{CODES['S-3 ticket']}\n2\n", NOBODY))
    assert taken(done) == {}
    assert "it may be A:0002, or the picture in that place, A:0001: which?" in [
        why for _, _, why in told(done)
    ]


@pytest.mark.parametrize("text", ["I was there at 42", "2 prints, please", "I would like 2", "42-43", "call me: 0041 42",
                                  "Mira Okafor was number 42 in the line"])  # fmt: skip
def test_a_number_among_words_picks_nothing_and_is_told(asked: Onsite, text: str) -> None:
    done = load(asked, mail(text))
    assert taken(done) == {}
    assert told(done)


def groups(key: str) -> list[str]:
    return CODES[key].split()


@pytest.mark.parametrize(
    ("cut", "why"),
    [
        (lambda code: " ".join(code.split()[:-1]), "is not whole"),
        (lambda code: " ".join(code.split()[:-2]), "is not whole"),
        (lambda code: " ".join(code.split()[:2]), "is not whole"),
        (lambda code: code[:-1], "is not whole"),
        (lambda code: code[:6] + code[7:], "has 3 characters instead of 4"),
        (lambda code: code.replace(" ", "")[:-1], "is not whole"),
        (lambda code: code[:5] + "O" + code[6:], "no code has O in it"),
    ],
)
@pytest.mark.parametrize("which", ["S-1", "S-1 two"])
@pytest.mark.parametrize(
    "written", long_after(1, ["{}", "My pick code: {}", "Hello, it is {}, thanks a lot", "{} is mine"])
)
def test_an_incomplete_code_is_told_with_what_is_missing(asked: Onsite, cut, why, which, written) -> None:  # type: ignore[no-untyped-def]
    done = load(asked, mail(written.format(cut(CODES[which])), NOBODY))
    assert taken(done) == {}
    assert done.status == 2
    # What is left of a code passes its check by chance once in 37 times: then it is a code of another shoot.
    assert any(why in reason or "of another shoot" in reason for _, _, reason in told(done)), told(done)


def test_attachments_are_listed_as_not_read(asked: Onsite) -> None:
    message = mail("42\n")
    message.add_attachment(b"%PDF-1.7", maintype="application", subtype="pdf", filename="choice.pdf")
    message.add_attachment(b"A:0043", maintype="text", subtype="plain", filename="choice.txt")
    done = load(asked, message)
    assert taken(done) == {"S-1": ["A:0042"]}
    assert [(what, why) for _, what, why in told(done)] == [
        ("choice.pdf", "it is attached and not read: save it, and load it"),
        ("choice.txt", "it is attached and not read: save it, and load it"),
    ]


def test_an_answer_in_the_subject_is_told(asked: Onsite) -> None:
    message = mail("Best wishes\n")
    message.replace_header("Subject", "Re: 42")
    assert told(load(asked, message)) == [("head", "Re: 42", "it stands in the subject, and picks nothing")]


@pytest.mark.parametrize(
    ("content", "name", "what"),
    [
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "answer.msg", "a mail as one program keeps it"),
        (b"{\\rtf1 A:0042}", "answer.rtf", "an RTF text"),
    ],
)
def test_other_ways_to_keep_a_mail_are_refused_whole(
    asked: Onsite, content: bytes, name: str, what: str
) -> None:
    done = load(asked, content, name)
    assert done.status == 2
    assert what in done.data["error"]


def test_a_mail_that_cannot_be_read_is_refused_with_a_word(asked: Onsite) -> None:
    message = mail("")
    message["MIME-Version"] = "1.0"
    message["Content-Type"] = 'multipart/encrypted; protocol="application/pgp-encrypted"; boundary="b"'
    content = (
        message.as_bytes() + b"--b\r\nContent-Type: application/pgp-encrypted\r\n\r\nVersion: 1\r\n--b--\r\n"
    )
    done = load(asked, content)
    assert done.status == 2
    assert "it is encrypted" in told(done)[0][2]


@pytest.mark.parametrize(
    "junk", [b"From: <\r\n", b"From: =?utf-8?q?=ff?= <a@\r\nContent-Type: text/plain; charset=x-no\r\n"]
)
def test_a_damaged_head_is_no_traceback(asked: Onsite, junk: bytes) -> None:
    done = load(asked, junk + b"Date: no\r\nMessage-ID: <\r\nSubject: x\r\n\r\nA:0042\r\n\xff\xfe\r\n")
    assert taken(done) == {"S-1": ["A:0042"]}


def test_a_line_of_a_mail_that_begins_like_the_next_mail_is_read(asked: Onsite) -> None:
    box = mailbox.mbox("answers.mbox")
    box.add(mail("A:0042\nFrom the left side, please take the glare off\n").as_bytes())
    box.close()
    done = asked("picks", "load", "answers.mbox", "--json")
    assert taken(done) == {"S-1": ["A:0042"]}
    assert done.data["taken"][0]["note"] == "From the left side, please take the glare off"


def test_a_wish_beside_a_frames_name_is_kept_as_a_note(asked: Onsite) -> None:
    done = load(asked, mail("Hello!\nA:0042, but without the glare\n"))
    assert taken(done) == {"S-1": ["A:0042"]}
    assert done.data["taken"][0]["note"] == "A:0042, but without the glare"


def test_a_line_between_groups_of_a_typed_list_is_no_quotation(asked: Onsite) -> None:
    done = load(asked, "---- Sopranos ----\nA:0042\n==== Altos ====\nA:0061\n", "answers.txt")
    assert taken(done) == {"S-1": ["A:0042"], "S-3": ["A:0061"]}


def test_mails_pasted_under_each_other_are_known_by_sender_and_subject(asked: Onsite) -> None:
    mails = f"From: Mira\nSubject: mine\n\n{CODES['S-1']}\n\nFrom: Lena\nSubject: mine\n\n{CODES['S-3']}\n"
    assert taken(load(asked, mails, "answers.txt")) == {"S-1": ["A:0041"], "S-3": ["A:0061"]}


def test_forgetting_one_person_leaves_mails_and_proofs_of_the_others(asked: Onsite) -> None:
    assert asked("proofs", "build", "proofs").status == 0
    assert asked("proofs", "mails", "proofs").status == 0
    mails = {path.name: path for path in Path("reminders").rglob("*.eml")}
    assert sorted(mails) == ["0001 S-1.eml", "0002 S-2.eml", "0003 S-3.eml"]
    (table,) = Path("reminders").rglob("merge.csv")
    done = asked("forget", "S-2", "--json").data
    assert str(mails["0002 S-2.eml"].absolute()) in done["deleted"]
    assert [name for name, path in mails.items() if path.exists()] == ["0001 S-1.eml", "0003 S-3.eml"]
    rows = list(csv.DictReader(table.read_text(encoding="utf-8-sig").splitlines(keepends=True)))
    assert [row["key"] for row in rows] == ["S-1", "S-3"]
    assert sorted(Path(path).name for path in done["blanked"]) == ["made.json", "merge.csv", "pages.csv"]
    files = [path for path in Path("proofs").rglob("*") if path.is_file()]
    assert [path for path in files if b"Tomas" in path.read_bytes() or "Tomas" in path.name] == []
    assert sum(path.suffix == ".pdf" for path in files) == 2
    assert asked("proofs", "build", "proofs").status == 0
