"""Making, finding and opening a shoot, and its settings."""

from __future__ import annotations

import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from sqlmodel import select

from onsite.core.errors import Problem
from onsite.frames.frame_previews import save_preview
from onsite.store.backups import back_up
from onsite.store.schema import Person
from onsite.store.settings import Settings, read_settings, write_settings
from onsite.store.shoot import Shoot, create_shoot, find_shoot, open_shoot
from tests.tiers import long_after


def test_a_shoot_opens_as_it_was_made(shoot: Shoot) -> None:
    again = open_shoot(shoot.folder)
    assert (again.mark, again.settings) == ("AAAA", shoot.settings)
    assert str(again.zone) == "Europe/Vienna"
    assert again.now().tzinfo is again.zone
    again.engine.dispose()


@pytest.mark.skipif(os.name == "nt", reason="Windows does not rename what is open")
def test_nothing_takes_the_place_of_a_shoot_whose_folder_was_renamed(shoot: Shoot, tmp_path: Path) -> None:
    """A station that has it open goes on in it, wherever it is by now."""
    with shoot.writing() as session:
        session.add(Person(key="1", name="Ana", code="one"))
    away = shoot.folder.rename(tmp_path / "renamed")
    with shoot.writing() as session:
        session.add(Person(key="2", name="Bo", code="two"))
    with pytest.raises(Problem, match="database is gone"):
        back_up(shoot.folder, [], shoot.now())
    assert save_preview(shoot.folder, "a" * 64, b"x") is None
    shoot.engine.dispose()  # as a thread that connects for the first time
    with pytest.raises(Problem, match="database is gone"), shoot.reading() as session:
        session.scalar(select(Person.id))
    assert not shoot.folder.exists()
    away.rename(shoot.folder)
    with shoot.reading() as session:
        assert session.scalars(select(Person.name).order_by(Person.id)).all() == ["Ana", "Bo"]


def test_a_shoot_is_not_made_over_another(shoot: Shoot) -> None:
    before = (shoot.folder / "onsite.db").read_bytes()
    with pytest.raises(Problem, match="a shoot already"):
        create_shoot(shoot.folder, Settings(name="Other"), "CCCC")
    assert (shoot.folder / "onsite.db").read_bytes() == before


def test_of_four_that_make_one_shoot_at_once_one_does(tmp_path: Path) -> None:
    folder = tmp_path / "shoot"

    def make(number: int) -> str:
        try:
            made = create_shoot(folder, Settings(name=f"Shoot {number}"), f"AAA{number}")
        except Problem as problem:
            return problem.what
        made.engine.dispose()
        return made.settings.name

    with ThreadPoolExecutor(4) as stations:
        said = list(stations.map(make, range(2, 6)))
    assert sum(told.endswith("is a shoot already.") for told in said) == 3
    opened = open_shoot(folder)
    assert opened.settings.name in said
    opened.engine.dispose()
    assert sorted(path.name for path in folder.iterdir()) == ["onsite.db", "shoot.toml"]


@pytest.mark.long
@pytest.mark.parametrize("moment", long_after(1, ["write_settings", "create_schema", "link_new"]))
def test_what_is_left_of_a_shoot_whose_making_was_killed_is_taken_up(tmp_path: Path, moment: str) -> None:
    """The process ends right before that step; see `create_shoot`."""
    program = (
        "import os, sys; from pathlib import Path; from onsite.store import shoot; from onsite.store.settings"
        " import Settings; setattr(shoot, sys.argv[2], lambda *_, **__: os._exit(9));"
        " shoot.create_shoot(Path(sys.argv[1]), Settings(name='First'), 'AAAA')"
    )
    killed = subprocess.run([sys.executable, "-c", program, str(tmp_path / "shoot"), moment], check=False)
    assert killed.returncode == 9
    with pytest.raises(Problem, match="is not a shoot"):
        open_shoot(tmp_path / "shoot")
    create_shoot(tmp_path / "shoot", Settings(name="Second"), "BBBB").engine.dispose()
    opened = open_shoot(tmp_path / "shoot")
    assert opened.settings.name == "Second"
    assert opened.mark in ("AAAA", "BBBB")
    opened.engine.dispose()


