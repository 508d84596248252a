"""Forgetting a person: nothing of them is left within reach, all else stays, and the record is sound."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from contextlib import suppress
from datetime import date, timedelta
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from onsite.checkin.offline_journal import reserve_offline_journal
from onsite.checkin.walk_ins_and_corrections import walk_in_fields
from onsite.core.codes import new_code
from onsite.core.errors import Problem
from onsite.store.local_copy import save_local_copy
from onsite.store.move_store import copy_tables
from onsite.store.shoot import open_shoot
from tests.cli.command_line import Onsite, refused
from tests.frames.pictures import jpeg
from tests.store.server import new_database
from tests.store.server import server_url as server_url

TRACES = (b"Lindqvarn", b"asa@example.org")
"""What the list says about one person, in a spelling that JSON and UTF-8 share."""

READS = ("status", "roster list", "match", "frames export frames.csv", "picks list", "retouch list", "check")


def files_with_traces() -> list[Path]:
    """Every file below the shoot's folder in which the person can still be found."""
    files = sorted(path for path in Path().rglob("*") if path.is_file())
    return [path for path in files if any(trace in path.read_bytes() for trace in TRACES)]


def without(data: dict[str, Any], *keys: str) -> dict[str, Any]:
    return {key: value for key, value in data.items() if key not in keys}


def test_nothing_of_a_forgotten_person_is_left_and_the_record_is_sound(day: Onsite, small_day: Path) -> None:
    assert day("remind").status == 0
    assert day("frames", "undo").status in (0, 2)
    assert day("frames", "give", "A:1-2", "C-1").status == 0
    others = [person for person in day("roster", "list", "--json").data["people"] if person["key"] != "C-1"]
    assert Path("onsite.db") in files_with_traces()
    planned = day("forget", "C-1", "--dry-run", "--json").data
    assert Path("onsite.db") in files_with_traces()
    done = day("forget", "C-1", "--json").data
    assert (done["frames"], done["deleted"]) == (planned["frames"], planned["deleted"])
    assert done["frames"] == ["f1", "f2"]
    assert done["events"] > 0
    assert len([path for path in done["deleted"] if "previews" in path]) == 2
    card = small_day.parent / "card"
    original = {"file": str(card / "IMG_0001.JPG"), "reason": "an original, which is never changed"}
    assert original in done["beyond"]
    assert files_with_traces() == []
    for command in READS:
        told = day(*command.split(), "--json")
        assert told.status == 0, told
    assert day("roster", "list", "--json").data["people"] == others
    counts = day("status", "--json").data
    assert (counts["frames"], counts["aside"], counts["people"]) == (6, 2, 3)
    assert "C-1" in refused(day("forget", "C-1"))
    assert len(day("restore", "--json").data["backups"]) == 1


def test_what_an_interrupted_forgetting_leaves_goes_with_the_next_backup(
    day: Onsite, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert day("remind").status == 0

    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    draft = Path("backups/.0123456789abcdef.part")  # of a backup that was killed
    draft.write_bytes(TRACES[0])
    for step in ("_blank_record", "_replace_backups"):
        with monkeypatch.context() as patched:
            patched.setattr(f"onsite.personal_data.forget_person.{step}", stop)
            assert day("forget", "C-1").status == 1
    assert "C-1" in refused(day("forget", "C-1"))
    assert {path.parent.name for path in files_with_traces()} == {"backups"}
    assert day("backup").status == 0
    assert files_with_traces() == []
    assert day("check").status == 0


@pytest.mark.parametrize("room", [0, 100_000])
def test_on_a_full_disk_nobody_is_half_forgotten(
    day: Onsite, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, room: int
) -> None:
    disk = tmp_path / "disk"
    disk.mkdir()
    if subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=2m", "tmpfs", disk], capture_output=True
    ).returncode:
        pytest.skip("a small disk cannot be mounted here")
    try:
        shutil.copytree(Path(), disk / "day")
        shutil.rmtree(disk / "day" / "backups")
        monkeypatch.chdir(disk / "day")
        ballast = disk / "ballast"
        with ballast.open("wb", buffering=0) as stream, suppress(OSError):
            while True:
                stream.write(bytes(4096))
        os.truncate(ballast, ballast.stat().st_size - room)
        assert day("forget", "C-1").status == 2
        assert day("roster", "list").status == 0
        ballast.unlink()
        assert day("forget", "C-1").status == 0
        assert files_with_traces() == []
    finally:
        monkeypatch.chdir(tmp_path)
        subprocess.run(["umount", "-l", disk], check=True)


