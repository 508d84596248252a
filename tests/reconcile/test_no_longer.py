"""A match that takes names back says whose, and says it once."""

from __future__ import annotations

import pytest

from onsite.reconcile.current_match import summary_now
from onsite.reconcile.match_report import match_summary_data, print_match_summary
from onsite.reconcile.match_summary import LostName
from onsite.reconcile.overrides import give_frames
from onsite.store.shoot import Shoot
from tests.matching.days import OTHER_SHOOT, Day, code
from tests.reconcile.stored import store_day, store_frames


def with_a_late_slate(shoot: Shoot, text: str) -> tuple[Day, tuple[int, ...]]:
    """A slate among somebody's frames turns up after the first match; with the frames behind it."""
    day = Day().arrive(9).people([1, 2, 3])
    slate = day.slate(None, text)
    day.portraits(3, 4).people([4, 5, 6, 7])
    late = next(frame for frame in day.frames if frame.id == slate)
    day.frames.remove(late)
    store_day(shoot, day)
    assert summary_now(shoot).lost_names == ()  # a first match takes nothing back
    store_frames(shoot, day, [late])
    return day, tuple(frame for frame in day.ids(3) if frame > slate)


@pytest.mark.parametrize(("text", "now"), [(code(9), 9), (OTHER_SHOOT, None)])
def test_names_that_a_late_slate_takes_back_are_told_once(shoot: Shoot, text: str, now: int | None) -> None:
    _, behind = with_a_late_slate(shoot, text)
    wrap = summary_now(shoot)
    assert wrap.lost_names == (LostName(3, behind, now),)
    said: list[str] = []
    print_match_summary(shoot, wrap, lambda line, *_: said.append(line))
    whose = "nobody's now" if now is None else "now Singer 9 (C-9)"
    assert f"  Singer 3 (C-3): A:1019 to A:1022 (4 frames), {whose}" in said
    (data,) = match_summary_data(shoot, wrap)["no_longer_named"]
    assert (data["key"], data["now"]) == ("C-3", "C-9" if now else None)
    assert summary_now(shoot).lost_names == ()


def test_what_hands_decided_is_not_told(shoot: Shoot) -> None:
    _, behind = with_a_late_slate(shoot, OTHER_SHOOT)
    give_frames(shoot, behind, 4)
    assert summary_now(shoot).lost_names == ()
