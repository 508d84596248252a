"""`onsite marks` and `onsite deliver` as they are typed."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pytest

from onsite.roster.read_people import read_people
from onsite.store.events import EventKind, add_event
from onsite.store.shoot import open_shoot
from tests.cli.command_line import Onsite, refused
from tests.frames.pictures import jpeg


@pytest.fixture
def picked(festival: Onsite) -> Onsite:
    """Inside a shoot in which Åsa Lindqvarn (C-1) has chosen a frame, and its retouched file is there."""
    jpeg(Path("cards/A0001.JPG"), 1, (160, 120))
    assert festival("ingest", "cards", "--camera", "A").status == 0
    assert festival("frames", "give", "A0001.JPG", "C-1").status == 0
    content = jpeg(Path("retouched/A0001.jpg"), 2, (160, 120)).read_bytes()
    shoot = open_shoot(Path())
    with shoot.writing() as session:
        person = next(person.id for person in read_people(session) if person.key == "C-1")
        add_event(session, EventKind.PICKED, shoot.now(), person_id=person, frames=[1], notes={}, note="")
        add_event(
            session,
            EventKind.RECEIVED,
            shoot.now(),
            person_id=person,
            frame_id=1,
            batch="B1",
            version=1,
            file="retouched/A0001.jpg",
            sha256=hashlib.sha256(content).hexdigest(),
        )
    shoot.engine.dispose()
    return festival


@pytest.mark.long
def test_a_delivery_is_told(picked: Onsite) -> None:
    done = picked("deliver", "../out")
    assert done.status == 0
    assert "Delivery 1. Pictures: 1" in done.out
    assert "fewer pixels than agreed, not enlarged: 1" in done.out
    assert Path("../out/Festival/Lindqvarn_Åsa_Harbour Choir.jpg").is_file()
    assert "Nothing new to deliver." in picked("deliver", "../out").out
    elsewhere = picked("deliver", "../elsewhere")
    assert "Delivered before, and not again: 1 picture." in elsewhere.out
    assert f": 1 picture, into {Path('../out').resolve()}" in elsewhere.out
    assert "--again" in elsewhere.out
    assert picked("deliver", "../elsewhere", "--again", "--json").data["files"] == 1


@pytest.mark.long
def test_whoever_takes_consent_back_after_a_delivery_stands_in_the_status(picked: Onsite) -> None:
    picked("deliver", "../out")
    assert picked("status", "--json").data["delivered_before_a_no"] == []
    picked("consent", "C-1", "no")
    files = ["Lindqvarn_Åsa_Harbour Choir.jpg"]
    assert picked("status", "--json").data["delivered_before_a_no"] == [{"key": "C-1", "files": files}]
    out = picked("status").out
    assert f"Åsa Lindqvarn took consent back. Ask whoever has it to remove: {files[0]}" in out
    picked("consent", "C-1", "yes")
    assert picked("status", "--json").data["delivered_before_a_no"] == []


@pytest.mark.long
def test_whoever_gets_the_original_is_not_counted_as_retouched(picked: Onsite) -> None:
    jpeg(Path("cards/A0002.JPG"), 3, (160, 120))
    assert picked("ingest", "cards", "--camera", "A").status == 0
    assert picked("frames", "give", "A0002.JPG", "C-2").status == 0
    Path("chosen.csv").write_text("key,frame\nC-2,A0002.JPG\n", encoding="utf-8")
    assert picked("picks", "load", "chosen.csv").status == 0
    assert picked("deliver", "../out", "--originals", "--json").data["files"] == 2
    counts = picked("status", "--json").data["stages"]
    assert (counts["picked"], counts["delivered"]) == (2, 2)
    assert (counts["proofed"], counts["at retouch"], counts["retouched"]) == (0, 1, 1)
    assert picked("report", "report.json").status == 0
    report = json.loads(Path("report.json").read_text(encoding="utf-8"))
    assert report["stages"] == counts
    assert sum(group["stages"]["retouched"] for group in report["groups"]) == 1


@pytest.mark.long
def test_a_delivery_as_json(picked: Onsite) -> None:
    told = picked("deliver", "../out", "--per", "group", "--as", "zip", "--ascii", "--sharpen", "--json").data
    assert (told["delivery"], told["files"], told["already"]) == (1, 1, 0)
    ((one),) = told["sets"]
    assert one["set"] == "group: Harbour Choir"
    assert one["package"] == str(Path("../out/Harbour Choir.zip"))
    assert one["files"][0]["file"] == "Lindqvarn_Asa_Harbour Choir.jpg"
    assert Path(told["receipt"]).is_file()


def test_what_could_not_be_delivered_is_listed_with_status_3(picked: Onsite) -> None:
    Path("retouched/A0001.jpg").write_bytes(b"a text")
    done = picked("deliver", "../out")
    assert done.status == 3
    assert "not delivered: A:0001 of Åsa Lindqvarn (C-1)" in done.out


def test_a_pattern_with_unknown_fields_is_refused(picked: Onsite) -> None:
    settings = Path("shoot.toml").read_text(encoding="utf-8")
    for pattern in ("../{family}", "{family}_{email}"):
        changed = settings.replace("{family}_{given}_{group}_{sequence:04}", pattern)
        Path("shoot.toml").write_text(changed, encoding="utf-8")
        assert pattern in refused(picked("deliver", "../out"))
    assert not Path("../out").exists()


def with_names(pattern: str) -> None:
    """Agrees on another pattern for the names of files."""
    settings = Path("shoot.toml").read_text(encoding="utf-8")
    changed = settings.replace("{family}_{given}_{group}_{sequence:04}", pattern)
    Path("shoot.toml").write_text(changed, encoding="utf-8")


def test_a_file_can_carry_the_name_of_its_original(picked: Onsite) -> None:
    with_names("{original}_{family}")
    done = picked("deliver", "../out")
    assert Path("../out/Festival/A0001_Lindqvarn.jpg").is_file()
    assert "is empty" not in done.out


def test_empty_fields_of_a_name_are_said_before_anything_is_written(
    picked: Onsite, monkeypatch: pytest.MonkeyPatch
) -> None:
    with_names("{client}_{family}_{pick}_{sequence:04}")
    from onsite.cli import delivery_commands

    said: list[str] = []

    def say(line: str, *_: object) -> None:
        said.append(line)
        assert not Path("../out").exists() or not line.startswith("{")

    monkeypatch.setattr(delivery_commands, "print_text", say)
    assert picked("deliver", "../out").status == 0
    assert said[:3] == [
        "{client} in the names of files is empty for the only person here:"
        " Åsa Lindqvarn (C-1) gets Lindqvarn_1.",
        "{sequence} in the names of files is empty for the only person here:"
        " Åsa Lindqvarn (C-1) gets Lindqvarn_1.",
        "Fields for names under [agreed] in shoot.toml: {family}, {given}, {name}, {group}, {key},"
        " {original}, {shoot}, {client}, {date}, {sequence}, {pick}, {frame}.",
    ]


@pytest.mark.long
def test_empty_fields_of_a_name_are_in_the_answer_for_scripts_and_in_batches(picked: Onsite) -> None:
    (empty, _) = picked("deliver", "../out", "--json").data["notices"]
    assert empty.startswith("{sequence} in the names of files is empty for")
    assert Path("../out/Festival/Lindqvarn_Åsa_Harbour Choir.jpg").is_file()


LONGEST = "A" * 246 + "0001.JPEG"  # 255 bytes


@pytest.fixture
def picked_long(festival: Onsite) -> Onsite:
    """The same with a pick whose file has the longest name that there is."""
    jpeg(Path("cards") / LONGEST, 1, (160, 120))
    assert festival("ingest", "cards", "--camera", "A", "--copy-to", "../copies").status == 0
    assert festival("frames", "give", LONGEST, "C-1").status == 0
    assert festival("picks", "add", "C-1", LONGEST).status == 0
    return festival


@pytest.mark.long
def test_a_file_of_the_longest_name_is_copied_marked_sent_and_delivered(picked_long: Onsite) -> None:
    assert len(LONGEST) == 255
    assert (Path("../copies") / LONGEST).is_file()
    for _ in range(2):
        assert picked_long("marks", "--beside").status == 0
        assert picked_long("marks", "--to", "../marks").status == 0
    assert (Path("cards") / f"{LONGEST[:-5]}.xmp").is_file()
    with_names("{original}_{original}")
    assert picked_long("retouch", "send", "../batch").status == 0
    assert picked_long("deliver", "../out", "--originals").status == 0


def test_a_sidecar_whose_name_would_be_too_long_is_refused_alone(picked_long: Onsite) -> None:
    for arguments in (("--beside",), ("--to", "../marks")):
        done = picked_long("marks", *arguments, "--full-names")
        assert done.status == 3
        assert "would have more than 255 bytes" in done.out


def test_a_second_file_of_the_longest_name_is_copied_beside_the_first(picked_long: Onsite) -> None:
    jpeg(Path("other") / LONGEST, 7, (160, 120))
    assert picked_long("ingest", "other", "--camera", "B", "--copy-to", "../copies").status == 0
    assert len(list(Path("../copies").iterdir())) == 2


def test_a_batch_may_have_the_longest_name(picked_long: Onsite) -> None:
    assert picked_long("retouch", "send", f"../{'b' * 255}").status == 0
    assert len(list((Path("..") / ("b" * 255)).glob("*.jpeg"))) == 1


def test_a_yearbook_is_one_set(picked: Onsite) -> None:
    assert "one set" in refused(picked("deliver", "../out", "--yearbook", "--per", "person"))
    assert picked("deliver", "../out", "--yearbook").status == 0


def test_marks_beside_and_listed(picked: Onsite) -> None:
    done = picked("marks", "--beside", "--list", "picks.txt")
    assert done.status == 0
    assert "1 picked frame: 1 sidecar written beside originals and their copies" in done.out
    assert Path("cards/A0001.xmp").is_file()
    assert Path("picks.txt").read_text() == "A0001.JPG\n"


def test_marks_in_a_parallel_folder_as_json(picked: Onsite) -> None:
    told = picked("marks", "--to", "../marks", "--rating", "4", "--json").data
    assert (told["frames"], told["changed"], told["listed"]) == (1, 1, None)
    assert Path("../marks/A0001.xmp").is_file()
    assert [path.name for path in Path("cards").iterdir()] == ["A0001.JPG"]


@pytest.mark.parametrize(
    "arguments",
    [
        (),
        ("--beside", "--to", "x"),
        ("--beside", "--rating", "9"),
        ("--list", "picks.csv"),
        ("--list", "no/p.txt"),
    ],
)
def test_marks_that_go_nowhere_are_refused(picked: Onsite, arguments: tuple[str, ...]) -> None:
    refused(picked("marks", *arguments))
    assert not list(Path().rglob("*.xmp"))


def test_sidecars_in_a_folder_of_their_own_name_nobody_unless_asked_for(picked: Onsite) -> None:
    Path("cards/A0001.xmp").write_text(
        '<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">'
        '<rdf:Description rdf:about="" xmlns:xmp="http://ns.adobe.com/xap/1.0/" xmp:Rating="2"'
        ' xmp:Label="Second" xmlns:exif="http://ns.adobe.com/exif/1.0/" exif:GPSLatitude="48,12N"/>'
        "</rdf:RDF></x:xmpmeta>"
    )
    assert picked("marks", "--to", "../marks").status == 0
    text = Path("../marks/A0001.xmp").read_text(encoding="utf-8")
    assert not [word for word in ("Lindqvarn", "Åsa", "Harbour", "GPS") if word in text]
    assert ("Second" in text, "pick" in text, ">5<" in text) == (True, True, True)
    assert picked("marks", "--to", "../named", "--names").status == 0
    text = Path("../named/A0001.xmp").read_text(encoding="utf-8")
    assert ("Lindqvarn" in text, "GPSLatitude" in text) == (True, True)
    assert picked("marks", "--beside").status == 0
    assert "Lindqvarn" in Path("cards/A0001.xmp").read_text(encoding="utf-8")
    assert picked("marks", "--beside", "--no-names").status == 0
    assert "Lindqvarn" not in Path("cards/A0001.xmp").read_text(encoding="utf-8")
    assert "GPSLatitude" in Path("cards/A0001.xmp").read_text(encoding="utf-8")


@pytest.mark.long
def test_a_damaged_sidecar_is_told_in_a_line(picked: Onsite) -> None:
    Path("cards/A0001.xmp").write_text("no XMP")
    done = picked("marks", "--beside")
    assert done.status == 3
    assert "A0001.xmp is left alone" in done.out
    assert Path("cards/A0001.xmp").read_text() == "no XMP"


def test_a_namesakes_own_folder_is_never_anybody_elses(festival: Onsite) -> None:
    for number, key in enumerate(("C-2", "C-3", "C-3"), start=1):
        jpeg(Path(f"cards/A000{number}.JPG"), number, (160, 120))
        assert festival("ingest", "cards", "--camera", "A").status == 0
        assert festival("frames", "give", f"A:{number}", key).status == 0
    assert festival("picks", "add", "C-2", "A:1").status == 0
    assert festival("picks", "add", "C-3", "A:2").status == 0
    deliver = ("deliver", "../out", "--per", "person", "--originals", "--json")
    first, other = festival(*deliver).data["sets"]
    assert first["package"] != other["package"]
    assert festival("forget", "C-2").status == 0
    assert festival("picks", "add", "C-3", "A:3", "--instead").status == 0
    (later,) = festival(*deliver).data["sets"]
    assert (later["set"], later["package"]) == (other["set"], other["package"])


def test_a_picture_that_went_out_under_another_name_is_told(festival: Onsite) -> None:
    jpeg(Path("cards/A0001.JPG"), 1, (160, 120))
    assert festival("ingest", "cards", "--camera", "A").status == 0
    assert festival("frames", "give", "A:1", "C-1").status == 0
    assert festival("picks", "add", "C-1", "A:1").status == 0
    assert festival("deliver", "../out", "--originals", "--json").data["notices"][-1].startswith("Fields")
    given = festival("frames", "give", "A:1", "C-2").out
    assert "A:0001 is a pick of Åsa Lindqvarn, and went out under that name: tell whoever has it." in given
    (told,) = festival("deliver", "../out", "--originals", "--json").data["notices"]
    assert told == (
        "Lindqvarn_Åsa_Harbour Choir.jpg of delivery 1 went out as Åsa Lindqvarn's (C-1),"
        " and A:0001 is Maria Keller's (C-2): tell whoever has it."
    )
    assert festival("forget", "C-1").status == 0
    assert festival("deliver", "../out", "--originals", "--json").data["notices"] == []