def test_who_is_forgotten_is_so_without_a_new_backup_too(
    day: Onsite, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise Problem("No backup can be made in backups: no room.", "Free some space there.")

    with monkeypatch.context() as patched:
        patched.setattr("onsite.personal_data.forget_person.back_up", refuse)
        told = day("forget", "C-1", "--json")
    assert told.status == 0
    assert [one["reason"] for one in told.data["beyond"] if one["file"].endswith("backups")] == [
        "no new backup: No backup can be made in backups: no room. Later: onsite backup"
    ]
    assert files_with_traces() == []


def test_backups_on_a_disk_that_was_not_there_go_once_it_is(day: Onsite, tmp_path: Path) -> None:
    settings, disk = Path("shoot.toml"), tmp_path / "disk"
    disk.mkdir()
    text = settings.read_text(encoding="utf-8")
    settings.write_text(text.replace('backups = ""', f'backups = "{disk}"'), encoding="utf-8")
    assert day("backup").status == 0
    disk.rename(tmp_path / "drawer")
    told = day("forget", "C-1", "--json").data
    assert {"file": str(disk), "reason": "backups, which are not there now"} in told["beyond"]
    (tmp_path / "drawer").rename(disk)
    assert day("backup").status == 0
    assert len(list(disk.glob("*.db"))) == 1
    assert [path for path in disk.iterdir() if TRACES[0] in path.read_bytes()] == []


def test_no_undo_takes_a_forgotten_persons_frames_back(day: Onsite) -> None:
    assert day("frames", "undo").status in (0, 2)
    assert day("frames", "aside", "A:6").status == 0
    assert day("frames", "give", "A:1-2", "C-1").status == 0
    assert day("consent", "C-1", "no").status == 0
    assert day("forget", "C-1").status == 0
    for command in ("frames undo", "undo", "frames undo", "undo", "undo", "undo"):
        assert day(*command.split()).status in (0, 2)
    assert day("frames", "undo").status == 2
    assert "left to undo" in refused(day("undo"))
    assert day("status", "--json").data["aside"] == 2


CHOIR = """\
key,given,family,group,consent
C-1,Séan,O'Brienne,Alto,yes
C-2,Jo,,Alto,yes
C-3,Joris,Jo,Alto,yes
C-4,Nixe,Wolkan,Bass,no
C-5,Nixe,Wolkan,Alto,no
"""
"""Names within names, a name that HTML escapes, and two people of one name who may not be published."""


def receipt_rows() -> list[str]:
    """The cells of the rows of all receipts, without the figures."""
    texts = [unescape(path.read_text(encoding="utf-8")) for path in sorted(Path("deliveries").glob("*.html"))]
    return [
        " ".join(re.findall(r"<td>([^<]*)</td>", row)) for text in texts for row in text.split("<tr>")[1:]
    ]


def test_receipts_lose_a_forgotten_person_and_nobody_else(
    onsite: Onsite, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "list.csv").write_text(CHOIR, encoding="utf-8")
    assert onsite("new", "day", "--name", "Day", "--timezone", "Europe/Vienna").status == 0
    monkeypatch.chdir("day")
    assert onsite("roster", "load", "../list.csv").status == 0
    for number in range(1, 6):
        jpeg(tmp_path / "card" / f"IMG_000{number}.JPG", number * 30, taken="2026:06:13 09:00:00")
    assert onsite("ingest", "../card", "--camera", "A").status == 0
    for number in range(1, 6):
        assert onsite("frames", "give", f"A:{number}", f"C-{number}").status == 0
        assert onsite("picks", "add", f"C-{number}", f"A:{number}").status == 0
    assert onsite("deliver", "../groups", "--originals", "--per", "group").status in (0, 3)
    left_out = [row for row in receipt_rows() if "Wolkan" in row]
    assert len(left_out) == 2
    assert [row.split(" must ")[0] for row in left_out] == ["Nixe Wolkan Bass", "Nixe Wolkan Alto"]
    told = onsite("forget", "C-4", "--json").data
    assert str(tmp_path / "groups") in [beyond["file"] for beyond in told["beyond"]]
    assert [row for row in receipt_rows() if "Wolkan" in row] == left_out[1:]
    assert onsite("deliver", "../people", "--originals", "--per", "person").status in (0, 3)
    before = receipt_rows()
    for key in ("C-1", "C-2"):
        assert onsite("forget", key).status == 0
    assert [row for row in before if "Joris" in row] == [row for row in receipt_rows() if "Joris" in row]
    texts = " ".join(unescape(path.read_text(encoding="utf-8")) for path in Path("deliveries").glob("*.html"))
    for trace in ("Brien", "C-1", "C-2", "Jo<", "Jo_"):
        assert trace not in texts.replace("Joris Jo<", "").replace("Jo_Joris_", "")
    assert "C-3" in texts


def test_a_contact_sheet_of_somebody_without_a_page_is_named(day: Onsite) -> None:
    assert day("consent", "C-1", "no").status == 0
    assert day("proofs", "build", "../proofs").status in (0, 3)
    assert [path.name for path in Path("../proofs/private/sheets").glob("*Lindqvarn*.pdf")] != []
    assert [path.name for path in Path("../proofs/pages").iterdir()] == ["index.html"]
    reasons = [beyond["reason"] for beyond in day("forget", "C-1", "--json").data["beyond"]]
    assert [reason for reason in reasons if "contact sheet" in reason] != []
    assert day("proofs", "build", "../proofs").status in (0, 3)
    left = [path for path in Path("../proofs").rglob("*") if path.is_file()]
    assert [path for path in left if "Lindqvarn" in path.name or TRACES[0] in path.read_bytes()] == []


def test_until_when_data_may_be_kept(day: Onsite) -> None:
    assert day("retain", "--json").data["keep_until"] == ""
    settings = Path("shoot.toml").read_text(encoding="utf-8")
    for days, is_past in ((-1, True), (1, False)):
        until = (date.today() + timedelta(days=days)).isoformat()
        Path("shoot.toml").write_text(settings.replace('keep_until = ""', f'keep_until = "{until}"'))
        told = day("retain", "--json").data
        assert (told["keep_until"], told["is_past"], told["people"], told["frames"]) == (until, is_past, 4, 6)
    Path("shoot.toml").write_text(settings.replace('keep_until = ""', 'keep_until = "soon"'))
    assert "'soon' is not a date" in refused(day("retain"))


@pytest.mark.skipif(os.name == "nt", reason="Windows has other permissions")
def test_a_shoot_that_others_can_read_is_told(day: Onsite) -> None:
    Path().chmod(0o755)
    found = day("check", "--json").data["shoot"]
    assert [finding["remedy"][:10] for finding in found if finding["what"] == "privacy"] == ["Close it: "]
    Path().chmod(0o700)
    found = day("check", "--json").data["shoot"]
    assert [finding["remedy"] for finding in found if finding["what"] == "privacy"] == [""]


@pytest.mark.long
def test_what_was_kept_while_the_server_was_gone_is_forgotten_too(
    onsite: Onsite, tmp_path: Path, server_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    url = new_database(server_url, "forget")
    assert onsite("new", "day", "--name", "Day", "--store", url).status == 0
    monkeypatch.chdir(tmp_path / "day")
    shoot = open_shoot(Path())
    journal = reserve_offline_journal(shoot)
    assert journal is not None
    asa = {"given": "Åsa", "family": "Lindqvarn", "group": "", "email": "asa@example.org", "consent": ""}
    journal.walk_in(walk_in_fields(asa), new_code(shoot.mark, ()), shoot.now(), "door-1", None)
    save_local_copy(shoot)
    shoot.engine.dispose()
    assert files_with_traces() == [Path("private/offline.jsonl")]
    assert "Åsa Lindqvarn" in refused(onsite("forget", "Åsa Lindqvarn", "--dry-run"))
    draft = Path("private/last-known/.0.part/onsite.db")  # of a copy that was being made
    draft.parent.mkdir()
    draft.write_bytes(TRACES[0])
    assert "1 check-in or slate from that time is saved." in onsite("forget", "Åsa Lindqvarn").out
    assert files_with_traces() == []
    assert [one["key"] for one in onsite("roster", "list", "--json").data["people"]] == []


@pytest.mark.long
def test_who_is_forgotten_while_a_copy_is_made_is_not_in_it(
    onsite: Onsite, tmp_path: Path, server_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    url = new_database(server_url, "forget-meanwhile")
    assert onsite("new", "day", "--name", "Day", "--store", url).status == 0
    monkeypatch.chdir(tmp_path / "day")
    assert onsite("walkin", "--given", "Åsa", "--family", "Lindqvarn").status == 0

    def copied_slowly(*arguments: Any) -> None:
        copy_tables(*arguments)
        assert onsite("forget", "Åsa Lindqvarn").status == 0

    shoot = open_shoot(Path())
    with monkeypatch.context() as patched:
        patched.setattr("onsite.store.local_copy.copy_tables", copied_slowly)
        save_local_copy(shoot)
    assert not Path("private/last-known/onsite.db").exists()
    save_local_copy(shoot)
    assert Path("private/last-known/onsite.db").exists()
    assert files_with_traces() == []
    shoot.engine.dispose()


@pytest.mark.long
def test_what_a_person_must_delete_stands_first_by_name_and_the_rest_in_counts(day: Onsite) -> None:
    out = day("forget", "C-1", "--dry-run").out
    name = next(p["name"] for p in day("roster", "list", "--json").data["people"] if p["key"] == "C-1")
    lines = out.splitlines()
    assert lines[0] == f"{name} (C-1): what you must delete yourself, since it is out of reach:"
    assert lines.index("What would be done here:") > next(n for n, t in enumerate(lines) if "original" in t)
    assert "previews" not in out  # files of the shoot's own folder are counted
    assert "files would be deleted" in out
