"""Picks back, in whatever shape they come."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest

from onsite.core.codes import holder_of, pick_code
from onsite.core.errors import Problem
from onsite.frames.ingest import ingest
from onsite.picks.load_picks import load_picks
from onsite.picks.pick_load_result import LoadedPicks
from onsite.picks.record_picks import add_picks, read_picks
from onsite.proofs.build_proofs import build_proofs
from onsite.reconcile.overrides import give, set_aside
from onsite.roster.read_people import read_people
from onsite.status.picture_status import read_picture_statuses
from onsite.store.events import EventKind, read_events
from onsite.store.shoot import Shoot
from tests.proofs.studio import agreed, frame


def loaded(shoot: Shoot, folder: Path, text: str, name: str = "picks.txt") -> LoadedPicks:
    (folder / name).write_text(text, encoding="utf-8")
    return load_picks(shoot, folder / name)


def picked(shoot: Shoot) -> dict[str, list[str]]:
    """Key -> labels, of everybody who has picked."""
    return {one.person.key: [label for label, _ in one.picks] for one in read_picks(shoot) if one.picks}


def code_of(shoot: Shoot, key: str, pictures: list[int]) -> str:
    with shoot.reading() as session:
        person = next(person for person in read_people(session) if person.key == key)
    return pick_code(shoot.mark, holder_of(person.code), pictures)


def reasons(done: LoadedPicks) -> list[tuple[int, str]]:
    return [(row, why) for row, _, why in done.refused.first]


@pytest.mark.parametrize(
    "text",
    [
        "A:0002",
        "A:2",
        "a:0002",
        "IMG_0002.JPG",
        "img_0002.jpg",
        "IMG_0002",
        "f2",
        "0002",
        "Mira Okafor would like f2",
        "key,file\nS-2,\nS-1,2\n",
        "Name:\nMira\nPicture:\nIMG_0002",
        "S-1 0002",
        "key,file\nS-1,IMG_0002",
        "Datei;Name\nIMG_0002.JPG;Okafor, Mira\n",
        "name\tcounter\nMira Okafor\t2\n",
        "nr,key,who,what\n7,S-1,Mira Okafor,IMG_0002.jpg\n8,S-2,,IMG_0011.jpg",
        "3;S-1;IMG_0002.JPG;2026-06-13\n9;S-2;IMG_0011.JPG;2026-06-13",
        "C:\\wedding\\IMG_0002.JPG",
        "/home/mira/IMG_0002.JPG",
        "Hello, I would like IMG_0002, please. Yours, Mira",
        "I'd like (A:0002).",
        "Mira Okafor: 0002",
        "given,family,picture\nMira,Okafor,2",
    ],
)
def test_a_pick_is_understood_however_it_is_written(studio: Shoot, tmp_path: Path, text: str) -> None:
    done = loaded(studio, tmp_path, text)
    assert picked(studio)["S-1"] == ["A:0002"]
    assert done.refused.count == 0


def test_an_xlsx_is_read_as_well(studio: Shoot, tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    for row in (["Picture", "Key"], [2, "S-1"], ["IMG_0011", "S-2"]):
        book.active.append(row)
    book.save(tmp_path / "picks.xlsx")
    load_picks(studio, tmp_path / "picks.xlsx")
    assert picked(studio) == {"S-1": ["A:0002"], "S-2": ["A:0011"]}


@pytest.mark.long
def test_a_pick_code_says_all_of_it(proofed: Shoot, tmp_path: Path) -> None:
    mail = f"""From: somebody
Subject: My choice

My pick code: {code_of(proofed, "S-1", [2, 0]).lower()}

