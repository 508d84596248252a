"""Text lists by RFC 4180, section 2, and its relatives. The examples are those of the RFC, from memory."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.core.errors import Problem
from onsite.roster.read_list_table import DELIMITERS, read_delimited


def rows(text: str) -> list[list[str]]:
    return read_delimited(text, "list.csv")[0]


@pytest.mark.parametrize("ending", ["\r\n", ""])
def test_rules_1_and_2_lines_end_in_crlf_but_for_perhaps_the_last(ending: str) -> None:
    assert rows("aaa,bbb,ccc\r\nzzz,yyy,xxx" + ending) == [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]


def test_rule_3_a_header_is_a_row_like_the_others() -> None:
    assert rows("field_name,field_name,field_name\r\naaa,bbb,ccc\r\n")[0] == ["field_name"] * 3


def test_rule_4_spaces_are_part_of_a_field() -> None:
    assert rows("aaa, bbb ,ccc\r\nzzz,yyy,xxx\r\n")[0] == ["aaa", " bbb ", "ccc"]


def test_rule_5_fields_may_be_quoted() -> None:
    assert rows('"aaa","bbb","ccc"\r\nzzz,yyy,xxx\r\n') == [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]


def test_rule_6_line_breaks_and_commas_in_quotes() -> None:
    assert rows('"aaa","b\r\nbb","c,c"\r\nzzz,yyy,xxx') == [["aaa", "b\r\nbb", "c,c"], ["zzz", "yyy", "xxx"]]


def test_rule_7_a_quote_in_quotes_is_doubled() -> None:
    assert rows('"aaa","b""bb","ccc"\r\nzzz,yyy,xxx')[0] == ["aaa", 'b"bb', "ccc"]


@pytest.mark.parametrize("line_break", ["\n", "\r", "\r\n"])
@pytest.mark.parametrize("delimiter", DELIMITERS)
def test_any_common_delimiter_and_line_break(delimiter: str, line_break: str) -> None:
    text = line_break.join(
        delimiter.join(row) for row in [["Name", "Group"], ["Ann", "Alto"], ["Bo", "Bass"]]
    )
    assert read_delimited(text, "f") == ([["Name", "Group"], ["Ann", "Alto"], ["Bo", "Bass"]], delimiter)


def test_a_comma_inside_names_does_not_outvote_the_real_delimiter() -> None:
    found, delimiter = read_delimited("Name;Group\nMüller, Jörg;Bass\nLee, Ann;Alto\n", "f")
    assert delimiter == ";"
    assert found[1] == ["Müller, Jörg", "Bass"]


def test_a_list_of_names_alone_has_no_delimiter() -> None:
    found, delimiter = read_delimited("Name\nMüller, Jörg\nLee, Ann\n", "f")
    assert (found[1], delimiter) == (["Müller, Jörg"], "")


def test_a_first_line_that_declares_the_delimiter() -> None:
    assert read_delimited("sep=|\nName|Group\nA;b|c\n", "f") == ([["Name", "Group"], ["A;b", "c"]], "|")


@pytest.mark.parametrize("text", ['Name,Group\n"Ann,Alto\nBo,Bass\n', 'Name,Group\n"Annie" Lee,Alto\n'])
def test_an_open_quote_cannot_swallow_people(text: str) -> None:
    with pytest.raises(Problem, match="row 2") as refused:
        rows(text)
    assert '""' in refused.value.remedy


def test_an_absurd_cell_is_refused() -> None:
    with pytest.raises(Problem, match="row 2"):
        rows("Name,Group\n" + "a" * 200_000 + ",b\n")


CELL = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=12)


@given(st.lists(st.tuples(CELL, CELL, CELL), min_size=2, max_size=6), st.sampled_from(DELIMITERS))
def test_what_is_written_with_quotes_is_read_back(
    written: list[tuple[str, str, str]], delimiter: str
) -> None:
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=delimiter, quoting=csv.QUOTE_ALL).writerows([("a", "b", "c"), *written])
    assert read_delimited(f"sep={delimiter}\n" + out.getvalue(), "f")[0] == [
        ["a", "b", "c"],
        *map(list, written),
    ]
