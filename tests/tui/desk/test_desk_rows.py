"""Lines of the desk."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from rich.style import Style

from onsite.core.errors import Problem
from onsite.status.batch_status import Batch, BatchFrame
from onsite.tui.desk.choose_pictures import toggled
from onsite.tui.desk.desk_rows import age, batch_line
from onsite.tui.widgets.virtual_list import Ink

NOON = datetime(2026, 6, 20, 12, tzinfo=UTC)
OUT = (BatchFrame(4, 1, "B1", again=True), BatchFrame(5, 1, "B1"))
BACK = tuple(BatchFrame(frame, 1, "B1", received=NOON) for frame in range(6, 11))
INK = Ink(Style(), Style(italic=True), Style(bold=True), Style(reverse=True))


@pytest.mark.parametrize(
    ("seconds", "said"),
    [(-60, "now"), (59, "now"), (60, "1 min"), (3599, "59 min"), (7200, "2 h"), (86400 * 6.9, "6 d")],
)
def test_how_long_ago(seconds: float, said: str) -> None:
    assert age(NOON - timedelta(seconds=seconds), NOON) == said


def test_nobody_knows_how_long() -> None:
    assert age(None, NOON) == "?"


@pytest.mark.parametrize("width", [40, 60, 100])
def test_a_batch_is_told_by_words(width: int) -> None:
    late = Batch("B1", "in house", due=date(2026, 6, 18), files=5, frames=(*BACK[:3], *OUT))
    text = batch_line(late, NOON.date(), width, INK).plain
    assert len(text) == width
    assert text.startswith("! overdue B1")
    assert "3/5 back" in text
    assert text.endswith("18 Jun")
    back = batch_line(Batch("B2", files=5, frames=BACK), NOON.date(), width, INK).plain
    assert back.startswith("all back")


def test_no_more_than_was_agreed_and_one_fewer_at_any_time() -> None:
    assert toggled((), 7, 1) == (7,)
    assert toggled((7,), 7, 1) == ()
    with pytest.raises(Problem, match="2 picks, and 1 is agreed"):
        toggled((7,), 8, 1)
    assert toggled((7, 8, 9), 8, 1) == (7, 9)  # also where more were chosen before
