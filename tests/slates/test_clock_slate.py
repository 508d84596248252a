"""Clock slates: their code, their symbol on a screen, and what the reader makes of photographs of them."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageFilter

from onsite.core.codes import (
    ClockCode,
    SlateKind,
    clock_code,
    find_pick_codes,
    parse_clock_code,
    parse_pick_code,
    parse_slate_code,
    slate_kind,
)
from onsite.core.errors import Problem
from onsite.slates.clock_slate import ClockSlate
from onsite.slates.reader.closed_set import known_slates
from onsite.slates.reader.read_slates import read_symbols
from onsite.slates.slate_verdict import SlateCounts, slate_verdict
from tests.matching.days import SHOOT, code
from tests.slates.test_terminal_slate import HALVES, pixels

MOMENT = datetime(2026, 6, 13, 9, 41, 27, tzinfo=ZoneInfo("Europe/Vienna"))
SECONDS = 1_781_336_487
"""That moment by the calendar: 20,617 days after 1970 and 7:41:27."""

moments = st.integers(1_000_000_000, 9_999_999_999)


def test_a_code_says_its_moment() -> None:
    assert SECONDS == 20_617 * 86_400 + 7 * 3600 + 41 * 60 + 27
    text = clock_code(SHOOT, SECONDS)
    assert text.startswith(f"CT{SHOOT}{SECONDS}")
    assert parse_clock_code(text) == ClockCode(SHOOT, SECONDS)
    with pytest.raises(ValueError, match="no clock code"):
        clock_code(SHOOT, 12)


@given(moments)
def test_a_clock_code_is_no_slate_code_and_no_pick_code(seconds: int) -> None:
    text = clock_code(SHOOT, seconds)
    assert parse_clock_code(text) == ClockCode(SHOOT, seconds)
    assert parse_slate_code(text) is None
    assert parse_pick_code(text) is None
    assert list(find_pick_codes(f"see {text} there", SHOOT)) == []
    assert slate_kind(text, SHOOT) is SlateKind.CLOCK
    assert slate_kind(text, "AAAA") is SlateKind.OTHER_SHOOT


@given(moments, st.integers(0, 16), st.sampled_from("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"))
def test_one_changed_character_is_always_noticed(seconds: int, place: int, character: str) -> None:
    """ISO/IEC 7064, MOD 37,36: every single substitution."""
    text = clock_code(SHOOT, seconds)
    changed = text[:place] + character + text[place + 1 :]
    assert (parse_clock_code(changed) is None) == (changed != text)


@given(st.text(max_size=20))
def test_no_other_text_is_a_clock_code(text: str) -> None:
    assert parse_clock_code(text) is None


def on_screen(columns: int, rows: int, moment: datetime = MOMENT) -> list[str]:
    return ClockSlate(SHOOT, moment).lines(columns, rows)


@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (120, 36), (200, 60), (99, 40), (40, 30), (66, 19)])
def test_the_symbol_on_screen_reads_and_fits(
    columns: int, rows: int, tmp_path: Path, zbar: Callable[[Path], list[str]]
) -> None:
    lines = on_screen(columns, rows)
    assert len(lines) <= rows
    assert {len(line) for line in lines} == {len(lines[0])}
    assert len(lines[0]) <= columns
    drawn = [line if set(line) <= set(HALVES) else " " * len(line) for line in lines]
    Image.fromarray(np.kron(~pixels(drawn), np.ones((6, 6), bool))).save(tmp_path / "screen.png")
    assert zbar(tmp_path / "screen.png") == [clock_code(SHOOT, SECONDS)]


def test_the_time_beside_it_is_the_shoots() -> None:
    """The symbol holds universal time; people compare the digits with the clock on the wall."""
    there, here = on_screen(120, 36, MOMENT.astimezone(UTC)), on_screen(120, 36)
    assert [line[:66] for line in there] == [line[:66] for line in here]
    assert there != here


def test_every_second_has_a_symbol_of_its_own() -> None:
    assert on_screen(80, 24) != on_screen(80, 24, MOMENT + timedelta(seconds=1))


def test_a_terminal_too_small_is_a_problem_that_says_what_is_needed() -> None:
    with pytest.raises(Problem, match="33 columns by 19 rows"):
        on_screen(60, 18)


def photograph(blur: float, size: int = 900, shoot: str = SHOOT) -> Image.Image:
    """The screen in a larger grey picture, out of focus."""
    lines = ClockSlate(shoot, MOMENT).symbol()
    screen = Image.fromarray(np.where(pixels(lines), 20, 235).astype(np.uint8))
    picture = Image.new("L", (size, size), 90)
    picture.paste(screen.resize((size // 2, size // 2), Image.Resampling.NEAREST), (size // 4, size // 4))
    return picture.filter(ImageFilter.GaussianBlur(blur))


def test_the_reader_reads_it_beside_the_closed_set() -> None:
    known = known_slates(SHOOT, [code(n) for n in range(200)])
    (seen,) = read_symbols(photograph(2.0), known=known)
    assert seen.text == clock_code(SHOOT, SECONDS)
    verdict = slate_verdict([seen], SHOOT)
    assert verdict.kind is SlateKind.CLOCK
    counts = SlateCounts.none()
    counts.add(verdict)
    assert counts.text == "1 clock slate"
    assert counts.data()["clock_slates"] == 1


@pytest.mark.parametrize("blur", [4.0, 6.0, 8.0, 10.0, 14.0])
def test_one_that_does_not_read_is_never_a_persons(blur: float) -> None:
    known = known_slates(SHOOT, [code(n) for n in range(500)])
    for seen in read_symbols(photograph(blur), known=known):
        assert seen.text in (None, clock_code(SHOOT, SECONDS))
