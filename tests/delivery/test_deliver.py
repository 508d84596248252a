"""Deliveries: what goes to whom, under which name, and only once."""

from __future__ import annotations

import csv
import io
import json
import multiprocessing
import os
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from pathlib import Path

import bagit
import pytest
from PIL import Image

from onsite.checkin.walk_ins_and_corrections import correct_person
from onsite.core.errors import Problem
from onsite.delivery.deliver import DeliveryResult, deliver_pictures
from onsite.delivery.delivery_packages import Packaging
from onsite.delivery.delivery_sets import DeliveryOrder, SetPer
from onsite.files.atomic_write import sha256_of
from onsite.reconcile.overrides import give
from onsite.roster.load_roster import load_list
from onsite.status.picture_status import read_picture_statuses
from onsite.store.events import Event, EventKind, read_events
from onsite.store.shoot import Shoot, open_shoot
from tests.delivery.choices import PRIVATE, Choir, drawn, listing, sha256sum
from tests.tiers import long_after

ANA, ELENI, OTHER_ANA = (
    "Horvat_Ana_Altos_0001.jpg",
    "Παπασταύρου_Ελένη_Altos_0002.jpg",
    "Horvat_Ana_Tenors_0005.jpg",
)
CLIENT = "Choir office"


def delivered(shoot: Shoot) -> list[Event]:
    with shoot.reading() as session:
        return read_events(session, [EventKind.DELIVERED])


def to(choir: Choir, folder: Path, **order: object) -> DeliveryResult:
    return deliver_pictures(choir.shoot, folder, DeliveryOrder(**order))  # type: ignore[arg-type]


def test_accepted_pictures_go_to_the_client_under_their_names(choir: Choir, tmp_path: Path) -> None:
    choir.all_accepted()
    done = to(choir, tmp_path / "out")
    assert listing(tmp_path / "out" / CLIENT) == sorted([ANA, OTHER_ANA, "manifest-sha256.txt", ELENI])
    sha256sum(tmp_path / "out" / CLIENT)
    assert done.files == 3
    with Image.open(tmp_path / "out" / CLIENT / ANA) as picture:
        assert picture.size == (64, 80)
    events = delivered(choir.shoot)
    assert [(event.details["set"], event.details["file"]) for event in events] == [
        ("client", ANA),
        ("client", ELENI),
        ("client", OTHER_ANA),
    ]
    for event in events:
        assert sha256_of(tmp_path / "out" / CLIENT / event.details["file"]) == event.details["sha256"]
    with choir.shoot.reading() as session:
        assert read_picture_statuses(session)[choir.person("S-1")].picks[0].delivered is not None


def test_two_at_once_do_not_get_in_each_others_way(choir: Choir, tmp_path: Path) -> None:
    choir.all_accepted()
    refused = []

    def meanwhile(_done: int, _total: int) -> None:
        with pytest.raises(Problem, match="Another delivery of this shoot is being made") as problem:
            to(choir, tmp_path / "out")
        refused.append(problem)

    done = deliver_pictures(choir.shoot, tmp_path / "out", DeliveryOrder(), progress=meanwhile)
    assert refused
    assert done.files == 3
    sha256sum(tmp_path / "out" / CLIENT)
    assert len(delivered(choir.shoot)) == 3


def left_out(done: DeliveryResult) -> list[tuple[str, str]]:
    return [(one.person.key, one.reason) for one in done.left_out if not one.own]


NOT_TO_BE_PUBLISHED = [
    ("S-3", "must not be published"),
    ("S-4", "it is not clear whether they may be published"),
]


@pytest.mark.long
def test_who_must_not_be_published_gets_only_their_own(choir: Choir, tmp_path: Path) -> None:
    choir.all_accepted()
    for per in (SetPer.CLIENT, SetPer.GROUP, SetPer.YEARBOOK):
        done = to(choir, tmp_path / per, per=per)
        assert left_out(done) == NOT_TO_BE_PUBLISHED
        assert not [name for name in listing(tmp_path / per) if "Lind" in name or "Marín" in name]
        assert done.receipt is not None
        receipt = done.receipt.read_text(encoding="utf-8")
        assert "Left out: 2 people" in receipt
        assert "<tr><td>Bo Lind</td><td>Tenors</td><td>must not be published</td></tr>" in receipt
    done = to(choir, tmp_path / "own", per=SetPer.PERSON)
    assert left_out(done) == []
    assert [one.set for one in done.left_out] == ["person: S-3", "person: S-4"]
    assert "Lind_Bo_0003/Lind_Bo_Tenors_0003.jpg" in listing(tmp_path / "own")
    assert done.receipt is not None
    assert "Not to be published: 2 people" in done.receipt.read_text(encoding="utf-8")


