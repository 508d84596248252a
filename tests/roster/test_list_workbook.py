"""XLSX, XLS and ODS, each written by a library that is not the one that reads them."""

import datetime as dt
import io
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from onsite.core.errors import Problem
from onsite.roster.list_workbook import cell_text
from onsite.roster.read_list_table import read_table

HOSTILE = "[bold]Ann\nLee"


def xlsx(path: Path) -> Path:
    import openpyxl

    book = openpyxl.Workbook()
    first = book.active
    assert first is not None
    first.title = "Cover"
    second = book.create_sheet("People")
    second.cell(row=3, column=2, value="Name")
    second.cell(row=3, column=3, value="Key")
    second.cell(row=4, column=2, value="Zoë Ångström")
    second.cell(row=4, column=3, value=1042.0)
    second.cell(row=4, column=4, value=dt.datetime(2025, 6, 14, 9, 30))
    second.cell(row=6, column=2, value=HOSTILE)
    second.cell(row=6, column=3, value="0042")
    second.cell(row=6, column=4, value=dt.date(2025, 6, 14))
    second.cell(row=6, column=5, value=True)
    second.cell(row=6, column=6, value=dt.time(9, 5))
    book.save(path)
    return path


def xls(path: Path) -> Path:
    import xlwt

    book = xlwt.Workbook()
    sheet = book.add_sheet("People")
    for row, cells in enumerate([("Name", "Key"), ("Zoë Ångström", 1042.0), (HOSTILE, "0042")]):
        for column, cell in enumerate(cells):
            sheet.write(row, column, cell)
    sheet.write(1, 2, dt.date(2025, 6, 14), xlwt.easyxf(num_format_str="yyyy-mm-dd"))
    book.save(str(path))
    return path


def ods(path: Path) -> Path:
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.table import Table, TableCell, TableRow
    from odf.text import P

    book = OpenDocumentSpreadsheet()
    sheet = Table(name="People")
    for cells in [("Name", "Key"), ("Zoë Ångström", 1042.0), ("משה כהן", "0042")]:
        row = TableRow()
        for cell in cells:
            if isinstance(cell, float):
                element = TableCell(valuetype="float", value=str(cell))
            else:
                element = TableCell(valuetype="string")
            element.addElement(P(text=str(cell)))
            row.addElement(element)
        sheet.addElement(row)
    book.spreadsheet.addElement(sheet)
    book.save(str(path))
    return path


def test_xlsx_with_a_table_that_does_not_begin_at_the_corner(tmp_path: Path) -> None:
    table = read_table(xlsx(tmp_path / "list.xlsx"))
    assert (table.sheet, table.sheets) == ("People", ("Cover", "People"))
    assert [(row.number, row.cells) for row in table.rows] == [
        (3, ("", "Name", "Key")),
        (4, ("", "Zoë Ångström", "1042", "2025-06-14 09:30")),
        (6, ("", HOSTILE, "0042", "2025-06-14", "TRUE", "09:05")),
    ]
    assert table.blank == 1


def test_xls(tmp_path: Path) -> None:
    rows = read_table(xls(tmp_path / "list.xls")).rows
    assert [row.cells for row in rows] == [
        ("Name", "Key"),
        ("Zoë Ångström", "1042", "2025-06-14"),
        (HOSTILE, "0042"),
    ]


def test_ods(tmp_path: Path) -> None:
    rows = read_table(ods(tmp_path / "list.ods")).rows
    assert [row.cells for row in rows] == [("Name", "Key"), ("Zoë Ångström", "1042"), ("משה כהן", "0042")]


def test_the_content_says_what_a_file_is_not_its_ending(tmp_path: Path) -> None:
    assert read_table(xlsx(tmp_path / "list.csv")).sheet == "People"


def test_a_wrong_sheet_name_lists_the_right_ones(tmp_path: Path) -> None:
    with pytest.raises(Problem, match="no sheet Poeple") as refused:
        read_table(xlsx(tmp_path / "list.xlsx"), sheet="Poeple")
    assert refused.value.remedy == "Sheets in it: Cover, People."


def test_an_empty_sheet(tmp_path: Path) -> None:
    with pytest.raises(Problem, match="empty"):
        read_table(xlsx(tmp_path / "list.xlsx"), sheet="Cover")


@pytest.mark.parametrize("make", [xlsx, xls, ods])
@pytest.mark.parametrize("share", [0.02, 0.5, 0.9])
def test_a_truncated_workbook_is_refused(tmp_path: Path, make: Callable[[Path], Path], share: float) -> None:
    path = make(tmp_path / "list")
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * share)])
    with pytest.raises(Problem):
        read_table(path)


def test_a_workbook_that_would_end_its_reader_is_refused(tmp_path: Path) -> None:
    """Sector size and counts of the compound file's header ([MS-CFB], 2.2) made absurd."""
    path = xls(tmp_path / "list.xls")
    data = bytearray(path.read_bytes())
    data[24:76] = b"\xff" * 52
    path.write_bytes(data)
    with pytest.raises(Problem, match="damaged"):
        read_table(path)


def test_an_archive_that_is_no_workbook(tmp_path: Path) -> None:
    path = tmp_path / "list.xlsx"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("notes.txt", "no list")
    with pytest.raises(Problem, match="damaged workbook, or none"):
        read_table(path)


def test_locked_workbooks(tmp_path: Path) -> None:
    """A locked XLSX is a compound file with a stream EncryptedPackage ([MS-OFFCRYPTO], 2.3.4.4); the manifest
    of a locked ODS has encryption-data (OpenDocument 1.3 part 2, 4.4). Section numbers from memory."""
    package = tmp_path / "list.xlsx"
    package.write_bytes(
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 504 + "EncryptedPackage".encode("utf-16-le")
    )
    archived = io.BytesIO()
    with zipfile.ZipFile(archived, "w") as archive:
        archive.writestr("META-INF/manifest.xml", "<manifest:encryption-data/>")
    document = tmp_path / "list.ods"
    document.write_bytes(archived.getvalue())
    for path in (package, document):
        with pytest.raises(Problem, match="locked with a password"):
            read_table(path)


def test_a_thousand_columns_are_refused(tmp_path: Path) -> None:
    import openpyxl

    book = openpyxl.Workbook()
    assert book.active is not None
    book.active.append([f"Column {number}" for number in range(1000)])
    book.save(tmp_path / "wide.xlsx")
    with pytest.raises(Problem, match="1,000 columns"):
        read_table(tmp_path / "wide.xlsx")


def test_a_cell_far_away_from_the_list_takes_no_memory(tmp_path: Path) -> None:
    import openpyxl

    book = openpyxl.Workbook()
    assert book.active is not None
    book.active["A1"] = "Name"
    book.active["XFD1048576"] = "far"
    book.save(tmp_path / "far.xlsx")
    with pytest.raises(Problem):
        read_table(tmp_path / "far.xlsx")


@pytest.mark.parametrize(
    ("cell", "text"),
    [
        (1042.0, "1042"),
        (12.5, "12.5"),
        ("0042", "0042"),
        (False, "FALSE"),
        (dt.datetime(2025, 6, 14, 9, 30, 15), "2025-06-14 09:30:15"),
        (dt.datetime(2025, 6, 14), "2025-06-14"),
        (dt.timedelta(hours=9, minutes=5), "09:05"),
        ("", ""),
    ],
)
def test_cells_as_people_read_them(cell: object, text: str) -> None:
    assert cell_text(cell) == text
