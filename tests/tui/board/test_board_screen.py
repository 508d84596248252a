"""The board, driven with keys."""

from __future__ import annotations

from datetime import UTC, datetime

from onsite.checkin.check_in import check_in, undo_arrival
from onsite.status.person_status import PersonStatus
from onsite.store.events import EventKind, add_event
from onsite.store.shoot import Shoot
from onsite.tui.dialogs.history_screen import HistoryScreen
from onsite.tui.widgets.virtual_list import VirtualList
from tests.tui.driving import Driven, opened, screen_text, typed, until


def listed(pilot: Driven) -> list[str]:
    """The names on the list, from the first."""
    roll: VirtualList[PersonStatus] = pilot.app.screen.query_one("#people", VirtualList)
    return [standing.person.name for standing in roll.items]


async def test_everybody_is_there_with_counts_for_each_stage(choirs: Shoot) -> None:
    check_in(choirs, "2")
    async with opened(choirs, "board") as pilot:
        await until(pilot, lambda: len(listed(pilot)) == 6)
        text = screen_text(pilot)
    assert "5 expected" in text
    assert "1 arrived" in text
    assert "0 photographed" in text
    assert "6 people: everybody" in text


async def test_s_goes_through_the_stages(choirs: Shoot) -> None:
    check_in(choirs, "2")
    async with opened(choirs, "board") as pilot:
        await pilot.press("s", "s")
        assert listed(pilot) == ["Bo Lind"]
        await pilot.press("s")
        assert listed(pilot) == []
        await pilot.press("s")
        assert len(listed(pilot)) == 6


async def test_later_stages_are_there_once_somebody_is(choirs: Shoot) -> None:
    with choirs.writing() as session:
        for person in (2, 4):
            add_event(session, EventKind.PROOFED, datetime.now(UTC), person_id=person, frames=[1], page="")
        add_event(session, EventKind.PICKED, datetime.now(UTC), person_id=4, frames=[1], notes={}, note="")
    async with opened(choirs, "board", size=(80, 24)) as pilot:
        await until(pilot, lambda: "2 proofed" in screen_text(pilot))  # or further
        text = screen_text(pilot)
        assert "1 picked" in text
        assert "delivered" not in text
        await pilot.press("s", "s", "s", "s")
        await until(pilot, lambda: listed(pilot) == ["Bo Lind"])
        await pilot.press("s")
        await until(pilot, lambda: listed(pilot) == ["Jürgen Weiß"])
        await pilot.press("s")
        await until(pilot, lambda: len(listed(pilot)) == 6)


async def test_left_and_right_go_through_the_groups(choirs: Shoot) -> None:
    async with opened(choirs, "board") as pilot:
        await pilot.press("right")
        await until(pilot, lambda: listed(pilot) == ["Ana Horvat", "Zoë Ó Súilleabháin"])
        assert "Alto 1" in screen_text(pilot)
        await pilot.press("right")
        await until(pilot, lambda: listed(pilot) == ["Ana Horvath", "Mia [b]Kern[/b]"])
        await pilot.press("left", "left")
        await until(pilot, lambda: len(listed(pilot)) == 6)


async def test_a_text_filters_as_it_is_typed_and_escape_shows_everybody(choirs: Shoot) -> None:
    async with opened(choirs, "board") as pilot:
        await pilot.press("slash")
        await typed(pilot, "ana")
        await until(pilot, lambda: set(listed(pilot)) == {"Ana Horvat", "Ana Horvath"})
        await pilot.press("enter", "s")  # the list has the focus again, and stage and text hold together
        assert set(listed(pilot)) == {"Ana Horvat", "Ana Horvath"}
        await pilot.press("escape")
        await until(pilot, lambda: len(listed(pilot)) == 6)


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
        assert "Ana Horvat" in text
        assert "door-1" in text
        assert "door-2" in text
        await pilot.press("escape")
        assert not isinstance(pilot.app.screen, HistoryScreen)


async def test_what_happens_at_the_door_is_seen_on_the_board(choirs: Shoot) -> None:
    async with opened(choirs, "board") as pilot:
        await until(pilot, lambda: "6 expected" in screen_text(pilot))
        check_in(choirs, "3", station="door-2")
        await until(pilot, lambda: "1 arrived" in screen_text(pilot))