Note A:0003: Stray hair; not so much like IMG_0004
Pictures: A:0003, A:0001
Mira Okafor
"""
    done = loaded(proofed, tmp_path, mail)
    assert reasons(done) == []
    assert picked(proofed) == {"S-1": ["A:0003", "A:0001"]}
    (one,) = done.people
    assert one.picks[0] == ("A:0003", "Stray hair; not so much like IMG_0004")


@pytest.mark.long
def test_a_code_from_an_older_page_still_says_what_was_chosen(proofed: Shoot, tmp_path: Path) -> None:
    code = code_of(proofed, "S-1", [3])  # IMG_0004, the last of four
    set_aside(proofed, ["IMG_0001.JPG"])
    build_proofs(proofed, tmp_path / "out")
    give(proofed, ["IMG_0001.JPG"], "S-1")
    loaded(proofed, tmp_path, code)
    assert picked(proofed) == {"S-1": ["A:0004"]}


def test_codes_that_say_nothing_here_are_refused(proofed: Shoot, tmp_path: Path) -> None:
    good = code_of(proofed, "S-1", [0])
    slip = good[:-1] + ("A" if good[-1] != "A" else "C")
    elsewhere = pick_code("HHHH", holder_of("NXHHHH34ACDE"), [0])
    beyond = code_of(proofed, "S-1", [40])
    done = loaded(proofed, tmp_path, "\n".join([slip, elsewhere, beyond, f"S-3 {good}"]))
    assert reasons(done) == [
        (1, "this pick code has a wrong character, or is not whole"),
        (2, "this pick code is of another shoot"),
        (3, "this pick code is of no proofs made here"),
        (4, "this pick code is that of Mira Okafor"),
    ]
    assert picked(proofed) == {}


def test_two_codes_of_one_person_are_for_somebody_to_decide(proofed: Shoot, tmp_path: Path) -> None:
    done = loaded(proofed, tmp_path, f"{code_of(proofed, 'S-1', [0])}\n{code_of(proofed, 'S-1', [1])}")
    assert [row for row, _ in reasons(done)] == [1, 2]
    assert picked(proofed) == {}


def test_what_a_code_does_not_say_is_refused_beside_it(proofed: Shoot, tmp_path: Path) -> None:
    done = loaded(proofed, tmp_path, f"{code_of(proofed, 'S-1', [0])}\nIMG_0002")
    assert reasons(done) == [(2, "the pick code in row 1 does not say it")]
    assert picked(proofed) == {"S-1": ["A:0001"]}


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("key,file\nS-1,IMG_0011\n", "it is not a frame of Mira Okafor"),
        ("key,file\nS-1,IMG_0999.JPG\n", "no frame is called that"),
        ("key,file\nS-9,IMG_0001\n", "S-9 is nobody here"),
        ("key,name,file\nS-1,Tomas Brandl,IMG_0001\n", "its columns name different people"),
        ("Mira Okafor,that one\nTomas Brandl,this one\n", "no frame is named in it"),
        ("key,file\nS-1,1 2 3\n", "3 picks, and 2 are agreed; none was taken"),
        ("IMG_0999.JPG", "no frame is called that"),
        (
            "12,4\n13,3",
            "a number alone may be anything: name frames by label, such as A:1043, or name the person",
        ),
    ],
)
def test_what_is_refused_is_told_with_row_and_reason(
    studio: Shoot, tmp_path: Path, text: str, why: str
) -> None:
    done = loaded(studio, tmp_path, text)
    assert why in [reason for _, reason in reasons(done)]
    assert picked(studio) == {}


def test_part_is_taken_where_part_is_right(studio: Shoot, tmp_path: Path) -> None:
    done = loaded(studio, tmp_path, "key,file\nS-1,IMG_0001\nS-2,IMG_0002\nS-2,IMG_0012\n")
    assert reasons(done) == [(3, "it is not a frame of Tomas Brandl")]
    assert picked(studio) == {"S-1": ["A:0001"], "S-2": ["A:0012"]}


def test_picked_twice_is_taken_once_and_told(studio: Shoot, tmp_path: Path) -> None:
    done = loaded(studio, tmp_path, "key,file\nS-1,IMG_0001\nS-1,A:0001\n")
    assert [(row, why) for row, _, why in done.repeated.first] == [(3, "row 2 says so already")]
    assert picked(studio) == {"S-1": ["A:0001"]}


def test_words_about_another_picture_in_a_note_are_no_picks(studio: Shoot, tmp_path: Path) -> None:
    done = loaded(studio, tmp_path, 'key,frame,note\nS-1,A:0001,"the tie as in A:0002"\nS-2,A:0011,\n')
    assert picked(studio) == {"S-1": ["A:0001"], "S-2": ["A:0011"]}
    assert done.people[0].picks == (("A:0001", "the tie as in A:0002"),)


def test_dates_times_and_telephone_numbers_in_a_mail_are_no_picks(studio: Shoot, tmp_path: Path) -> None:
    mail = (
        "Date: 12 June 2026 11:02\nTel 0001 22 31\nMeet at 21:00, room F2\nmine is IMG_0011.JPG\n1. Thanks\n"
    )
    done = loaded(studio, tmp_path, mail)
    assert picked(studio) == {"S-2": ["A:0011"]}
    assert {row for row, _, _ in done.unsure.first} == {1, 2, 3, 5}
    assert done.refused.count == 0


def test_a_line_of_numbers_is_all_taken(studio: Shoot, tmp_path: Path) -> None:
    loaded(studio, tmp_path, "0001, 0002\n0011")
    assert picked(studio) == {"S-1": ["A:0001", "A:0002"], "S-2": ["A:0011"]}


def test_a_code_counts_whoever_sent_it(proofed: Shoot, tmp_path: Path) -> None:
    loaded(proofed, tmp_path, f"name,code\nher mother,{code_of(proofed, 'S-1', [1])}\n")
    assert picked(proofed) == {"S-1": ["A:0002"]}


def test_a_name_that_two_frames_have_is_settled_by_the_person_only(studio: Shoot, tmp_path: Path) -> None:
    frame(tmp_path / "card-b" / "IMG_0001.JPG", (5, 5, 5))
    ingest(studio, [tmp_path / "card-b"], "A")  # its counter came round: label and name are those of f1
    give(studio, ["f10"], "S-2")
    done = loaded(studio, tmp_path, "IMG_0001.JPG")
    assert reasons(done) == [(1, "2 frames are called that, and the row does not say whose")]
    loaded(studio, tmp_path, "key,file\nS-2,IMG_0001.JPG\n")
    assert picked(studio) == {"S-2": ["f10"]}


def test_a_change_of_mind_is_kept_as_history_and_the_same_again_is_none(
    studio: Shoot, tmp_path: Path
) -> None:
    for text in ("A:0001", "A:0001", "A:0002\nA:0003", "A:0003\nA:0002"):
        loaded(studio, tmp_path, text)
    with studio.reading() as session:
        history = [event.details["frames"] for event in read_events(session, [EventKind.PICKED])]
    assert history == [[1], [2, 3]]


def test_a_note_stays_with_its_picture(studio: Shoot, tmp_path: Path) -> None:
    loaded(studio, tmp_path, "key,frame,note\nS-1,A:0001,lint\nS-2,A:0011,\n")
    loaded(studio, tmp_path, "key,frame\nS-1,A:0001\nS-1,A:0002\n")
    with studio.reading() as session:
        after = read_picture_statuses(session)[1]
    assert [(pick.frame, pick.note) for pick in after.picks] == [(1, "lint"), (2, "")]


def said(shoot: Shoot) -> dict[str, str]:
    """Key -> the note to all pictures, of everybody who wrote one."""
    return {one.person.key: one.note for one in read_picks(shoot) if one.note}


def test_what_is_written_under_a_code_is_that_persons_note(proofed: Shoot, tmp_path: Path) -> None:
    mails = f"""Hello, these are mine: {code_of(proofed, "S-1", [0])}
