"""Tables that spreadsheets open without harm."""

from __future__ import annotations

import ast
import csv
import io
import unicodedata
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

import onsite
from onsite.files.write_tables import (
    csv_text,
    escape_formula,
    tab_separated_text,
    table_cell,
    unescape_formula,
    write_workbook,
)
from onsite.roster.person_names import fold_name

SOURCES = Path(onsite.__file__).parent
WRITERS = {"writer", "DictWriter", "Workbook", "writerow", "writerows"}


@pytest.mark.parametrize(
    "text", ["=1+1", "+49 1", "-2", "@SUM(A1)", "\t=1", "\r=1", "＝1+1", "  =1", "\u00a0=1"]
)
def test_what_may_be_a_formula_is_text(text: str) -> None:
    assert escape_formula(text) == f"'{text}"


@pytest.mark.parametrize("text", ["", "Ana", "a=b", "12", "Åsa", "'tis"])
def test_other_text_stays(text: str) -> None:
    assert escape_formula(text) == text
    assert unescape_formula(text) == text


@given(st.text(alphabet=st.sampled_from("'=+-@ \taÅ1")) | st.text())
def test_what_is_escaped_is_read_back_as_it_was(text: str) -> None:
    assert unescape_formula(escape_formula(text)) == text


@given(st.text())
def test_a_cell_is_one_line_without_controls_and_names_the_same_person(text: str) -> None:
    written = table_cell(text)
    assert not written.lstrip().startswith(("=", "+", "-", "@"))
    assert not [char for char in written if unicodedata.category(char) in ("Cc", "Cs", "Zl", "Zp")]
    surrogates = {ord(char): None for char in text if unicodedata.category(char) == "Cs"}
    assert fold_name(unescape_formula(written)) == fold_name(text.translate(surrogates))


@given(st.lists(st.tuples(st.text(), st.text()), max_size=5))
def test_each_row_is_one_record_for_any_reader(rows: list[tuple[str, str]]) -> None:
    read = list(csv.reader(io.StringIO(csv_text(("a", "b"), rows), newline=""), strict=True))
    assert read[1:] == [[table_cell(value) for value in row] for row in rows]
    assert tab_separated_text(rows).count("\r\n") == len(rows)


def test_line_breaks_stay_only_where_they_are_asked_for() -> None:
    text = csv_text(("name", "text"), [("a\nb", "Dear a,\r\n\r\nyes\x1b[0m")], lines=("text",))
    assert list(csv.reader(io.StringIO(text, newline="")))[1] == ["a b", "Dear a,\n\nyes[0m"]


def test_every_cell_of_a_workbook_is_a_text(tmp_path: Path) -> None:
    rows = [("=1+1", 7), ("Eve\x1b[31m\x00", None), ("_x001B_", "#REF!"), ("TRUE", "2026-06-13")]
    write_workbook(tmp_path / "list.xlsx", "batch", ("a", "b"), rows)
    sheet = openpyxl.load_workbook(tmp_path / "list.xlsx").active
    cells = [found for row in sheet.iter_rows() for found in row if found.value is not None]
    assert {found.data_type for found in cells} == {"s"}
    assert sheet["A2"].value == "'=1+1"
    assert sheet["A3"].value == "Eve[31m"


def test_tables_are_written_in_one_place_only() -> None:
    """No other module makes a CSV writer or a workbook, or sets tabs between cells by hand."""
    found = []
    for path in SOURCES.rglob("*.py"):
        if path == SOURCES / "files" / "write_tables.py":
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Attribute):
                by_hand = node.attr in WRITERS
                by_hand |= node.attr == "join" and _is_text(node.value, "\t")
            elif isinstance(node, ast.ImportFrom):
                by_hand = node.module in ("csv", "openpyxl") and any(n.name in WRITERS for n in node.names)
            else:
                continue
            if by_hand:
                found.append(f"{path.relative_to(SOURCES)}:{node.lineno}")
    assert found == []


def _is_text(node: ast.expr, text: str) -> bool:
    return isinstance(node, ast.Constant) and node.value == text