@pytest.mark.long
def test_a_blank_where_others_have_answers_and_a_walk_in_without_one_are_left_out(
    choir: Choir, tmp_path: Path
) -> None:
    listed = (choir.shoot.folder / "list.csv").read_text(encoding="utf-8").replace("ναι", "")
    (choir.shoot.folder / "list.csv").write_text(listed, encoding="utf-8")
    load_list(choir.shoot, choir.shoot.folder / "list.csv")
    walk_in = choir.walked_in("Eva", "Nagy", "Altos", 2, consent="")
    agreed = choir.walked_in("Leo", "Haas", "Altos", 4, consent="yes")
    choir.all_accepted()
    for key, frame in ((walk_in, 2), (agreed, 4)):
        choir.pick(key, frame)
        choir.accept(key, frame)
    for per in (SetPer.CLIENT, SetPer.GROUP, SetPer.YEARBOOK):
        done = to(choir, tmp_path / per, per=per)
        assert sorted(left_out(done)) == sorted(
            [
                *NOT_TO_BE_PUBLISHED,
                ("S-2", "no answer about consent, while others on the list have one"),
                (walk_in, "a walk-in without an answer about consent"),
            ]
        )
        names = "\n".join(listing(tmp_path / per))
        assert "Nagy" not in names
        assert "Ελένη" not in names
        assert "Haas" in names


def test_who_was_delivered_before_and_refuses_now_is_told(choir: Choir, tmp_path: Path) -> None:
    choir.all_accepted()
    to(choir, tmp_path / "out")
    to(choir, tmp_path / "own", per=SetPer.PERSON)
    correct_person(choir.shoot, choir.person("S-2"), {"consent": "no"})
    done = to(choir, tmp_path / "again")
    assert ("S-2", "must not be published") in left_out(done)
    assert done.went_out == {choir.person("S-2"): (1,)}


def test_sets_by_group_and_by_person(choir: Choir, tmp_path: Path) -> None:
    choir.all_accepted()
    to(choir, tmp_path / "groups", per=SetPer.GROUP)
    assert {ANA, ELENI} < set(listing(tmp_path / "groups" / "Altos"))
    assert OTHER_ANA in listing(tmp_path / "groups" / "Tenors")
    to(choir, tmp_path / "people", per=SetPer.PERSON)
    assert listing(tmp_path / "people" / "Horvat_Ana_0005") == [OTHER_ANA, "manifest-sha256.txt"]


def test_a_yearbook_has_first_picks_by_group_and_an_index(choir: Choir, tmp_path: Path) -> None:
    choir.pick("S-1", 1, 2)
    for frame in (1, 2):
        choir.accept("S-1", frame)
    choir.pick("S-2", 3)
    choir.accept("S-2", 3)
    to(choir, tmp_path, per=SetPer.YEARBOOK)
    rows = list(
        csv.reader(
            io.StringIO((tmp_path / "yearbook" / "index.tsv").read_text(encoding="utf-8")), delimiter="\t"
        )
    )
    assert rows == [
        ["volume", "folder", "file", "group", "family", "given"],
        ["yearbook", "Altos", ANA, "Altos", "Horvat", "Ana"],
        ["yearbook", "Altos", ELENI, "Altos", "Παπασταύρου", "Ελένη"],
    ]
    assert (tmp_path / "yearbook" / "Altos" / ANA).is_file()
    sha256sum(tmp_path / "yearbook")
    choir.pick("S-5", 9)
    choir.accept("S-5", 9)
    to(choir, tmp_path, per=SetPer.YEARBOOK)
    assert len((tmp_path / "yearbook" / "index.tsv").read_text(encoding="utf-8").splitlines()) == 4
    sha256sum(tmp_path / "yearbook")


