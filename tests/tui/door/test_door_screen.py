"""The door, driven with keys as at a queue of people."""

from __future__ import annotations

import asyncio

import pytest
from sqlmodel import select
from textual.events import Key
from textual.widgets import Input, Static

from onsite.checkin.check_in import check_in, check_in_person
from onsite.checkin.walk_ins_and_corrections import add_walk_in
from onsite.status.person_status import Stage
from onsite.store.events import EventKind, read_events
from onsite.store.schema import DeckCard, EventRow, Person
from onsite.store.shoot import Shoot, open_shoot
from onsite.tui.dialogs.full_screen import CodeScreen, SlateScreen
from onsite.tui.dialogs.question_dialogs import ChoiceScreen
from onsite.tui.door.door_forms import CorrectScreen, WalkInScreen
from onsite.tui.widgets.block_text import BlockText
from onsite.tui.widgets.input_form import EntryField
from tests.tui.driving import Driven, opened, screen_text, told, typed, until


def events(shoot: Shoot, kind: EventKind) -> list[tuple[str, str]]:
    """(name, station) of what happened."""
    with shoot.reading() as session:
        names = dict(session.exec(select(Person.id, Person.name)).all())
        return [(names[event.person_id], event.station) for event in read_events(session, (kind,))]


def number(pilot: Driven) -> str:
    """The large number on the card."""
    return pilot.app.screen.query_one(".card--number", BlockText).text


def asked(pilot: Driven) -> str:
    """The question under the field."""
    return str(pilot.app.screen.query_one("#asked", Static).content)


