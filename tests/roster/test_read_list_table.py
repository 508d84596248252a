"""Files that are lists, and files that are not."""

from pathlib import Path

import pytest

from onsite.core.errors import Problem
from onsite.roster.read_list_table import read_table


def file(folder: Path, data: bytes | str) -> Path:
    path = folder / "list.csv"
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    return path


def test_rows_keep_the_number_that_a_spreadsheet_shows(tmp_path: Path) -> None:
    table = read_table(file(tmp_path, '\nName,Group\n\n,,\n"Ann\nLee", Alto ,,\nBo,Bass'))
    assert [(row.number, row.cells) for row in table.rows] == [
        (2, ("Name", "Group")),
        (5, ("Ann\nLee", "Alto")),
        (6, ("Bo", "Bass")),
    ]
    assert (table.blank, table.delimiter, table.encoding) == (2, ",", "UTF-8")


def test_outer_white_space_is_dropped_no_break_spaces_too(tmp_path: Path) -> None:
    assert read_table(file(tmp_path, "Name\n\u00a0Ann\u00a0Lee \u2003\n")).rows[1].cells == ("Ann\u00a0Lee",)


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "empty"),
        (b" \n\n\t\n", "empty"),
        (b",,,\n,,\n", "empty"),
        (bytes(range(256)) * 4, "neither text nor a workbook"),
        (b"%PDF-1.7 ...", "a PDF"),
        (b"\xff\xd8\xff\xe0\0\x10JFIF", "a JPEG picture"),
        (b"\x89PNG\r\n\x1a\n", "a PNG picture"),
        (b"\n<html><table>", "a web page"),
        (("a," * 999 + "b\n").encode(), "1,000 columns"),
    ],
)
def test_what_is_no_list_is_refused(tmp_path: Path, data: bytes, says: str) -> None:
    with pytest.raises(Problem, match=says) as refused:
        read_table(file(tmp_path, data))
    assert refused.value.remedy
    assert "\n" not in refused.value.what


def test_a_missing_file_and_a_folder(tmp_path: Path) -> None:
    with pytest.raises(Problem, match="no file"):
        read_table(tmp_path / "nowhere.csv")
    with pytest.raises(Problem, match="is a folder"):
        read_table(tmp_path)


def test_a_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    path = file(tmp_path, "Name\nAnn\n")
    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(Problem, match="Permission denied"):
        read_table(path)


def test_a_text_list_has_no_sheets(tmp_path: Path) -> None:
    with pytest.raises(Problem, match="no sheets"):
        read_table(file(tmp_path, "Name\nAnn\n"), sheet="People")
