"""Runs as lines of a list."""

from __future__ import annotations

from rich.cells import cell_len
from rich.console import Console
from rich.style import Style

from onsite.reconcile.runs import LaneNote, LaneNoteKind, LaneRun
from onsite.tui.reconcile.reconcile_run_list import RunRow, rows_of, run_line
from onsite.tui.widgets.virtual_list import Ink
from tests.tui.reconcile.runs import aside, loose, named, slate

INK = Ink(Style(), Style(), Style(), Style())


def drawn(run: LaneRun, width: int = 44) -> str:
    people = {1: (12, "Ana [b]Horvat"), 2: (None, "Bo Lind")}
    return run_line(rows_of([run])[-1], people.__getitem__, width, INK).plain


def test_a_line_tells_when_who_what_named_it_and_how_many_frames() -> None:
    assert drawn(named(1, 2, 3, slate=1)).split() == ["09:02", "━", "12", "Ana", "[b]Horvat", "2"]
    assert drawn(named(2, 2), 70).split() == ["09:02", "━", "Bo", "Lind", "slate", "1"]


def test_a_loose_run_says_so_and_why() -> None:
    told = drawn(loose(4, 5, doubt="no slate before it"))
    assert told.split() == ["09:04", "▒", "LOOSE", "no", "slate", "before", "it", "2"]


def test_every_kind_of_run_has_a_shape_of_its_own() -> None:
    shapes = {drawn(run)[6] for run in (named(1, 2), loose(3), aside(4), slate(5))}
    assert len(shapes) == 4


def test_every_line_has_its_width() -> None:
    for width in (30, 44, 56, 100):
        assert {cell_len(drawn(run, width)) for run in (named(1, 2), loose(3), aside(4), slate(5, 1))} == {
            width
        }


def test_breaks_gaps_and_jumps_are_lines_of_their_own() -> None:
    before = LaneNote(LaneNoteKind.GAP, 4, "counter 0003 is missing")
    inside = LaneNote(LaneNoteKind.JUMP, 5, "the clock went back by 1 h")
    rows = rows_of([named(1, 2), loose(4, 5, pause=1800.0, notes=(before, inside))])
    assert [row.note for row in rows] == [
        "",
        "a break of 30 min",
        "counter 0003 is missing",
        "",
        "in it, the clock went back by 1 h",
    ]


def test_a_break_through_the_night_says_on_which_day_it_ends() -> None:
    (row, _) = rows_of([loose(4, 5, pause=2 * 86_400.0)])
    assert row.note == "a break of 2 d, then 13 June 2026"


def test_what_stands_between_runs_is_drawn_in_the_colours_of_the_theme() -> None:
    ink = Ink(Style(color="red"), Style(color="blue"), Style(color="red"), Style(color="red"))
    row = RunRow(None, note="a break of 10 d")
    parts = list(run_line(row, lambda _: (None, ""), 40, ink).render(Console(), end=""))
    assert {part.text.strip(): part.style and part.style.color for part in parts}["─ a break of 10 d"] == (
        Style(color="blue").color
    )