async def test_a_name_and_enter_checks_in_and_shows_the_number_large(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        await typed(pilot, "bo lind")
        await pilot.press("enter")
        await until(pilot, lambda: "1: Bo Lind arrived" in told(pilot))
        assert number(pilot) == "1"
        assert pilot.app.screen.query_one(Input).value == ""
    assert events(choirs, EventKind.ARRIVED) == [("Bo Lind", "door-1")]


@pytest.mark.long
async def test_namesakes_are_told_apart_under_the_field_by_group_slot_and_number(choirs: Shoot) -> None:
    add_walk_in(choirs, "Ana", "Horvat", "Tenors")
    async with opened(choirs) as pilot:
        await typed(pilot, "ana horvat")
        await pilot.press("enter")
        await until(
            pilot, lambda: asked(pilot).startswith("Is it Ana Horvat (Alto 1, 09:00, no number yet)?")
        )
        lines = screen_text(pilot).splitlines()
        field = next(y for y, line in enumerate(lines) if "ana horvat" in line)
        assert "Is it Ana Horvat" in lines[field + 2]  # the border of the field is between them
        assert sum("Ana Horvat " in line and ("Alto 1" in line or "Tenors" in line) for line in lines) >= 2


@pytest.mark.long
async def test_any_spelling_finds(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        for text in ("osulleabhain", "Zoe", "suilleabhain zoë", "zo os", "3"):
            await typed(pilot, text)
            assert "Zoë Ó Súilleabháin" in screen_text(pilot), text
            await pilot.press("escape")


@pytest.mark.long
async def test_two_who_fit_as_well_are_asked_about_before_anybody_is_checked_in(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        await typed(pilot, "ana hor")
        await pilot.press("enter")
        await until(pilot, lambda: asked(pilot).startswith("Is it Ana Horvat"))
        assert events(choirs, EventKind.ARRIVED) == []
        await pilot.press("down", "enter")
        await until(pilot, lambda: "Ana Horvath arrived" in told(pilot))
    assert events(choirs, EventKind.ARRIVED) == [("Ana Horvath", "door-1")]


@pytest.mark.long
async def test_a_guessed_slip_of_the_hand_needs_a_second_enter(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        await typed(pilot, "jurgn")
        await pilot.press("enter")
        await until(pilot, lambda: asked(pilot).startswith("Is it Jürgen Weiß"))
        await pilot.press("enter")
        await until(pilot, lambda: "1: Jürgen Weiß arrived" in told(pilot))


@pytest.mark.long
async def test_a_scanner_types_a_code_and_presses_enter(choirs: Shoot) -> None:
    with choirs.reading() as session:
        code = session.get_one(Person, 3).code
    async with opened(choirs) as pilot:
        await pilot.press(*code.lower(), "enter")
        await until(pilot, lambda: "1: Zoë Ó Súilleabháin arrived" in told(pilot))
        assert "MUST NOT BE PUBLISHED" in screen_text(pilot)


@pytest.mark.long
async def test_a_scan_takes_the_place_of_a_text_that_found_nobody(choirs: Shoot) -> None:
    with choirs.reading() as session:
        code = session.get_one(Person, 3).code
    async with opened(choirs) as pilot:
        await pilot.press(*"xqzw", "enter")
        await pilot.press(*code, "enter")
        await until(pilot, lambda: "1: Zoë Ó Súilleabháin arrived" in told(pilot))


@pytest.mark.long
async def test_a_code_of_another_shoot_is_told_and_checks_nobody_in(choirs: Shoot) -> None:
    from onsite.core.codes import new_code

    async with opened(choirs) as pilot:
        await pilot.press(*new_code("CCCC", set()), "enter")
        await until(pilot, lambda: "another shoot" in told(pilot))
    assert events(choirs, EventKind.ARRIVED) == []


@pytest.mark.long
async def test_the_slate_fills_the_screen_dark_on_white_and_its_showing_is_recorded(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        await typed(pilot, "bo lind")
        await pilot.press("f6")
        await until(pilot, lambda: isinstance(pilot.app.screen, SlateScreen))
        await until(pilot, lambda: events(choirs, EventKind.SLATE_SHOWN) == [("Bo Lind", "door-1")])
        await pilot.press("escape")
        assert not isinstance(pilot.app.screen, SlateScreen)


@pytest.mark.long
async def test_the_tickets_code_can_be_shown_without_a_record_of_a_slate(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        await typed(pilot, "bo lind")
        await pilot.press("f7")
        await until(pilot, lambda: isinstance(pilot.app.screen, CodeScreen))
        await pilot.pause(0.2)
    assert events(choirs, EventKind.SLATE_SHOWN) == []


@pytest.mark.long
@pytest.mark.parametrize("size", [(80, 24), (120, 40), (60, 20)])
async def test_slate_and_ticket_code_differ_at_first_sight(choirs: Shoot, size: tuple[int, int]) -> None:
    """The slate is a white screen; the code has a frame, and says what it is for."""
    async with opened(choirs, size=size) as pilot:
        await typed(pilot, "bo lind")
        await pilot.press("f6")
        await until(pilot, lambda: "█" in screen_text(pilot))
        slate = screen_text(pilot)
        white = pilot.app.screen.styles.background
        await pilot.press("escape", "f7")
        await until(pilot, lambda: isinstance(pilot.app.screen, CodeScreen))
        await until(pilot, lambda: "█" in screen_text(pilot))
        code = screen_text(pilot)
        assert pilot.app.screen.styles.background != white
    for words in (
        "Ticket code of Bo Lind",
        *(("Not the slate, and not recorded", "┏") if size[1] > 20 else ()),
    ):
        assert words in code
        assert words not in slate


@pytest.mark.long
async def test_an_arrival_is_taken_back_and_the_number_stays(choirs: Shoot) -> None:
    check_in(choirs, "2", station="door-1")
    check_in(choirs, "3", station="door-1")
    async with opened(choirs) as pilot:
        # nothing is typed: the latest arrivals are listed, the last one first
        await pilot.press("down", "down")
        await pilot.press("f9")
        await until(pilot, lambda: "is expected again; number 1 stays theirs" in told(pilot))
        await until(pilot, lambda: pilot.app.status_cache.statuses[2].stage is Stage.EXPECTED)  # type: ignore[attr-defined]
    assert [name for name, _ in events(choirs, EventKind.ARRIVED)] == ["Zoë Ó Súilleabháin"]


@pytest.mark.long
async def test_a_walk_in_gets_a_number_and_those_of_that_name_are_shown_before(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        await typed(pilot, "Bo Lind")
        await pilot.press("f8")
        await until(pilot, lambda: isinstance(pilot.app.screen, WalkInScreen))
        await until(pilot, lambda: "On the list: Bo Lind (Tenors)" in screen_text(pilot))
        await pilot.press("down", "down")
        await typed(pilot, "Br")
        await pilot.press("right", "ctrl+s")
        await until(pilot, lambda: "Bo Lind is known already: Tenors, expected." in screen_text(pilot))
        await pilot.press("enter", "enter")  # pressed twice for the form: it makes no second person
        await pilot.press("a")
        await until(pilot, lambda: "1: Bo Lind arrived" in told(pilot))
        assert "the same name is on the list: 2" in told(pilot)
        assert "not published without a yes: Ctrl+O" in told(pilot)
    with choirs.reading() as session:
        assert session.get_one(Person, 7).group == "Brass"


@pytest.mark.long
async def test_a_walk_in_who_is_on_the_list_is_checked_in_instead(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        await typed(pilot, "bo lind")
        await pilot.press("f8", "ctrl+s")
        await until(pilot, lambda: isinstance(pilot.app.screen, ChoiceScreen))
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(pilot.app.screen, WalkInScreen))
        assert "lind" in screen_text(pilot)
        await pilot.press("ctrl+s")
        await until(pilot, lambda: isinstance(pilot.app.screen, ChoiceScreen))
        await pilot.press("c")
        await until(pilot, lambda: "1: Bo Lind arrived" in told(pilot))
    with choirs.reading() as session:
        assert len(session.exec(select(Person.id)).all()) == 6


async def test_a_walk_in_may_be_published_after_a_yes_and_not_before(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        await typed(pilot, "Cleo Marín")
        await pilot.press("f8")
        await until(pilot, lambda: isinstance(pilot.app.screen, WalkInScreen))
        assert "yes or no; empty: not asked" in screen_text(pilot)
        await pilot.press("down", "down", "down")
        await typed(pilot, "ask")
        await pilot.press("ctrl+s")
        await until(pilot, lambda: "ask is neither a yes nor a no to being published." in screen_text(pilot))
        await pilot.press("backspace", "backspace", "backspace", "ctrl+s")
        await until(pilot, lambda: "1: Cleo Marín arrived" in told(pilot))
        await until(pilot, lambda: "! NOT PUBLISHED: a walk-in who was not asked" in screen_text(pilot))
        await pilot.press("ctrl+o")
        await typed(pilot, "yes")
        await pilot.press("ctrl+s")
        await until(pilot, lambda: told(pilot) == "Cleo Marín: may be published")
        await until(pilot, lambda: "NOT PUBLISHED" not in screen_text(pilot))
        assert pilot.app.status_cache.statuses[7].publication.allowed  # type: ignore[attr-defined]


@pytest.mark.long
async def test_what_is_typed_just_before_it_is_saved_is_saved_too(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        await typed(pilot, "mia")
        await pilot.press("ctrl+o")
        await until(pilot, lambda: isinstance(pilot.app.screen, CorrectScreen))
        for key in ("n", "o", "ctrl+s"):  # faster than the field can take them
            pilot.app.post_message(Key(key, key if len(key) == 1 else None))
        await until(pilot, lambda: not isinstance(pilot.app.screen, CorrectScreen))
        await until(pilot, lambda: "must not be published" in told(pilot))
        await pilot.press("ctrl+o")
        await until(pilot, lambda: isinstance(pilot.app.screen, CorrectScreen))
        await pilot.press("ctrl+s")
        await until(pilot, lambda: "nothing was changed" in told(pilot))


@pytest.mark.long
async def test_letters_do_not_wait_at_the_door_for_whoever_comes_back(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        await typed(pilot, "ozolhuy")
        await pilot.press("f4")
        await until(pilot, lambda: pilot.app.current_mode == "board")
        await pilot.press("f1")
        await until(pilot, lambda: pilot.app.current_mode == "door")
        assert pilot.app.screen.query_one(EntryField).value == ""
        await typed(pilot, "mia")
        await pilot.press("ctrl+o")  # a form over the door leaves them
        await until(pilot, lambda: isinstance(pilot.app.screen, CorrectScreen))
        await pilot.press("escape")
        await until(pilot, lambda: "mia" in screen_text(pilot).splitlines()[2])


@pytest.mark.long
async def test_a_group_that_is_not_there_is_asked_about(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        await typed(pilot, "Cleo Marín")
        await pilot.press("f8")
        await until(pilot, lambda: isinstance(pilot.app.screen, WalkInScreen))
        await pilot.press("down", "down")
        await typed(pilot, "Tenor")
        await pilot.press("ctrl+s")
        await until(pilot, lambda: "There is no group Tenor. Do you mean Tenors?" in screen_text(pilot))
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(pilot.app.screen, WalkInScreen))
        await pilot.press("end", "s", "ctrl+s")
        await until(pilot, lambda: "1: Cleo Marín arrived" in told(pilot))
        await pilot.press("ctrl+o", "up", "end")
        await typed(pilot, "x")
        await pilot.press("ctrl+s")
        await until(pilot, lambda: "There is no group Tenorsx." in screen_text(pilot))
        await pilot.press("n")
        await until(pilot, lambda: told(pilot) == "Cleo Marín: corrected")
    with choirs.reading() as session:
        assert session.get_one(Person, 7).group == "Tenorsx"


@pytest.mark.long
async def test_a_walk_in_that_is_taken_back_is_not_on_the_screen_any_more(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        await typed(pilot, "Cleo Marín")
        await pilot.press("f8", "ctrl+s")
        await until(pilot, lambda: "1: Cleo Marín arrived" in told(pilot))
        await pilot.press("f9")
        await until(pilot, lambda: "Cleo Marín, a walk-in, is taken off again" in told(pilot))
        await until(pilot, lambda: 7 not in pilot.app.status_cache.statuses)  # type: ignore[attr-defined]
        await typed(pilot, "cleo")
        await until(pilot, lambda: "Nobody of that name" in screen_text(pilot))
        await pilot.press("escape")
        await typed(pilot, "bo lind")
        await pilot.press("enter")
        await until(pilot, lambda: "2: Bo Lind arrived" in told(pilot))


@pytest.mark.long
async def test_a_refusal_is_not_emptied_and_what_was_typed_stays(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        await typed(pilot, "zoë")
        await until(pilot, lambda: "! MUST NOT BE PUBLISHED (no)" in screen_text(pilot))
        await pilot.press("ctrl+o", "end", "backspace", "backspace", "ctrl+s")
        await until(pilot, lambda: "is not to be published (no), and that stays." in screen_text(pilot))
        await typed(pilot, "yes")


@pytest.mark.long
async def test_a_scanned_deck_card_is_tied_to_whose_card_is_shown_once_that_is_confirmed(
    choirs: Shoot,
) -> None:
    with choirs.reading() as session:
        code = session.get_one(DeckCard, 4).code
    async with opened(choirs) as pilot:
        await typed(pilot, "bo lind")
        await pilot.press("enter")
        await until(pilot, lambda: "1: Bo Lind arrived" in told(pilot))
        await pilot.press(*code, "enter")
        await until(pilot, lambda: "Deck card 4 for Bo Lind, number 1?" in screen_text(pilot))
        await pilot.press("enter")
        await until(pilot, lambda: told(pilot) == "deck card 4 is Bo Lind's")
    assert events(choirs, EventKind.CARD_TIED) == [("Bo Lind", "door-1")]


@pytest.mark.long
async def test_a_deck_card_is_tied_by_its_number(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        await typed(pilot, "bo lind")
        await pilot.press("ctrl+t")
        await pilot.pause()
        await pilot.press("9", "enter")
        await until(pilot, lambda: "There is no card 9" in told(pilot))
        await pilot.press("ctrl+t")
        await pilot.pause()
        await pilot.press("2", "enter")
        await until(pilot, lambda: "1: Bo Lind arrived" in told(pilot))
        assert told(pilot).endswith("card 2 is Bo Lind's")


@pytest.mark.long
async def test_a_name_is_confirmed_and_corrected(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        await typed(pilot, "bo lind")
        await pilot.press("ctrl+n")
        await until(pilot, lambda: "spelling confirmed" in screen_text(pilot))
        await pilot.press("ctrl+o")
        await pilot.pause()
        await pilot.press("up", "up", "up", "end", "backspace", "h", "down")
        await typed(pilot, "boo linn")
        await pilot.press("ctrl+s")
        await until(pilot, lambda: told(pilot) == "Bo Linh: corrected")
        await until(pilot, lambda: "say: boo linn" in screen_text(pilot))
    with choirs.reading() as session:
        assert session.get_one(Person, 2).name == "Bo Linh"


@pytest.mark.long
async def test_an_unclear_consent_stays_in_the_correction_form(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        await typed(pilot, "bo lind")
        await pilot.press("ctrl+o")
        await pilot.pause()
        await typed(pilot, "perhaps")
        await pilot.press("ctrl+s")
        await until(pilot, lambda: "neither a yes nor a no" in screen_text(pilot))
        assert getattr(pilot.app.focused, "id", "") == "field-consent"
    with choirs.reading() as session:
        assert "perhaps" not in session.get_one(Person, 2).consent


@pytest.mark.long
async def test_who_waits_is_listed_with_how_long(choirs: Shoot) -> None:
    from datetime import timedelta

    now = choirs.now()
    check_in(choirs, "2", at=now - timedelta(minutes=25))
    check_in(choirs, "3", at=now - timedelta(minutes=5))
    async with opened(choirs) as pilot:
        await until(pilot, lambda: "2 waiting" in screen_text(pilot))
        text = screen_text(pilot)
        assert "2 waiting, the first 25 min" in text
        assert "planned end 17:00" in text


@pytest.mark.long
async def test_another_stations_arrival_is_seen_within_a_second(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        other = open_shoot(choirs.folder)
        check_in(other, "4", station="door-2")
        other.engine.dispose()
        began = asyncio.get_running_loop().time()
        await until(pilot, lambda: "Jürgen Weiß" in screen_text(pilot))
        assert asyncio.get_running_loop().time() - began < 5  # a second on a quiet machine


@pytest.mark.long
async def test_the_same_person_at_two_stations_gets_one_number_and_both_are_told(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        await typed(pilot, "bo lind")
        other = open_shoot(choirs.folder)
        check_in(other, "2", station="door-2")
        other.engine.dispose()
        await pilot.press("enter")
        await until(pilot, lambda: "1: Bo Lind was here already" in told(pilot))
        assert "at door-2" in told(pilot)
        assert "! ALREADY HERE: number 1" in screen_text(pilot)
        assert number(pilot) == ""  # the large number is for those who have just arrived
    assert len(events(choirs, EventKind.ARRIVED)) == 1


@pytest.mark.long
async def test_keys_quicker_than_the_disk_are_carried_out_in_order(choirs: Shoot) -> None:
    """The screens are closed before the disk has answered: nothing is lost."""
    async with opened(choirs) as pilot:
        for key in ("2", "3", "4"):
            await pilot.press(key, "enter")
    assert [name for name, _ in events(choirs, EventKind.ARRIVED)] == [
        "Bo Lind",
        "Zoë Ó Súilleabháin",
        "Jürgen Weiß",
    ]


@pytest.mark.long
async def test_a_paste_of_a_hundred_thousand_characters_harms_nothing(choirs: Shoot) -> None:
    from textual.events import Paste

    async with opened(choirs) as pilot:
        pilot.app.screen.query_one(Input).post_message(Paste("Bo \x1b[31m Lind " * 10_000))
        await pilot.pause()
        await pilot.press("enter")
        await pilot.press("escape")
        await typed(pilot, "bo lind")
        await pilot.press("enter")
        await until(pilot, lambda: "1: Bo Lind arrived" in told(pilot))


@pytest.mark.long
async def test_names_are_shown_as_written_never_as_markup(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        await typed(pilot, "mia")
        assert "Mia [b]Kern[/b]" in screen_text(pilot)


@pytest.mark.long
async def test_a_terminal_of_20_by_5_does_not_end_the_program(choirs: Shoot) -> None:
    async with opened(choirs, size=(20, 5)) as pilot:
        await typed(pilot, "bo lind")
        await pilot.press("f6")
        await pilot.pause()
        assert "terminal is too small" in " ".join(screen_text(pilot).split())
        await pilot.press("escape", "enter")
        await until(pilot, lambda: events(choirs, EventKind.ARRIVED) == [("Bo Lind", "door-1")])
    with choirs.reading() as session:
        assert not session.exec(select(EventRow).where(EventRow.kind == EventKind.SLATE_SHOWN.value)).all()


@pytest.mark.long
async def test_of_two_of_one_name_the_one_still_expected_comes_first(choirs: Shoot) -> None:
    add_walk_in(choirs, "Ana", "Horvat", "Tenors")
    async with opened(choirs) as pilot:
        await typed(pilot, "ana horvat")
        await pilot.press("enter")
        await until(
            pilot, lambda: asked(pilot).startswith("Is it Ana Horvat (Alto 1, 09:00, no number yet)?")
        )
        await pilot.press("enter")
        await until(pilot, lambda: "2: Ana Horvat arrived" in told(pilot))


@pytest.mark.long
async def test_one_who_is_here_already_is_told_of_a_namesake_who_is_expected(choirs: Shoot) -> None:
    add_walk_in(choirs, "Ana", "Horvat", "Tenors")
    async with opened(choirs) as pilot:
        await typed(pilot, "ana horvat")
        await pilot.press("down", "enter")
        await until(pilot, lambda: "1: Ana Horvat was here already" in told(pilot))
        assert "another Ana Horvat is expected (Alto 1)" in told(pilot)
        check_in_person(choirs, 1)
        await until(pilot, lambda: pilot.app.status_cache.statuses[1].arrived)  # type: ignore[attr-defined]
        await typed(pilot, "ana horvat")
        await pilot.press("down", "enter")
        await until(pilot, lambda: "was here already" in told(pilot) and "another" not in told(pilot))


@pytest.mark.long
async def test_a_question_goes_with_the_text_that_it_was_about(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        for away in ("escape", "backspace", "x"):
            await typed(pilot, "ana hor")
            await pilot.press("enter")
            await until(pilot, lambda: asked(pilot).startswith("Is it Ana Horvat"))
            await pilot.press(away)
            await until(pilot, lambda: asked(pilot) == "")
            await pilot.press("escape")
        await typed(pilot, "bo lind")
        await pilot.press("enter")
        await until(pilot, lambda: "1: Bo Lind arrived" in told(pilot))
        await typed(pilot, "ana")
        assert "1: Bo Lind arrived" in told(pilot)  # an answer stays until the next one


async def test_a_name_typed_while_a_question_stands_takes_its_place(choirs: Shoot) -> None:
    """Behind the first name, it would be searched for together with it, and might be found."""
    async with opened(choirs) as pilot:
        await typed(pilot, "ana hor")
        await pilot.press("enter")
        await until(pilot, lambda: asked(pilot).startswith("Is it Ana Horvat"))
        await typed(pilot, "bo lind")
        await until(pilot, lambda: told(pilot) == "Ana Horvat is not checked in")
        await pilot.press("enter")
        await until(pilot, lambda: "1: Bo Lind arrived" in told(pilot))
    assert events(choirs, EventKind.ARRIVED) == [("Bo Lind", "door-1")]


async def test_a_name_behind_a_word_that_is_not_theirs_is_asked_about(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        await typed(pilot, "xqz bo lind")
        await pilot.press("enter")
        await until(pilot, lambda: asked(pilot).startswith("Is it Bo Lind"))
    assert events(choirs, EventKind.ARRIVED) == []


@pytest.mark.long
async def test_a_question_that_was_left_is_asked_again(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        for _ in range(2):
            await typed(pilot, "ana hor")
            await pilot.press("enter")
            await until(pilot, lambda: asked(pilot).startswith("Is it Ana Horvat"))
            await pilot.press("escape")
    assert events(choirs, EventKind.ARRIVED) == []


@pytest.mark.long
async def test_a_walk_in_with_a_card_that_is_not_there_keeps_what_was_typed(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        await typed(pilot, "Cleo Marín")
        await pilot.press("f8")
        await until(pilot, lambda: isinstance(pilot.app.screen, WalkInScreen))
        await pilot.press("up")
        await typed(pilot, "9")
        await pilot.press("enter")
        await until(pilot, lambda: "There is no card 9" in screen_text(pilot))
        assert isinstance(pilot.app.screen, WalkInScreen)
        assert "Marín" in screen_text(pilot)
        await pilot.press("backspace", "3", "enter")
        await until(pilot, lambda: "1: Cleo Marín arrived" in told(pilot))
        assert told(pilot).endswith("card 3 is Cleo Marín's")


@pytest.mark.parametrize(
    ("typed_in", "known", "becomes"),
    [
        ("tenor", ["Tenor 1"], "tenor"),
        ("Year", ["Year 7"], "Year"),
        ("harb", ["Harbour Choir", "Brass"], "Harbour Choir"),
        ("tenor", ["Tenors"], "Tenors"),
    ],
)
async def test_enter_completes_a_group_but_adds_no_number(
    choirs: Shoot, typed_in: str, known: list[str], becomes: str
) -> None:
    async with opened(choirs) as pilot:
        field = EntryField(lambda _: False, typed_in, known=known)
        await pilot.app.screen.mount(field)
        field.complete()
        assert field.value == becomes


@pytest.mark.parametrize(("size", "is_large"), [((120, 36), True), ((80, 24), False)])
async def test_the_name_is_as_large_as_there_is_room(
    choirs: Shoot, size: tuple[int, int], is_large: bool
) -> None:
    async with opened(choirs, size=size) as pilot:
        await typed(pilot, "bo lind")
        name = pilot.app.screen.query_one(".card--name", BlockText)
        assert name.text == "Bo Lind"
        assert (name.size.height > 3) is is_large
