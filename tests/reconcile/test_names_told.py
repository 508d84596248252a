"""Whatever takes names away says whose, at once: in the command's answer, and on every open screen."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from onsite.cli import run
from onsite.reconcile.current_match import current_verdicts, match_now
from onsite.reconcile.overrides import set_frames_aside
from onsite.store.events import newest_event_id
from onsite.store.shoot import Shoot
from onsite.tui import themes
from onsite.tui.dialogs.full_screen import SlateScreen
from tests.matching.days import NINE, Day, card
from tests.reconcile.stored import store_day
from tests.tui.driving import opened, told, typed, until


@pytest.fixture
def day(shoot: Shoot) -> Day:
    """Singer 3 came with a deck card, all others with tickets; matched."""
    made = Day(log_shown=True).people([1, 2])
    made.tie(1, 3).arrive(3)
    made.now += 60
    made.slate(3, card(1))
    made.portraits(3)
    made.people([4, 5, 6, 7, 8])
    store_day(shoot, made)
    match_now(shoot)
    assert {current_verdicts(shoot)[frame].person for frame in made.ids(3)} == {3}
    return made


class Told:
    """What a command answered."""

    def __init__(self, shoot: Shoot, capsys: pytest.CaptureFixture[str]) -> None:
        self._shoot, self._capsys = shoot, capsys

    def text(self, *line: str) -> str:
        self._capsys.readouterr()
        assert run([*line, "--shoot", str(self._shoot.folder)]) == 0
        return self._capsys.readouterr().out

    def data(self, *line: str) -> dict[str, Any]:
        answer: dict[str, Any] = json.loads(self.text(*line, "--json"))
        return answer


@pytest.fixture
def onsite(shoot: Shoot, capsys: pytest.CaptureFixture[str]) -> Told:
    return Told(shoot, capsys)


def names(shoot: Shoot) -> dict[int, int | None]:
    return {frame: stand.person for frame, stand in current_verdicts(shoot).items()}


@pytest.mark.usefixtures("day")
def test_an_arrival_taken_back_with_its_card_says_whose_names_are_gone(onsite: Told) -> None:
    said = onsite.text("checkin", "undo", "C-3")
    assert "Singer 3 is expected again" in said
    assert "Named until now, and not any more:" in said
    assert "Singer 3 (C-3): A:1013 to A:1017 (5 frames), nobody's now" in said


@pytest.mark.usefixtures("day")
def test_the_same_as_data_and_only_once(onsite: Told) -> None:
    (lost,) = onsite.data("checkin", "undo", "C-3")["no_longer_named"]
    assert (lost["key"], len(lost["frames"]), lost["now"]) == ("C-3", 5, None)
    assert onsite.data("match")["no_longer_named"] == []


@pytest.mark.usefixtures("day")
def test_a_card_for_somebody_else_from_the_past_says_whose(onsite: Told) -> None:
    """A paper list typed in afterwards: the card was somebody else's by then."""
    at = datetime.fromtimestamp(NINE + 150, UTC).isoformat()
    assert onsite.data("checkin", "C-8", "--card", "1", "--at", at)["no_longer_named"]


@pytest.mark.long
def test_decisions_by_hand_say_what_else_they_take(day: Day, onsite: Told) -> None:
    frames = day.ids(5)
    (lost,) = onsite.data("frames", "give", f"f{frames[1]}", "C-8")["no_longer_named"]
    assert (lost["key"], lost["frames"]) == ("C-5", [f"f{frame}" for frame in frames[2:]])
    assert onsite.data("frames", "undo")["no_longer_named"]  # that frame is not C-8's any more
    assert [one["key"] for one in onsite.data("frames", "split", f"f{frames[2]}")["no_longer_named"]] == [
        "C-5"
    ]


def test_a_shoot_that_was_never_matched_loses_nothing(shoot: Shoot, onsite: Told) -> None:
    store_day(shoot, Day().people([1, 2, 3]))
    assert onsite.data("checkin", "undo", "C-1")["no_longer_named"] == []


@pytest.mark.long
@pytest.mark.usefixtures("day")
@pytest.mark.parametrize("after", [-30 * 86_400.0, 1200.0, 6 * 3600.0, 90 * 86_400.0])
def test_a_slate_shown_again_takes_nothing_and_says_where_it_is_outside_the_hours(
    shoot: Shoot, onsite: Told, after: float
) -> None:
    before = names(shoot)
    for person in range(1, 9):
        at = datetime.fromtimestamp(NINE + after, UTC).isoformat()
        answer = onsite.data("slates", "show", f"C-{person}", "--at", at, "--station", "door-1")
        assert answer["no_longer_named"] == []
        words = "long before the first" if after < 0 else "long after the last"
        assert (words in answer["outside"]) == (after != 1200.0)
    assert names(shoot) == before
    if after != 1200.0:
        assert "it says nothing about them" in onsite.text("slates", "show", "C-1", "--at", at)


@pytest.fixture
def own_themes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(themes, "user_folder", lambda: tmp_path / "themes")


@pytest.mark.usefixtures("own_themes", "day")
async def test_undo_at_the_door_says_whose_names_are_gone(shoot: Shoot, onsite: Told) -> None:
    onsite.text("checkin", "undo", "C-3")
    onsite.text("checkin", "C-3", "--card", "1", "--at", "2026-06-13T10:57", "--station", "door-1")
    async with opened(shoot, "door", (120, 30)) as pilot:
        await typed(pilot, "C-3")
        await pilot.press("f9")
        await until(pilot, lambda: "Named until now, and not any more: Singer 3 (5 frames)." in told(pilot))
        assert "F3: see why, and settle it." in told(pilot)


@pytest.mark.long
@pytest.mark.usefixtures("own_themes")
async def test_what_another_station_does_is_told_here_too_but_no_decision_by_hand(
    shoot: Shoot, day: Day, onsite: Told
) -> None:
    async with opened(shoot, "set", (120, 30)) as pilot:
        set_frames_aside(shoot, day.ids(8), "wrap-2")
        with shoot.reading() as session:
            decided = newest_event_id(session)
        await until(pilot, lambda: pilot.app.status_cache.matched == decided)
        assert "not any more" not in told(pilot)
        onsite.text("checkin", "undo", "C-3")
        await until(pilot, lambda: "not any more: Singer 3 (5 frames)." in told(pilot))


@pytest.mark.long
@pytest.mark.usefixtures("own_themes", "day")
async def test_a_slate_at_the_door_after_hours_says_so_and_takes_nothing(shoot: Shoot) -> None:
    before = names(shoot)
    async with opened(shoot, "door", (140, 40)) as pilot:
        await typed(pilot, "C-3")
        await pilot.press("f6")
        await until(pilot, lambda: isinstance(pilot.app.screen, SlateScreen))
        await pilot.press("escape")
        await until(pilot, lambda: "long after the last of the frames here" in told(pilot))
        assert "it says nothing about them" in told(pilot)
    assert names(shoot) == before
