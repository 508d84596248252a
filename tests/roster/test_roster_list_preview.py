"""The look at a list before it is loaded: its columns, and what changes when a person says otherwise."""

from __future__ import annotations

from pathlib import Path

import pytest

from onsite.core.errors import Problem
from onsite.roster.load_roster import load_list
from onsite.roster.roster_list_preview import ASKED, preview_list
from onsite.store.shoot import Shoot

LIST = """\
;Person;;;Foto;
Nr;Vorname;NACHNAME;Gruppe;Print;Web
7;Ana;HORVAT;Alto 1;ja;ja
9;Bo;LIND;Tenor;ja;nein
;Total;2;;;
"""


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "choir.csv"
    path.write_text(LIST, encoding="utf-8")
    return path


def test_each_column_has_its_heading_its_field_and_examples(shoot: Shoot, path: Path) -> None:
    preview = preview_list(shoot, path)
    fields = {column.heading: column.field for column in preview.columns}
    assert fields["Vorname"] == "given"
    assert fields["NACHNAME"] == "family"
    assert fields["Foto Web"] == ASKED
    assert next(c.examples for c in preview.columns if c.heading == "Gruppe") == ("Alto 1", "Tenor")


def test_an_answer_settles_a_column_and_is_remembered(shoot: Shoot, path: Path) -> None:
    maps = [("consent", "F"), ("other", "E")]
    preview = preview_list(shoot, path, maps=maps, capitals="set")
    assert [column.field for column in preview.columns][-2:] == ["other", "consent"]
    assert preview.loaded is not None
    assert [entry.name for entry in preview.loaded.added] == ["Ana Horvat", "Bo Lind"]
    load_list(shoot, path, maps=maps, capitals="set")
    again = preview_list(shoot, path)  # as the next version of the list
    assert [column.field for column in again.columns][-2:] == ["other", "consent"]
    assert again.loaded is not None
    assert (again.loaded.added, again.loaded.unchanged) == ((), 2)


def test_a_list_without_names_shows_its_columns_and_why(shoot: Shoot, tmp_path: Path) -> None:
    path = tmp_path / "odd.csv"
    path.write_text("Code;Stimme\n1;Alto\n2;Bass\n", encoding="utf-8")
    preview = preview_list(shoot, path)
    assert preview.problem is not None
    assert [column.heading for column in preview.columns] == ["Code", "Stimme"]
    assert preview_list(shoot, path, maps=[("name", "A")]).loaded is not None


def test_what_is_no_list_is_refused(shoot: Shoot, tmp_path: Path) -> None:
    path = tmp_path / "picture.csv"
    path.write_bytes(b"\xff\xd8\xff\xe0 not a list")
    with pytest.raises(Problem, match="JPEG"):
        preview_list(shoot, path)