Please keep the scar
and take the lint\x07 off

Hello, these are mine: {code_of(proofed, "S-3", [1])}
Glare in the glasses
"""
    done = loaded(proofed, tmp_path, mails)
    assert said(proofed) == {
        "S-1": "Please keep the scar and take the lint off",
        "S-3": "Glare in the glasses",
    }
    assert done.refused.count == done.unsure.count == 0
    again = loaded(proofed, tmp_path, mails)
    assert not any(one.changed for one in again.people)


@pytest.mark.parametrize(
    ("mail", "note"),
    [
        ("Hello!\nMy pick code: CODE\n\nkeep the scar\nMira Okafor", "keep the scar"),
        ("keep the scar\nCODE", "keep the scar"),
        ("CODE, and keep the scar", "and keep the scar"),
        ("CODE\n\nPictures: A:0001\nMira Okafor\n\nkeep the scar", "keep the scar"),
        ("CODE\nkeep the scar\n\nOn Friday the studio wrote:\n> Dear Mira,\n> choose\n", "keep the scar"),
        ("CODE\nkeep the scar\n-- \nOkafor & daughters\n+00 123", "keep the scar"),
        ("Hello, it is CODE\nthe scar, please keep it", "the scar, please keep it"),
        ("key,code,note\nS-1,CODE,keep the scar", "keep the scar"),
        ("CODE\nnot like IMG_0011.JPG, please", "not like IMG_0011.JPG, please"),
        ("CODE\nthe tie as in 0002", "the tie as in 0002"),
        ("CODE\n> Note A:0001: lint\nNote A:0099: the scar", "Note A:0099: the scar"),
        ("CODE\nT-shirt: no logo\nHi, no smoothing\n<3 Mira", "T-shirt: no logo Hi, no smoothing <3 Mira"),
        pytest.param("CODE\n" + "scar " * 500, ("scar " * 200).strip(), id="long"),
    ],
)
def test_a_note_too_many_is_better_than_one_that_is_lost(
    proofed: Shoot, tmp_path: Path, mail: str, note: str
) -> None:
    done = loaded(proofed, tmp_path, mail.replace("CODE", code_of(proofed, "S-1", [0])))
    assert said(proofed) == {"S-1": note}
    assert picked(proofed) == {"S-1": ["A:0001"]}
    assert done.refused.count == 0


def test_words_that_may_be_two_peoples_are_told_and_nobodys_note(proofed: Shoot, tmp_path: Path) -> None:
    mails = f"""{code_of(proofed, "S-1", [0])}

take the mole off