def test_names_that_a_spreadsheet_would_reckon_are_text_in_the_index(choir: Choir, tmp_path: Path) -> None:
    key = choir.walked_in("=1+1", "@SUM(A1)", "-Altos", 1)
    choir.pick(key, 1)
    choir.accept(key, 1)
    to(choir, tmp_path / "out", per=SetPer.YEARBOOK)
    rows = list(
        csv.reader(
            io.StringIO((tmp_path / "out" / "yearbook" / "index.tsv").read_text(encoding="utf-8")),
            delimiter="\t",
        )
    )
    assert rows[1] == ["yearbook", "Altos_2", "SUM(A1)_=1+1_Altos_0006.jpg", "'-Altos", "'@SUM(A1)", "'=1+1"]


def test_only_what_is_new_goes_out_the_second_time(choir: Choir, tmp_path: Path) -> None:
    choir.pick("S-1", 1)
    choir.accept("S-1", 1)
    to(choir, tmp_path)
    before = (tmp_path / CLIENT / ANA).stat().st_mtime_ns
    again = to(choir, tmp_path)
    assert (again.files, again.number, again.already) == (0, 0, 1)
    choir.pick("S-2", 3)
    choir.accept("S-2", 3)
    more = to(choir, tmp_path)
    assert (more.files, more.number, more.already) == (1, 2, 1)
    assert (tmp_path / CLIENT / ANA).stat().st_mtime_ns == before
    assert listing(tmp_path / CLIENT) == sorted([ANA, "manifest-sha256.txt", ELENI])
    sha256sum(tmp_path / CLIENT)
    elsewhere = to(choir, tmp_path / "elsewhere")
    assert elsewhere.files == 0
    assert to(choir, tmp_path / "elsewhere", again=True).files == 2


def test_a_second_version_goes_out_beside_the_first(choir: Choir, tmp_path: Path) -> None:
    choir.pick("S-1", 1)
    choir.accept("S-1", 1)
    to(choir, tmp_path)
    choir.accept("S-1", 1, drawn(99))
    assert to(choir, tmp_path).files == 1
    assert listing(tmp_path / CLIENT) == sorted([ANA, ANA.replace(".jpg", "_2.jpg"), "manifest-sha256.txt"])
    sha256sum(tmp_path / CLIENT)


def test_people_of_one_name_are_told_apart_and_it_is_told(choir: Choir, tmp_path: Path) -> None:
    choir.all_accepted()
    done = to(choir.agreed(names="{family} {given}"), tmp_path)
    assert {"Horvat Ana.jpg", "Horvat Ana_2.jpg"} < set(listing(tmp_path / CLIENT))
    assert done.notices == (
        "Told apart only by a number in their files' names: Ana Horvat (S-1) and Ana Horvat (S-5)",
    )


def test_a_name_corrected_since_is_told(choir: Choir, tmp_path: Path) -> None:
    choir.pick("S-1", 1)
    choir.accept("S-1", 1)
    to(choir, tmp_path)
    assert to(choir, tmp_path, ascii_only=True).notices == ()
    correct_person(choir.shoot, choir.person("S-1"), {"family": "Horvath"})
    corrected = ANA.replace("Horvat", "Horvath")
    (notice,) = to(choir, tmp_path).notices
    assert f"{ANA}, now {corrected}" in notice
    done = to(choir, tmp_path, again=True)
    assert [kept.name for kept in done.sets[0].files] == [corrected]
    assert to(choir, tmp_path).notices == ()
    sha256sum(tmp_path / CLIENT)


def test_once_more_into_the_same_folder_writes_over_nothing(choir: Choir, tmp_path: Path) -> None:
    choir.pick("S-1", 1)
    choir.accept("S-1", 1)
    to(choir, tmp_path)
    before = (tmp_path / CLIENT / ANA).read_bytes()
    same = to(choir, tmp_path, again=True)
    assert [kept.name for kept in same.sets[0].files] == [ANA]
    other = to(choir.agreed(ratio="1:1"), tmp_path, again=True)
    assert [kept.name for kept in other.sets[0].files] == [ANA.replace(".jpg", "_2.jpg")]
    assert (tmp_path / CLIENT / ANA).read_bytes() == before
    sha256sum(tmp_path / CLIENT)


