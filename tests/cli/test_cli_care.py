"""A slip of the hand costs nothing: no file is written over, no refused command leaves a trace."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.cli.command_line import Onsite, refused
from tests.frames.pictures import jpeg


@pytest.mark.parametrize(
    "command",
    [("frames", "export", "onsite.db"), ("slates", "sheet", "onsite.db"), ("slates", "sheet", "../list.csv")],
)
def test_an_answer_never_takes_the_place_of_another_kind_of_file(
    festival: Onsite, command: tuple[str, ...]
) -> None:
    before = Path(command[-1]).read_bytes()[:16]  # further on the database may tidy itself up
    assert "does not end in" in refused(festival(*command))
    assert Path(command[-1]).read_bytes()[:16] == before
    assert festival("roster", "list").status == 0


def test_an_export_is_not_written_over_the_clients_list(festival: Onsite) -> None:
    before = Path("../list.csv").read_bytes()
    assert "not a list of frames" in refused(festival("frames", "export", "../list.csv"))
    assert Path("../list.csv").read_bytes() == before


def test_an_export_is_written_over_an_earlier_one(festival: Onsite) -> None:
    assert festival("frames", "export", "frames.csv").status == 0
    assert festival("frames", "export", "frames.csv").status == 0


def test_a_slate_that_did_not_fit_the_terminal_was_not_shown(
    festival: Onsite, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "20")
    monkeypatch.setenv("LINES", "5")
    shown = "select count(*) from event where kind = 'slate shown'"
    refused(festival("slates", "show", "C-1"))
    assert _ask(shown) == 0
    assert festival("slates", "show", "C-1", "--json").status == 0
    assert _ask(shown) == 1


@pytest.mark.long
def test_the_ends_of_a_range_must_be_there_and_near(festival: Onsite) -> None:
    Path("card").mkdir()
    for colour, counter in enumerate((9999, 1, 2)):
        jpeg(Path(f"card/IMG_{counter:04}.JPG"), colour=40 * colour)
    assert festival("ingest", "card", "--camera", "A").status == 0
    assert "no frame 0099" in refused(festival("frames", "give", "A:0001-0099", "C-1"))
    assert "spans more than" in refused(festival("frames", "give", "A:0001-9999", "C-1"))
    given = festival("frames", "give", "A:9999-2", "C-1", "--json")
    assert len(given.data["frames"]) == 3


def test_a_paper_list_may_give_the_time_of_day_alone(festival: Onsite) -> None:
    Path("paper.csv").write_text("who,at\nC-1,9:41\n", encoding="utf-8")
    arrived = festival("checkin", "--from", "paper.csv", "--json")
    assert arrived.status == 0
    assert "T09:41:00" in arrived.data["arrived"][0]["at"]


def _ask(question: str) -> int:
    import sqlite3
    from contextlib import closing

    with closing(sqlite3.connect("onsite.db")) as database:
        return int(database.execute(question).fetchone()[0])


def test_two_copies_on_one_disk_are_told_before_a_card_is_formatted(festival: Onsite, tmp_path: Path) -> None:
    jpeg(tmp_path / "card" / "IMG_0001.JPG", 1)
    copies = ("--copy-to", tmp_path / "one", "--copy-to", tmp_path / "two")
    assert festival("ingest", tmp_path / "card", *copies).status == 0
    told = festival("verify")
    assert told.status == 0
    assert "safe to format once a copy is on another disk, too." in " ".join(told.out.split())
    shutil.rmtree(tmp_path / "two")
    told = festival("verify")
    assert told.status == 3
    assert "do not format, 1 of 1 picture at fewer than two other places." in " ".join(told.out.split())