{code_of(proofed, "S-3", [0])}
Subject: nothing of his
Best wishes
"""
    done = loaded(proofed, tmp_path, mails)
    assert said(proofed) == {}
    assert done.unsure.first == [(3, "take the mole off", "it lies between two pick codes; a note to whose?")]


def test_words_with_a_code_that_is_not_taken_are_told(proofed: Shoot, tmp_path: Path) -> None:
    loaded(proofed, tmp_path, "A:0001")
    code = code_of(proofed, "S-1", [0])
    done = loaded(proofed, tmp_path, f"{code[:-1]}{'A' if code[-1] != 'A' else 'C'}\nkeep the scar\n")
    assert done.unsure.first == [(2, "keep the scar", "it is with a pick code that was not taken")]
    assert said(proofed) == {}


@pytest.mark.parametrize(
    ("content", "what"),
    [
        (b"", "is empty"),
        (b"\n \n", "is empty"),
        (b"Dear all,\nthanks for the day!\n", "names no frame"),
        (b"\xff\xd8\xff\xe0" + b"x" * 100, "is a JPEG picture"),
        (b"%PDF-1.7 ...", "is a PDF"),
        (bytes(range(256)) * 20, "neither text nor a workbook"),
        (b'key,file\nS-1,IMG_0001\nS-2,"IMG_0011\n' + b"x,y\n" * 60_000, "is never closed"),
        (b"x" * 300_000, "row 1: longer"),
    ],
)
def test_a_file_that_holds_no_picks_is_one_problem(
    studio: Shoot, tmp_path: Path, content: bytes, what: str
) -> None:
    (tmp_path / "picks.txt").write_bytes(content)
    with pytest.raises(Problem, match=what):
        load_picks(studio, tmp_path / "picks.txt")


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "cp1252", "utf-8"])
def test_any_encoding_is_read(studio: Shoot, tmp_path: Path, encoding: str) -> None:
    text = "Schlüssel;Bild\r\nS-1;IMG_0001.JPG\r\nS-2;IMG_0012.JPG\r\n"
    (tmp_path / "picks.csv").write_bytes(text.encode(encoding))
    load_picks(studio, tmp_path / "picks.csv")
    assert picked(studio) == {"S-1": ["A:0001"], "S-2": ["A:0012"]}


@pytest.mark.long
def test_of_a_very_long_list_of_nothing_only_the_beginning_is_told(studio: Shoot, tmp_path: Path) -> None:
    rows = "".join(f"S-1,IMG_9{number:06}.JPG\n" for number in range(30_000))
    told: list[tuple[int, int]] = []
    path = tmp_path / "picks.csv"
    path.write_text(f"key,file\n{rows}S-1,IMG_0001.JPG\n", encoding="utf-8")
    done = load_picks(studio, path, progress=lambda done, total: told.append((done, total)))
    assert (done.refused.count, len(done.refused.first)) == (30_000, 1_000)
    assert picked(studio) == {"S-1": ["A:0001"]}
    assert 0 < told[0][0] <= told[0][1] == path.stat().st_size


@pytest.mark.long
def test_by_hand_picks_are_added(studio: Shoot) -> None:
    assert add_picks(studio, "Mira Okafor", ["IMG_0001.JPG"]).changed
    assert add_picks(studio, "S-1", ["2"]).changed
    assert not add_picks(studio, "S-1", ["A:0001"]).changed
    assert picked(studio) == {"S-1": ["A:0001", "A:0002"]}


def test_by_hand_more_than_agreed_is_refused_unless_it_is_instead(studio: Shoot) -> None:
    add_picks(studio, "S-1", ["A:0001", "A:0002"])
    with pytest.raises(Problem, match="3 picks, and 2 are agreed"):
        add_picks(studio, "S-1", ["A:0003"])
    add_picks(studio, "S-1", ["A:0003"], instead=True)
    assert picked(studio) == {"S-1": ["A:0003"]}


@pytest.mark.parametrize("text", ["IMG_0011", "A:0099", "nonsense", "f4000000"])
def test_by_hand_a_frame_that_is_not_theirs_changes_nothing(studio: Shoot, text: str) -> None:
    with pytest.raises(Problem):
        add_picks(studio, "S-1", ["A:0001", text])
    assert picked(studio) == {}


def test_one_agreed_is_told_as_one(studio: Shoot, tmp_path: Path) -> None:
    done = loaded(agreed(studio, 1), tmp_path, "A:0001\nA:0002")
    assert reasons(done) == [(1, "2 picks, and 1 is agreed; none was taken")]


def test_how_far_a_workbook_is_read_is_told(
    studio: Shoot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("onsite.picks.read_pick_file._PROGRESS_EVERY", 2)
    book = openpyxl.Workbook()
    assert book.active is not None
    for row in (["file"], ["f1"], ["f1"], ["f1"]):
        book.active.append(row)
    book.save(tmp_path / "picks.xlsx")
    told: list[tuple[int, int]] = []
    load_picks(studio, tmp_path / "picks.xlsx", progress=lambda done, total: told.append((done, total)))
    assert told == [(2, 4), (4, 4)]