def test_a_name_without_end_is_cut(choir: Choir, tmp_path: Path) -> None:
    key = choir.walked_in("Ж" * 30_000, "𝕬" * 30_000, "Altos", 1)
    choir.pick(key, 1)
    choir.accept(key, 1)
    (kept,) = to(choir, tmp_path).sets[0].files
    assert kept.name.endswith("_Altos_0006.jpg")
    assert len(kept.name.encode()) < 255
    sha256sum(tmp_path / CLIENT)


def test_picks_without_a_retouched_file_wait(choir: Choir, tmp_path: Path) -> None:
    choir.pick("S-1", 1, 2)
    choir.accept("S-1", 1)
    done = to(choir, tmp_path)
    assert (done.files, done.waiting) == (1, 1)
    done = to(choir, tmp_path, originals=True)
    assert (done.files, done.waiting, done.already) == (1, 0, 1)


def test_a_frame_that_is_somebody_elses_by_now_stays(choir: Choir, tmp_path: Path) -> None:
    choir.pick("S-1", 1)
    choir.accept("S-1", 1)
    give(choir.shoot, ["_A0001.JPG"], "S-2")
    done = to(choir, tmp_path)
    assert done.files == 0
    assert "no longer under their name" in done.refused[0][1]
    assert not delivered(choir.shoot)


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"a text", "not a JPEG"),
        (drawn(1)[:900], "damaged"),
        (drawn(1, mode="CMYK"), "CMYK without a profile"),
    ],
    ids=["text", "truncated", "CMYK"],
)
def test_a_bad_file_is_told_and_the_others_go_out(
    choir: Choir, tmp_path: Path, content: bytes, reason: str
) -> None:
    choir.pick("S-1", 1)
    choir.accept("S-1", 1, content)
    choir.pick("S-2", 3)
    choir.accept("S-2", 3)
    done = to(choir, tmp_path)
    assert [kept.name for packed in done.sets for kept in packed.files] == [ELENI]
    ((picture, why),) = done.refused
    assert "Ana Horvat (S-1)" in picture
    assert reason in why
    assert [event.person_id for event in delivered(choir.shoot)] == [choir.person("S-2")]


def test_a_file_that_changed_since_it_was_accepted_stays(choir: Choir, tmp_path: Path) -> None:
    choir.pick("S-1", 1)
    choir.accept("S-1", 1).write_bytes(drawn(50))
    assert "no longer what it was" in to(choir, tmp_path).refused[0][1]
    (choir.shoot.folder / "retouched" / "1.jpg").unlink()
    assert "cannot be read" in to(choir, tmp_path).refused[0][1]


def test_nothing_private_goes_out(choir: Choir, tmp_path: Path) -> None:
    choir.all_accepted()
    for kind in (Packaging.FOLDER, Packaging.BAG):
        to(choir, tmp_path / kind, per=SetPer.GROUP, kind=kind)
        for name in listing(tmp_path / kind):
            content = (tmp_path / kind / name).read_bytes()
            assert not [text for text in PRIVATE if text.encode() in content]


# Packages, checked from outside


def test_a_bag_is_valid(choir: Choir, tmp_path: Path) -> None:
    choir.all_accepted()
    to(choir, tmp_path, per=SetPer.GROUP, kind=Packaging.BAG)
    for group in ("Altos", "Tenors"):
        bag = bagit.Bag(str(tmp_path / group))
        bag.validate()
        sha256sum(tmp_path / group)
        sha256sum(tmp_path / group, "tagmanifest-sha256.txt")
        declared = (tmp_path / group / "bagit.txt").read_text()
        assert declared == "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"  # RFC 8493, 2.1.1
    (tmp_path / "Altos" / "data" / ANA).write_bytes(b"other")
    with pytest.raises(bagit.BagValidationError):
        bagit.Bag(str(tmp_path / "Altos")).validate()


