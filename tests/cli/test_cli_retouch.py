"""Retouching on the command line: a batch out, back, decided on, and what it costs."""

from __future__ import annotations

import io
import json
import shutil
import subprocess
from datetime import UTC, datetime, timedelta, tzinfo
from pathlib import Path

import pytest
from PIL import Image

from onsite.store.shoot import Shoot, open_shoot
from tests.cli.command_line import Onsite, refused
from tests.frames.pictures import raw
from tests.retouch.prints import pick, portrait, retouched, shoot_day


@pytest.fixture
def picked(onsite: Onsite, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Onsite:
    """A shoot with three picks."""
    assert onsite("new", "day", "--name", "Day", "--timezone", "Europe/Vienna").status == 0
    shoot = open_shoot(tmp_path / "day")
    for person, frames in shoot_day(shoot, tmp_path / "card").items():
        pick(shoot, person, frames[:1])
    shoot.engine.dispose()
    monkeypatch.chdir(tmp_path / "day")
    return onsite


def test_who_is_forgotten_is_in_no_list_of_files(picked: Onsite, tmp_path: Path) -> None:
    assert picked("retouch", "send", "../batch", "--names").status == 0
    sent, held = Path("retouch/batch-1/list.json"), Path("retouch/returned.json")
    files = [row["file"] for row in json.loads(sent.read_bytes())]
    for number, file in enumerate(files[:2], 1):
        retouched(portrait(number)).reduce(2).save(tmp_path / "batch" / file)
    assert picked("retouch", "receive", "../batch").status == 3
    assert files[0] in held.read_text(encoding="utf-8")
    assert picked("frames", "give", "f1", "C-2").status == 0
    told = picked("forget", "C-1", "--json").data
    assert {sent.name, held.name} == {Path(path).name for path in told["blanked"]}
    assert [row["file"] for row in json.loads(sent.read_bytes())] == ["", *files[1:]]
    waiting = [Path(one["path"]).name for one in json.loads(held.read_bytes())]
    assert files[0] not in waiting
    assert files[1] in waiting
    assert picked("retouch", "list").status == 0
    assert picked("retouch", "receive", "../batch").status in (0, 3)


def test_whoever_says_no_afterwards_is_told_what_is_out_already(picked: Onsite) -> None:
    assert picked("retouch", "send", "../batch", "--hand", "Lab").status == 0
    assert picked("deliver", "../out", "--originals").status in (0, 3)
    assert picked("proofs", "build", "../proofs").status == 0
    told = picked("consent", "C-1", "no").out
    assert "must not be published" in told
    assert "Out already, as it was: a proof page and delivered pictures" in told
    assert "Out already" not in picked("consent", "C-1", "yes").out


def test_what_was_recorded_last_counts_where_the_clock_was_set_back(
    picked: Onsite, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class AnHourAgo(datetime):
        @classmethod
        def now(cls, tz: tzinfo | None = None) -> datetime:  # type: ignore[override]
            return datetime.now(tz) - timedelta(hours=1)

    assert picked("retouch", "send", "../batch", "--hand", "Lab").status == 0
    monkeypatch.setattr("onsite.store.shoot.datetime", AnHourAgo)
    sent = tmp_path / "batch" / "0001_f1.jpg"
    retouched(Image.open(sent)).save(sent)
    assert picked("retouch", "receive", "../batch").status == 3
    assert picked("retouch", "list", "--json").data["batches"][0]["back"] == ["f1"]

    def pick_of_second() -> str:
        frame: str = picked("picks", "list", "--json").data["people"][1]["picks"][0]["frame"]
        return frame

    before = pick_of_second()
    assert picked("picks", "add", "C-2", "f4", "--instead").status == 0
    assert pick_of_second() != before
    assert picked("undo").status == 0
    assert pick_of_second() == before


@pytest.mark.parametrize("who", ["C-1", "C-2"])
def test_a_file_retouched_under_another_name_goes_with_whom_it_shows(
    picked: Onsite, tmp_path: Path, who: str
) -> None:
    """Before the frame was given to C-2, it went out, and came back, under the name of C-1."""
    assert picked("retouch", "send", "../batch", "--hand", "Lab").status == 0
    for name in ("0001_f1", "0002_f3"):
        retouched(Image.open(tmp_path / "batch" / f"{name}.jpg")).save(tmp_path / "batch" / f"{name}.jpg")
    assert picked("retouch", "receive", "../batch").status == 3
    kept, other = Path("retouched/0001_f1.jpg"), Path("retouched/0002_f3.jpg")
    sight = Path("retouch/batch-1/f1.png")
    assert picked("deliver", "../out").status == 0
    assert picked("frames", "give", "f1", "C-2").status == 0
    planned = picked("forget", who, "--dry-run", "--json").data
    assert {str(kept.absolute()), str(sight.absolute())} <= set(planned["deleted"])
    assert kept.is_file()
    assert picked("forget", who, "--json").data["deleted"] == planned["deleted"]
    assert (kept.exists(), sight.exists()) == (False, False)
    assert other.exists() == (who == "C-1")
    beyond = {entry["file"] for entry in planned["beyond"]}
    assert {str(tmp_path / "batch"), str(tmp_path / "out")} <= beyond
    for command in ("check", "status", "retouch list", "picks list"):
        assert picked(*command.split()).status == 0, command


@pytest.mark.long
def test_a_batch_cannot_be_due_on_a_day_that_is_past(picked: Onsite) -> None:
    assert "that day is past" in refused(picked("retouch", "send", "../batch", "--due", "2020-02-29"))
    assert not Path("../batch").exists()


def test_out_and_back(picked: Onsite, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    out = picked(
        "retouch", "send", "../batch", "--hand", "A service", "--due", "2126-07-01", "--price", "4,20"
    )
    assert out.status == 0
    assert "3 images at 4.20 EUR: 12.60 EUR." in out.out
    assert "batch-1: 3 files are ready in ../batch for A service." in out.out
    for name in ("0001_f1", "0002_f3"):
        retouched(Image.open(tmp_path / "batch" / f"{name}.jpg")).save(tmp_path / "batch" / f"{name}-r.tif")
        (tmp_path / "batch" / f"{name}.jpg").unlink()
    back = picked("retouch", "receive", "../batch", "--json")
    assert back.status == 3
    assert [one["kept"] for one in back.data["accepted"]] == [
        "retouched/0001_f1.tif",
        "retouched/0002_f3.tif",
    ]
    assert [trouble["kind"] for trouble in back.data["refused"][0]["troubles"]] == ["unchanged"]
    listed = picked("retouch", "list", "--json").data
    assert [one["frame"] for one in listed["batches"][0]["out"]] == ["f5"]
    assert listed["waiting"][0]["frame"] == "f5"
    assert picked("retouch", "accept", "f5", "--reason", "nothing to do").status == 0
    assert picked("retouch", "again", "f1", "--reason", "too smooth").status == 0
    later = datetime(2126, 7, 2, 12, tzinfo=UTC)
    monkeypatch.setattr(Shoot, "now", lambda _: later)
    assert "overdue" in picked("retouch", "list").out
    assert [one["version"] for one in picked("retouch", "list", "--json").data["batches"][0]["out"]] == [2]


@pytest.mark.long
def test_names_of_people_only_in_house_or_where_asked_for(picked: Onsite) -> None:
    def first(*options: str) -> str:
        data = picked("retouch", "send", "../batch", "--dry-run", "--json", *options).data
        return str(data["files"][0]["file"])

    assert first() == "Singer1_Ana_Altos_0001_f1.jpg"
    assert first("--no-names") == "0001_f1.jpg"
    assert first("--hand", "A service") == "0001_f1.jpg"
    assert first("--hand", "A service", "--names") == "Singer1_Ana_Altos_0001_f1.jpg"


TELLING = (b"Ana Horvat", b"SERIAL-77", b"Maker", b"Harbour Town", b"N\0\0\0\x02")


def telling(path: Path) -> None:
    """Has a picture say of itself whose camera took it, where, and of whom. Its pixels stay."""
    exif = Image.Exif()
    exif[0x010F], exif[0x013B] = "Maker", "Ana Horvat"
    exif.get_ifd(0x8769)[0xA431] = "SERIAL-77"
    exif.get_ifd(0x8825).update({1: "N", 2: (48.0, 12.0, 0.0), 0x1D: "Harbour Town"})
    content = path.read_bytes()
    end = 4 + int.from_bytes(content[4:6], "big")  # behind its first segment, JFIF
    block = exif.tobytes()
    segment = b"\xff\xe1" + (len(block) + 2).to_bytes(2, "big") + block
    path.write_bytes(content[:end] + segment + content[end:])


@pytest.fixture
def told(onsite: Onsite, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Onsite:
    """A shoot in a school with one pick, of which a developed file names a person, a place and a camera."""
    assert onsite("new", "day", "--name", "Hillside School", "--timezone", "Europe/Vienna").status == 0
    shoot = open_shoot(tmp_path / "day")
    pick(shoot, 1, shoot_day(shoot, tmp_path / "card", people=1)[1][:1])
    shoot.engine.dispose()
    developed = tmp_path / "developed" / "_FCA0010.JPG"
    developed.parent.mkdir()
    portrait(1).save(developed, quality=95)
    telling(developed)
    monkeypatch.chdir(tmp_path / "day")
    return onsite


def test_what_goes_to_another_hand_names_nobody_no_place_and_no_camera(told: Onsite, tmp_path: Path) -> None:
    before = (tmp_path / "developed" / "_FCA0010.JPG").read_bytes()
    assert [word for word in TELLING if word in before] != []
    out = told("retouch", "send", "../batch", "--hand", "A service", "--from", "../developed")
    assert out.status == 0
    assert "Their metadata stay here" in out.out
    sent = (tmp_path / "batch" / "0001_f1.jpg").read_bytes()
    assert [word for word in (*TELLING, b"Exif") if word in sent] == []
    with Image.open(io.BytesIO(before)) as one, Image.open(io.BytesIO(sent)) as other:
        assert one.tobytes() == other.tobytes()
    for name in ("notes.txt", "list.csv", "manifest-sha256.txt"):
        text = (tmp_path / "batch" / name).read_text(encoding="utf-8")
        assert not [word for word in ("Hillside", "Singer", "_FCA0010") if word in text]
    if shutil.which("exiftool"):
        found = json.loads(subprocess.run(["exiftool", "-j", "-G0", *(tmp_path / "batch").glob("*.jpg")],
            capture_output=True, check=True).stdout)  # fmt: skip
        assert not {name for name in found[0] if name.startswith(("EXIF", "XMP", "IPTC", "MakerNotes"))}
    if shutil.which("sha256sum"):
        checked = ["sha256sum", "-c", "manifest-sha256.txt"]
        assert subprocess.run(checked, cwd=tmp_path / "batch", capture_output=True).returncode == 0


@pytest.mark.long
def test_what_comes_back_of_a_stripped_file_is_recognised(told: Onsite, tmp_path: Path) -> None:
    told("retouch", "send", "../batch", "--hand", "A service", "--from", "../developed")
    (tmp_path / "back").mkdir()
    with Image.open(tmp_path / "batch" / "0001_f1.jpg") as sent:
        retouched(sent).save(tmp_path / "back" / "0001_f1 final.jpg", quality=95)
    assert [one["frame"] for one in told("retouch", "receive", "../back", "--json").data["accepted"]] == [
        "f1"
    ]


@pytest.mark.long
@pytest.mark.parametrize(
    "options", [(), ("--hand", "A service", "--keep-metadata"), ("--names", "--keep-metadata", "--hand", "B")]
)
def test_in_house_and_where_asked_for_metadata_go_along(
    told: Onsite, tmp_path: Path, options: tuple[str, ...]
) -> None:
    out = told("retouch", "send", "../batch", "--from", "../developed", *options)
    assert ("can name people, places and cameras" in out.out) == bool(options)
    (sent,) = (tmp_path / "batch").glob("*.jpg")
    assert sent.read_bytes() == (tmp_path / "developed" / "_FCA0010.JPG").read_bytes()


@pytest.mark.long
def test_names_on_files_do_not_bring_the_metadata_along(told: Onsite, tmp_path: Path) -> None:
    told("retouch", "send", "../batch", "--from", "../developed", "--hand", "A service", "--names")
    assert b"SERIAL-77" not in (tmp_path / "batch" / "Singer1_Ana_Altos_0001_f1.jpg").read_bytes()


@pytest.mark.long
def test_a_raw_file_stays_here_unless_it_may_go_as_it_is(
    onsite: Onsite, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    onsite("new", "day", "--name", "Day", "--timezone", "Europe/Vienna")
    raw(tmp_path / "card" / "A0001.DNG", portrait(1), "2026:06:13 10:00:00", "SERIAL-77")
    (tmp_path / "list.csv").write_text("key,name\nC-1,Ana Horvat\n")
    monkeypatch.chdir(tmp_path / "day")
    onsite("roster", "load", "../list.csv")
    onsite("ingest", "../card", "--camera", "A")
    onsite("frames", "give", "A0001.DNG", "C-1")
    assert onsite("picks", "add", "C-1", "A0001.DNG").status == 0
    said = refused(onsite("retouch", "send", "../batch", "--hand", "A service"))
    assert "the metadata cannot be taken out of a raw file" in said
    assert "--keep-metadata" in said
    assert not (tmp_path / "batch").exists()
    assert onsite("retouch", "send", "../batch", "--hand", "A service", "--keep-metadata").status == 0


@pytest.mark.long
@pytest.mark.parametrize(
    "arguments",
    [
        ("send", "../batch", "--due", "tomorrow"),
        ("send", "../batch", "--price", "much"),
        ("send", "../batch", "--from", "../nowhere"),
        ("send", "../batch", "--frames", "f99"),
        ("send", "../batch", "--group", "Nobody"),
        ("send", "../card"),
        ("receive", "../nowhere"),
        ("receive", "../card"),
        ("accept", "f1"),
        ("again", "f1", "--reason", "why"),
        ("again", "f1"),
        ("cost", "--images", "-1"),
        ("cost", "--images", "10", "--spot", "200"),
    ],
)
def test_bad_input_changes_nothing(picked: Onsite, tmp_path: Path, arguments: tuple[str, ...]) -> None:
    refused(picked("retouch", *arguments))
    assert not (tmp_path / "batch").exists()
    assert picked("retouch", "list", "--json").data["batches"] == []


@pytest.mark.long
def test_a_file_that_was_only_saved_again_is_held_and_status_says_what_to_do(
    picked: Onsite, tmp_path: Path
) -> None:
    picked("retouch", "send", "../batch", "--hand", "A service")
    back = tmp_path / "back"
    back.mkdir()
    with Image.open(tmp_path / "batch" / "0001_f1.jpg") as sent:
        sent.save(back / "0001_f1.jpg", quality=85)
    with Image.open(tmp_path / "batch" / "0002_f3.jpg") as sent:
        retouched(sent).save(back / "0002_f3.jpg", quality=85)
    with Image.open(tmp_path / "batch" / "0003_f5.jpg") as sent:
        sent.convert("L").save(back / "0003_f5.jpg", quality=85)  # black and white, as asked for
    done = picked("retouch", "receive", "../back")
    assert done.status == 3
    assert "2 accepted, 1 not accepted" in done.out
    assert "not accepted: 0001_f1.jpg: it was saved again without a visible change" in done.out
    status = picked("status")
    assert "Held for you: 1 returned file." in status.out
    assert ":0010: it was saved again without a visible change" in status.out
    assert "onsite retouch accept FRAMES" in status.out
    assert [one["frame"] for one in picked("status", "--json").data["held"]] == ["f1"]
    assert "onsite retouch accept FRAMES" in picked("retouch", "list").out
    assert picked("retouch", "accept", "f1", "--reason", "nothing to do").status == 0
    assert "Held" not in picked("status").out
    assert picked("status", "--json").data["held"] == []


def test_what_it_costs_before_it_is_spent(onsite: Onsite) -> None:
    told = onsite(
        *("retouch", "cost", "--images", "90", "--pack", "250", "--pack-price", "40", "--currency", "EUR"),
        *("--seconds", "8", "--by-hand", "20", "--by-hand-seconds", "300", "--spot", "10%"),
    )
    assert told.status == 0
    # one pack at 40, of which 90 x 40 / 250 = 14.40 are used up: 0.16 an image; 250 - 90 = 160 left
    assert "90 images: 40.00 EUR to pay; of that, 0.1600 is used up for each image." in told.out
    assert "left: 160" in told.out
    # 10 in 100 of 90 are 9, 20 in 100 are 18; 90 x 8 s = 12 min, 18 x 300 s = 90 min
    assert "To look at: 9; by hand: 18." in told.out
    assert "Time: 12 min of work on the images, 1 h 30 min of a person's." in told.out
