"""Cells that spreadsheets leave alone."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.files.cells import neutral


@pytest.mark.parametrize("text", ["=1+1", "+49 1", "-2", "@SUM(A1)", "\t=1", "\r=1", "＝1+1", "  =1"])
def test_what_may_be_a_formula_is_text(text: str) -> None:
    assert neutral(text) == f"'{text}"


@pytest.mark.parametrize("text", ["", "Ana", "a=b", "12", "Åsa", "'tis"])
def test_other_text_stays(text: str) -> None:
    assert neutral(text) == text


@given(st.text())
def test_nothing_is_lost(text: str) -> None:
    assert neutral(text).removeprefix("'") == text.removeprefix("'")