@pytest.mark.skipif(shutil.which("unzip") is None, reason="unzip is not installed")
def test_a_zip_opens_everywhere(choir: Choir, tmp_path: Path) -> None:
    choir.all_accepted()
    done = to(choir, tmp_path, kind=Packaging.ZIP)
    package = tmp_path / f"{CLIENT}.zip"
    assert done.sets[0].sha256 == sha256_of(package)
    assert subprocess.run(["unzip", "-tq", package], capture_output=True, check=False).returncode == 0
    with zipfile.ZipFile(package) as archive:
        assert archive.testzip() is None
        archive.extractall(tmp_path / "there")
    assert listing(tmp_path / "there") == sorted([ANA, OTHER_ANA, "manifest-sha256.txt", ELENI])
    sha256sum(tmp_path / "there")


@pytest.mark.long
@pytest.mark.parametrize("kind", [Packaging.ZIP, Packaging.BAG])
def test_a_sealed_package_is_not_changed_by_the_next(choir: Choir, tmp_path: Path, kind: Packaging) -> None:
    out = tmp_path / "out"
    choir.pick("S-1", 1)
    choir.accept("S-1", 1)
    to(choir, out, kind=kind)
    before = {name: (out / name).read_bytes() for name in listing(out)}
    choir.pick("S-2", 3)
    choir.accept("S-2", 3)
    done = to(choir, out, kind=kind)
    assert {name: (out / name).read_bytes() for name in before} == before
    assert done.sets[0].package.name.startswith(f"{CLIENT}_2")


@pytest.mark.skipif(shutil.which("exiftool") is None, reason="exiftool is not installed")
def test_exiftool_reads_every_field_back(choir: Choir, tmp_path: Path) -> None:
    choir.all_accepted()
    to(choir, tmp_path, ascii_only=True, creator="Ж. Фотограф")
    path = tmp_path / CLIENT / "Papastayroy_Eleni_Altos_0002.jpg"
    told = subprocess.run(["exiftool", "-json", path], capture_output=True, check=True, text=True).stdout
    (found,) = json.loads(told)
    day = choir.shoot.now().date()
    assert found["Title"] == "Ελένη Παπασταύρου"
    assert found["PersonInImage"] == "Ελένη Παπασταύρου"
    assert found["Subject"] == "Altos"
    assert found["Description"] == f"Ελένη Παπασταύρου, Altos. Spring concert, {day}"
    assert found["Event"] == "Spring concert"
    assert found["Creator"] == "Ж. Фотограф"
    assert found["DateCreated"] == f"{day:%Y:%m:%d}"
    assert found["ObjectName"] == "Ελένη Παπασταύρου"  # and the same in IIM
    assert found["Keywords"] == "Altos"
    assert found["Caption-Abstract"] == found["Description"]
    assert found["By-line"] == "Ж. Фотограф"
    assert found["ProfileDescription"] == "sRGB built-in"


@pytest.mark.skipif(shutil.which("exiv2") is None, reason="exiv2 is not installed")
def test_exiv2_reads_every_field_back(choir: Choir, tmp_path: Path) -> None:
    choir.all_accepted()
    to(choir, tmp_path, creator="Ж. Фотограф")
    ran = subprocess.run(
        ["exiv2", "-PIXkt", tmp_path / CLIENT / ELENI], capture_output=True, check=True, text=True
    )
    found = dict(line.split(maxsplit=1) for line in ran.stdout.splitlines())
    day = choir.shoot.now().date()
    assert found["Xmp.dc.title"] == 'lang="x-default" Ελένη Παπασταύρου'
    assert found["Xmp.iptcExt.PersonInImage"] == "Ελένη Παπασταύρου"
    assert found["Xmp.dc.subject"] == "Altos"
    assert found["Xmp.dc.creator"] == "Ж. Фотограф"
    assert found["Xmp.photoshop.DateCreated"] == f"{day}"
    assert found["Iptc.Application2.ObjectName"] == "Ελένη Παπασταύρου"
    assert found["Iptc.Application2.Byline"] == "Ж. Фотограф"
    assert found["Iptc.Application2.DateCreated"] == f"{day}"
    assert found["Xmp.iptcExt.Event"] == 'lang="x-default" Spring concert'


def test_a_yearbook_waits_for_the_first_pick(choir: Choir, tmp_path: Path) -> None:
    choir.pick("S-1", 1, 2)
    choir.accept("S-1", 2)
    assert to(choir, tmp_path, per=SetPer.YEARBOOK).files == 0
    choir.accept("S-1", 1)
    assert to(choir, tmp_path, per=SetPer.YEARBOOK).files == 1