def test_a_database_in_use_is_not_taken_for_what_was_left(shoot: Shoot) -> None:
    with shoot.writing() as session:
        session.add(Person(key="1", name="Ana", code="one"))
    shoot.engine.dispose()
    (shoot.folder / "shoot.toml").unlink()
    with pytest.raises(Problem, match=r"but no shoot\.toml"):
        create_shoot(shoot.folder, Settings(name="Other"), "CCCC")


def test_a_new_shoot_is_private_whatever_the_umask(tmp_path: Path) -> None:
    before = os.umask(0)
    try:
        made = create_shoot(tmp_path / "shoot", Settings(name="Festival"), "AAAA")
        with made.writing() as session:
            session.add(Person(key="1", name="Ana", code="one"))
    finally:
        os.umask(before)
    assert [path for path in (made.folder, *made.folder.iterdir()) if path.stat().st_mode & 0o077] == []
    made.engine.dispose()


def test_a_folder_that_cannot_be_made(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("here already")
    with pytest.raises(Problem, match="cannot be made"):
        create_shoot(tmp_path / "file" / "shoot", Settings(name="Festival"), "AAAA")


def test_the_nearest_shoot_upwards_is_found(shoot: Shoot) -> None:
    deep = shoot.folder / "copies" / "DCIM"
    deep.mkdir(parents=True)
    assert find_shoot(None, deep) == shoot.folder
    assert find_shoot(None, shoot.folder) == shoot.folder


def test_a_shoot_that_is_named_is_taken(shoot: Shoot, tmp_path: Path) -> None:
    assert find_shoot(str(tmp_path / "other"), shoot.folder) == tmp_path / "other"


def test_no_shoot_upwards(tmp_path: Path) -> None:
    with pytest.raises(Problem, match="not in a shoot"):
        find_shoot(None, tmp_path)


def test_a_folder_without_settings_or_database(tmp_path: Path) -> None:
    with pytest.raises(Problem, match="is not a shoot"):
        open_shoot(tmp_path)
    write_settings(tmp_path, Settings(name="Festival"))
    with pytest.raises(Problem, match="database is gone"):
        open_shoot(tmp_path)


def test_settings_come_back_as_written(tmp_path: Path) -> None:
    settings = Settings('Chöre "2026" \\ \n', client="Ω", date="2026-06-13", timezone="Asia/Kathmandu")
    write_settings(tmp_path, settings)
    assert read_settings(tmp_path) == settings


@pytest.mark.parametrize(
    "content",
    [b"name = Festival", b'name = "Festival', b"name = 7", b'name = ""', b"", b'name = "\xff"', b"[name]\n"],
)
def test_settings_that_make_no_sense_are_told(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "shoot.toml").write_bytes(content)
    with pytest.raises(Problem, match=r"shoot\.toml") as told:
        read_settings(tmp_path)
    assert "\n" not in told.value.what
    assert told.value.remedy


def test_settings_saved_by_a_plain_editor_with_a_byte_order_mark(tmp_path: Path) -> None:
    (tmp_path / "shoot.toml").write_bytes(b'\xef\xbb\xbfname = "Festival"\r\nunknown = 1\r\n')
    assert read_settings(tmp_path) == Settings(name="Festival")


@pytest.mark.parametrize("zone", ["Europe/Atlantis", "", "Europe", "../Vienna", "CEST+2", "Europe/\0"])
def test_a_wrong_time_zone_is_told_before_anything_is_made(tmp_path: Path, zone: str) -> None:
    with pytest.raises(Problem, match="no time zone") as told:
        create_shoot(tmp_path / "shoot", Settings(name="Festival", timezone=zone), "AAAA")
    assert "Europe/Vienna" in told.value.remedy
    assert not (tmp_path / "shoot").exists()


def test_a_wrong_time_zone_in_the_file_is_told(shoot: Shoot) -> None:
    write_settings(shoot.folder, Settings(name="Festival", timezone="Wien"))
    with pytest.raises(Problem, match="'Wien'"):
        open_shoot(shoot.folder)


def test_a_date_put_in_by_hand(tmp_path: Path) -> None:
    file = tmp_path / "shoot.toml"
    file.write_text('name = "Festival"\ndate = " 2026-06-13 "\n')
    assert read_settings(tmp_path).date == "2026-06-13"
    file.write_text('name = "Festival"\ndate = "6/13/2026"\n')
    with pytest.raises(Problem, match=r"shoot\.toml: date: '6/13/2026' is not a date"):
        read_settings(tmp_path)
