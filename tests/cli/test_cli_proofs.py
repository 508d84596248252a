"""`onsite proofs build`, `onsite picks load`, `add`, `list`."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image

from tests.cli.command_line import HOSTILE, Onsite, refused


@pytest.fixture
def shot(festival: Onsite, tmp_path: Path) -> Onsite:
    """The festival with two frames each of Åsa (C-1) and of the first Maria Keller (C-2)."""
    for number in range(1, 5):
        path = tmp_path / "card" / f"IMG_{number:04}.JPG"
        path.parent.mkdir(exist_ok=True)
        Image.new("RGB", (120, 80), (40 * number, 90, 120)).save(path)
    assert festival("ingest", "../card", "--camera", "A").status == 0
    assert festival("frames", "give", "A:0001-0002", "C-1").status == 0
    assert festival("frames", "give", "A:0003-0004", "C-2").status == 0
    return festival


def test_proofs_are_made_and_what_there_is_is_told(shot: Onsite, tmp_path: Path) -> None:
    told = shot("proofs", "build", "../out")
    assert told.status == 0
    assert "Proofs of 2 people, 4 pictures; made now: 2 people." in told.out
    assert "Pages: 2, in ../out/pages" in told.out
    assert "People without frames: 2." in told.out
    again = shot("proofs", "build", "../out", "--json").data
    assert (again["people"], again["made"], again["pages"]) == (2, 0, 2)
    assert (tmp_path / "out" / "private" / "pages.csv").is_file()


@pytest.mark.long
def test_a_group_and_a_folder_that_cannot_be(shot: Onsite, tmp_path: Path) -> None:
    assert shot("proofs", "build", "../out", "--group", "harbour choir", "--json").data["people"] == 2
    assert "Groups here" in refused(shot("proofs", "build", "../out", "--group", "Brass"))
    (tmp_path / "file").write_text("")
    refused(shot("proofs", "build", "../file"))


@pytest.mark.long
def test_a_hostile_name_forges_no_line(festival: Onsite, tmp_path: Path) -> None:
    assert festival("walkin", "--given", HOSTILE, "--family", "X").status == 0
    Image.new("RGB", (120, 80)).save(tmp_path / "IMG_0001.JPG")
    festival("ingest", "../IMG_0001.JPG", "--camera", "A")
    festival("frames", "give", "A:0001", "walkin-1")
    (tmp_path / "list.csv").write_text("key,name,consent\nC-1,Åsa,yes\n", encoding="utf-8")
    festival("roster", "load", "../list.csv")
    told = festival("proofs", "build", "../out")
    assert "No page for 1" in told.out
    assert "\x1b" not in told.out
    assert not [line for line in told.out.splitlines() if line.startswith("C-9")]


@pytest.mark.long
def test_a_pick_that_becomes_somebody_elses_is_told_at_once(shot: Onsite) -> None:
    assert shot("picks", "add", "C-1", "A:0001").status == 0
    given = shot("frames", "give", "A:0001", "C-2")
    assert "A:0001 is a pick of Åsa" in given.out
    aside = shot("frames", "aside", "A:0001", "--json").data
    assert [(pick["called"], pick["key"], pick["at_retouch"]) for pick in aside["picked"]] == [
        ("A:0001", "C-1", False)
    ]
    assert shot("frames", "give", "A:0001", "C-1", "--json").data["picked"] == []


@pytest.mark.long
def test_picks_are_loaded_and_listed(shot: Onsite, tmp_path: Path) -> None:
    (tmp_path / "picks.csv").write_text("key,file\nC-1,IMG_0002\nC-2,IMG_0003\n")
    told = shot("picks", "load", "../picks.csv")
    assert told.status == 0
    assert "Picks read: 2 people, 2 of them new; refused: 0." in told.out
    listed = shot("picks", "list", "--json").data["people"]
    assert [(one["key"], one["picks"][0]["frame"]) for one in listed] == [
        ("C-1", "A:0002"),
        ("C-2", "A:0003"),
    ]


@pytest.mark.long
def test_part_is_status_3_and_nothing_is_status_2(shot: Onsite, tmp_path: Path) -> None:
    (tmp_path / "picks.csv").write_text("key,file\nC-1,IMG_0002\nC-2,IMG_0001\n")
    part = shot("picks", "load", "../picks.csv")
    assert part.status == 3
    assert "refused: picks.csv, row 3: IMG_0001: it is not a frame of Maria Keller" in part.out
    (tmp_path / "none.csv").write_text("key,file\nC-2,IMG_0001\n")
    none = shot("picks", "load", "../none.csv")
    assert none.status == 2
    assert "row 2: IMG_0001" in none.out
    assert none.err.splitlines()[0] == "none.csv: nothing was taken."
    assert shot("picks", "load", "../none.csv", "--json").data["refused"][0]["row"] == 2
    refused(shot("picks", "load", "../missing.csv"))


@pytest.mark.long
def test_picks_by_hand(shot: Onsite) -> None:
    assert shot("picks", "add", "C-1", "A:0001", "--note", "lint").status == 0
    assert "1 is agreed" in refused(shot("picks", "add", "C-1", "A:0002"))
    assert "not a frame of Åsa Lindqvarn" in refused(shot("picks", "add", "C-1", "A:0003"))
    assert "Picks of Åsa Lindqvarn: A:0002." in shot("picks", "add", "C-1", "A:0002", "--instead").out
    refused(shot("picks", "add", "C-1"))
    refused(shot("picks", "add", "Maria Keller", "A:0003"))


@pytest.mark.long
def test_notes_by_hand_are_shown_wherever_picks_are(shot: Onsite) -> None:
    added = shot("picks", "add", "C-1", "A:0001", "--note", "keep\x07 the scar")
    assert "note to all of them: keep the scar" in added.out
    assert "note: keep the scar" in shot("picks", "list").out
    assert shot("picks", "list", "--json").data["people"][0]["note"] == "keep the scar"
    assert shot("retouch", "send", "../batch").status == 0
    late = shot("picks", "add", "C-1", "A:0001", "--note", "and the lint")
    assert "A:0001 went out with batch-1, without this note" in late.out
    again = shot("picks", "add", "C-1", "A:0001", "--note", "and the lint", "--json").data
    assert (again["note"], again["changed"], again["sent_without_note"]) == ("and the lint", False, [])


@pytest.mark.long
def test_a_pick_that_is_somebody_elses_by_now_is_told(shot: Onsite) -> None:
    assert shot("picks", "add", "C-1", "A:0001").status == 0
    assert shot("picks", "add", "C-2", "A:0003").status == 0
    assert shot("retouch", "send", "../batch").status == 0
    assert shot("frames", "give", "A:0001", "C-2").status == 0
    assert shot("frames", "aside", "A:0003").status == 0
    told = shot("picks", "list")
    assert "A:0001, a pick of Åsa Lindqvarn, is Maria Keller's now, and out with batch-1." in told.out
    assert "is set aside, and out with batch-1." in told.out
    data = shot("picks", "list", "--json").data["people"]
    assert [one["gone"][0]["frame"] for one in data] == ["A:0001", "A:0003"]