def test_a_receipt_that_is_there_is_never_overwritten(choir: Choir, tmp_path: Path) -> None:
    choir.all_accepted()
    first = to(choir, tmp_path / "out")
    assert first.receipt is not None
    earlier = tmp_path / "again" / first.receipt.name
    earlier.parent.mkdir()
    earlier.write_text("of another record", encoding="utf-8")
    (tmp_path / "again" / first.receipt.name.replace("0001", "0002")).write_text("that too", encoding="utf-8")
    done = to(choir, tmp_path / "again", again=True)
    assert done.number == 3
    assert done.receipt == tmp_path / "again" / first.receipt.name.replace("0001", "0003")
    assert earlier.read_text(encoding="utf-8") == "of another record"
    assert {event.details["delivery"] for event in delivered(choir.shoot)} == {1, 3}


def test_a_receipt_lists_every_file_and_obeys_no_name(choir: Choir, tmp_path: Path) -> None:
    key = choir.walked_in("<script>alert(1)</script>", "H", "Altos", 1)
    choir.pick(key, 1)
    choir.accept(key, 1)
    done = to(choir, tmp_path / "out")
    assert done.receipt is not None
    text = done.receipt.read_text(encoding="utf-8")
    assert "<script>" not in text
    assert "&lt;script&gt;" in text
    for packed in done.sets:
        for kept in packed.files:
            assert kept.sha256 in text
    assert (choir.shoot.folder / "deliveries" / done.receipt.name).read_text(encoding="utf-8") == text


# Disks and accidents


@pytest.mark.parametrize("names", ["../{family}", "{family}_{mail}", "{group}/{family}"])
def test_a_bad_pattern_is_refused_before_anything_is_made(choir: Choir, tmp_path: Path, names: str) -> None:
    choir.all_accepted()
    with pytest.raises(Problem):
        to(choir.agreed(names=names), tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_finished_files_do_not_go_among_a_shoots_own(choir: Choir, tmp_path: Path) -> None:
    choir.all_accepted()
    with pytest.raises(Problem, match="is a shoot"):
        to(choir, choir.shoot.folder)
    (tmp_path / CLIENT).mkdir()
    shutil.copy(choir.shoot.folder / "shoot.toml", tmp_path / CLIENT)
    with pytest.raises(Problem, match="is a shoot"):
        to(choir, tmp_path)
    (tmp_path / "file").write_text("")
    with pytest.raises(Problem, match="is a file"):
        to(choir, tmp_path / "file")


def test_a_bag_does_not_become_a_folder(choir: Choir, tmp_path: Path) -> None:
    choir.pick("S-1", 1)
    choir.accept("S-1", 1)
    to(choir, tmp_path, kind=Packaging.BAG)
    choir.pick("S-2", 3)
    choir.accept("S-2", 3)
    with pytest.raises(Problem, match="is a bag"):
        to(choir, tmp_path)
    bagit.Bag(str(tmp_path / CLIENT)).validate()


def test_a_file_of_somebody_else_is_never_written_over(choir: Choir, tmp_path: Path) -> None:
    choir.all_accepted()
    there = tmp_path / CLIENT / ANA.upper().replace(".JPG", ".jpg")
    there.parent.mkdir()
    there.write_bytes(drawn(7))
    done = to(choir, tmp_path)
    assert there.read_bytes() == drawn(7)
    assert ANA.replace(".jpg", "_2.jpg") in [kept.name for kept in done.sets[0].files]


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    where = tmp_path / "small"
    where.mkdir()
    if not sys.platform.startswith("linux") or os.geteuid() != 0:
        pytest.skip("mounting a small disk needs Linux and root")
    command = ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(where)]
    if subprocess.run(command, capture_output=True, check=False).returncode:
        pytest.skip("a small disk cannot be mounted here")
    yield where
    subprocess.run(["umount", "-l", str(where)], check=True)


