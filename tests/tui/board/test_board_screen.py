"""The board, driven with keys."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from onsite.checkin.check_in import check_in, undo_arrival
from onsite.status.person_status import PersonStatus, Stage
from onsite.store.events import EventKind, add_event
from onsite.store.shoot import Shoot
from onsite.tui.dialogs.person_history_screen import HistoryScreen
from onsite.tui.widgets.block_text import BlockText
from onsite.tui.widgets.virtual_list import VirtualList
from tests.tui.driving import Driven, opened, screen_text, told, typed, until


def listed(pilot: Driven) -> list[str]:
    """The names on the list, from the first."""
    roll: VirtualList[PersonStatus] = pilot.app.screen.query_one("#people", VirtualList)
    return [standing.person.name for standing in roll.items]


@pytest.mark.long
async def test_everybody_is_there_with_counts_for_each_stage(choirs: Shoot) -> None:
    check_in(choirs, "2")
    async with opened(choirs, "board") as pilot:
        await until(pilot, lambda: len(listed(pilot)) == 6)
        text = screen_text(pilot)
    assert "5 expected" in text
    assert "1 here" in text
    assert "0 photographed" in text
    assert "6 people: everybody" in text


@pytest.mark.long
async def test_a_stage_of_the_funnel_shows_who_is_there_now(choirs: Shoot) -> None:
    check_in(choirs, "2")
    with choirs.writing() as session:
        add_event(session, EventKind.PROOFED, datetime.now(UTC), person_id=4, frames=[1], page="")
    async with opened(choirs, "board", size=(80, 24)) as pilot:
        await until(pilot, lambda: "1 proofed" in screen_text(pilot))
        assert all(stage.word in screen_text(pilot) for stage in Stage)
        await pilot.press("shift+tab", "shift+tab")  # from the people over the groups to the funnel
        await pilot.press("down", "down")
        await until(pilot, lambda: listed(pilot) == ["Bo Lind"])
        await pilot.press("down", "down")
        await until(pilot, lambda: listed(pilot) == ["Jürgen Weiß"])
        await pilot.press("escape")
        await until(pilot, lambda: len(listed(pilot)) == 6)


@pytest.mark.long
async def test_brackets_go_through_the_groups(choirs: Shoot) -> None:
    async with opened(choirs, "board") as pilot:
        await pilot.press("right_square_bracket")
        await until(pilot, lambda: listed(pilot) == ["Ana Horvat", "Zoë Ó Súilleabháin"])
        assert "Alto 1" in screen_text(pilot)
        await pilot.press("right_square_bracket")
        await until(pilot, lambda: listed(pilot) == ["Ana Horvath", "Mia [b]Kern[/b]"])
        await pilot.press("left_square_bracket", "left_square_bracket")
        await until(pilot, lambda: len(listed(pilot)) == 6)


@pytest.mark.long
async def test_one_key_shows_who_of_a_group_is_missing(choirs: Shoot) -> None:
    check_in(choirs, "1")
    async with opened(choirs, "board") as pilot:
        await pilot.press("right_square_bracket", "m")
        await until(pilot, lambda: listed(pilot) == ["Zoë Ó Súilleabháin"])
        assert "1 person: not here yet, Alto 1" in screen_text(pilot)
        await pilot.press("m")
        await until(pilot, lambda: listed(pilot) == ["Ana Horvat", "Zoë Ó Súilleabháin"])


@pytest.mark.long
async def test_an_arrival_is_taken_back_on_the_board_too(choirs: Shoot) -> None:
    check_in(choirs, "1", station="door-1")
    async with opened(choirs, "board") as pilot:
        await until(pilot, lambda: len(listed(pilot)) == 6)
        await pilot.press("u")
        await until(pilot, lambda: "is expected again" in told(pilot))


@pytest.mark.long
async def test_a_text_filters_as_it_is_typed_and_escape_shows_everybody(choirs: Shoot) -> None:
    async with opened(choirs, "board") as pilot:
        await pilot.press("slash")
        await typed(pilot, "ana")
        await until(pilot, lambda: set(listed(pilot)) == {"Ana Horvat", "Ana Horvath"})
        await pilot.press("enter", "m")  # the list has the focus again
        assert set(listed(pilot)) == {"Ana Horvat", "Ana Horvath"}
        await pilot.press("escape")
        await until(pilot, lambda: len(listed(pilot)) == 6)


@pytest.mark.long
async def test_enter_shows_a_persons_whole_history(choirs: Shoot) -> None:
    check_in(choirs, "1", station="door-1")
    undo_arrival(choirs, "1", station="door-2")
    check_in(choirs, "1", station="door-2")
    async with opened(choirs, "board", size=(100, 40)) as pilot:
        await until(pilot, lambda: len(listed(pilot)) == 6)
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, HistoryScreen))
        await until(pilot, lambda: "taken back" in screen_text(pilot))
        text = screen_text(pilot)
        assert pilot.app.screen.query_one(".card--name", BlockText).text == "Ana Horvat"
        assert "door-1" in text
        assert "door-2" in text
        await pilot.press("escape")
        assert not isinstance(pilot.app.screen, HistoryScreen)


@pytest.mark.long
async def test_what_happens_at_the_door_is_seen_on_the_board(choirs: Shoot) -> None:
    async with opened(choirs, "board") as pilot:
        await until(pilot, lambda: "6 expected" in screen_text(pilot))
        check_in(choirs, "3", station="door-2")
        await until(pilot, lambda: "1 here" in screen_text(pilot))


@pytest.mark.long
async def test_how_many_are_photographed_is_read_across_the_room(choirs: Shoot) -> None:
    async with opened(choirs, "board", size=(120, 36)) as pilot:
        large = pilot.app.screen.query_one(BlockText)
        await until(pilot, lambda: large.text == "0 of 6")
        assert large.size.height > 3