@pytest.mark.parametrize("kind", long_after(1, Packaging))
def test_a_full_disk_is_told_in_a_line_and_it_goes_on_with_more_room(
    choir: Choir, small_disk: Path, kind: Packaging
) -> None:
    choir.all_accepted()
    (small_disk / "other").write_bytes(b"\0" * 50_000)
    with pytest.raises(Problem) as full:
        to(choir, small_disk, kind=kind)
    assert "No space left" in full.value.what
    assert "\n" not in full.value.what
    assert not delivered(choir.shoot)
    assert kind is Packaging.FOLDER or not [name for name in listing(small_disk) if name.startswith(CLIENT)]
    subprocess.run(["mount", "-o", "remount,size=1m", str(small_disk)], check=True)
    assert to(choir, small_disk, kind=kind).files == 3
    assert not [name for name in listing(small_disk) if ".part" in name]


def test_a_disk_that_cannot_be_written_is_told_in_a_line(choir: Choir, small_disk: Path) -> None:
    choir.all_accepted()
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)
    with pytest.raises(Problem, match="Read-only file system"):
        to(choir, small_disk)
    assert not delivered(choir.shoot)


def killed_at(folder: Path, out: Path, order: DeliveryOrder, rename: int) -> None:
    """Delivers, and is gone the moment before a file gets its name for that many times."""
    left = rename

    def hook(event: str, _arguments: object) -> None:
        nonlocal left
        if event == "os.rename":
            left -= 1
            if left == 0:
                os._exit(9)

    sys.addaudithook(hook)
    deliver_pictures(open_shoot(folder), out, order)
    os._exit(0)


@pytest.mark.long
@pytest.mark.skipif(sys.platform == "win32", reason="processes are not forked there")
@pytest.mark.parametrize("kind", long_after(1, Packaging))
def test_killed_at_any_moment_it_goes_on_and_doubles_nothing(
    choir: Choir, tmp_path: Path, kind: Packaging
) -> None:
    choir.all_accepted()
    order = DeliveryOrder(kind=kind)
    forked = multiprocessing.get_context("fork")
    for rename in range(1, 100):
        out = tmp_path / f"out {rename}"
        folder = tmp_path / f"choir {rename}"
        choir.shoot.engine.dispose()
        shutil.copytree(choir.shoot.folder, folder)
        child = forked.Process(target=killed_at, args=(folder, out, order, rename))
        child.start()
        child.join()
        shoot = open_shoot(folder)
        assert not delivered(shoot) or child.exitcode == 0
        done = deliver_pictures(shoot, out, order)
        assert len(delivered(shoot)) == 3
        names = [name for name in listing(out) if name.endswith((".jpg", ".zip"))]
        assert len(names) == (1 if kind is Packaging.ZIP else 3), names
        assert not [name for name in listing(out) if ".part" in name]
        if kind is Packaging.BAG:
            bagit.Bag(str(out / CLIENT)).validate()
        elif kind is Packaging.FOLDER:
            sha256sum(out / CLIENT)
        shoot.engine.dispose()
        if child.exitcode == 0:
            assert done.files == 0
            break
        assert done.files == 3
    assert rename > 5


def test_what_nobody_wants_any_more_is_not_left_from_a_broken_off_delivery(
    choir: Choir, tmp_path: Path
) -> None:
    choir.all_accepted()
    forked = multiprocessing.get_context("fork")
    choir.shoot.engine.dispose()
    child = forked.Process(
        target=killed_at, args=(choir.shoot.folder, tmp_path / "out", DeliveryOrder(kind=Packaging.BAG), 4)
    )
    child.start()
    child.join()
    assert child.exitcode == 9
    choir.pick("S-1")
    to(choir, tmp_path / "out", kind=Packaging.BAG)
    assert listing(tmp_path / "out" / CLIENT / "data") == sorted([OTHER_ANA, ELENI])
    bagit.Bag(str(tmp_path / "out" / CLIENT)).validate()


def test_an_index_of_any_text_has_as_many_cells_as_headings(tmp_path: Path) -> None:
    from onsite.files.write_tables import tab_separated_text

    text = tab_separated_text([("a\tb", "c\nd", "\r\n=e", "  +f", "g-h")])
    assert list(csv.reader(io.StringIO(text), delimiter="\t")) == [["a b", "c d", "' =e", "'  +f", "g-h"]]
    assert not list(tmp_path.iterdir())
