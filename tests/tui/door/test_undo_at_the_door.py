"""F9 at the door takes back what this station did last with the person shown, and nothing of another one."""

from __future__ import annotations

import pytest

from onsite.checkin.check_in import check_in
from onsite.checkin.walk_ins_and_corrections import correct_person
from onsite.roster.load_roster import load_list
from onsite.status.person_history import history
from onsite.store.events import EventKind, read_events
from onsite.store.schema import Person
from onsite.store.shoot import Shoot
from tests.tui.conftest import ROSTER
from tests.tui.driving import Driven, opened, screen_text, told, typed, until


def consent(shoot: Shoot, person: int) -> str:
    with shoot.reading() as session:
        return session.get_one(Person, person).consent


def arrivals(shoot: Shoot) -> list[str]:
    with shoot.reading() as session:
        return [event.station for event in read_events(session, (EventKind.ARRIVED,))]


async def may_publish(pilot: Driven, answer: str) -> None:
    """Opens the form of a correction for whoever is shown, and answers the question about consent."""
    await pilot.press("ctrl+o")
    await until(pilot, lambda: "may publish" in screen_text(pilot))
    for _ in range(20):
        if pilot.app.focused is not None and pilot.app.focused.id == "field-consent":
            break
        await pilot.press("down")
    await pilot.press(*answer, "ctrl+s")
    await until(pilot, lambda: "may be published" in told(pilot))


@pytest.mark.long
async def test_a_correction_is_taken_back_and_the_arrival_at_another_station_stays(choirs: Shoot) -> None:
    check_in(choirs, "6", station="door-2")
    async with opened(choirs) as pilot:
        await typed(pilot, "mia")
        await may_publish(pilot, "yes")
        assert consent(choirs, 6) == "yes"
        await pilot.press("f9")
        await until(pilot, lambda: "correction taken back; consent is empty again" in told(pilot))
        assert "not published" in told(pilot)
        assert (consent(choirs, 6), arrivals(choirs)) == ("", ["door-2"])
        await until(pilot, lambda: pilot.app.status_cache.statuses[6].consent == "")  # type: ignore[attr-defined]
        await pilot.press("f9")
        await until(pilot, lambda: "was checked in at door-2." in told(pilot))
        assert "Undo it there, or: Ctrl+P “Undo a check-in”" in told(pilot)
    assert arrivals(choirs) == ["door-2"]
    texts = [line.text for line in history(choirs, 6)]
    assert texts[-2:] == [
        "corrected by hand: consent nothing → yes (taken back)", "taken back: the correction",
    ]  # fmt: skip


@pytest.mark.long
async def test_a_correction_that_is_taken_back_is_no_hands_word_in_a_newer_list(choirs: Shoot) -> None:
    correct_person(choirs, 2, {"given": "Bob"}, "door-1")
    async with opened(choirs) as pilot:
        await typed(pilot, "bob lind")
        await pilot.press("f9")
        await until(pilot, lambda: "given is Bo again, name is Bo Lind again" in told(pilot))
    listed = choirs.folder / "list.csv"
    listed.write_text(ROSTER.replace("2;Bo;", "2;Boris;"), encoding="utf-8")
    load_list(choirs, listed)
    with choirs.reading() as session:
        assert session.get_one(Person, 2).name == "Boris Lind"


@pytest.mark.long
async def test_an_arrival_after_a_correction_is_taken_back_first(choirs: Shoot) -> None:
    correct_person(choirs, 2, {"note": "tall"}, "door-1")
    async with opened(choirs) as pilot:
        await typed(pilot, "bo lind")
        await pilot.press("enter")
        await until(pilot, lambda: "1: Bo Lind arrived" in told(pilot))
        await pilot.press("ctrl+n")
        await until(pilot, lambda: "spelling confirmed" in told(pilot))
        for words in ("the spelling is not confirmed any more", "is expected again", "note is empty again"):
            await pilot.press("f9")
            await until(pilot, lambda words=words: words in told(pilot))
        await pilot.press("f9")
        await until(pilot, lambda: "has not arrived" in told(pilot))
    assert arrivals(choirs) == []


@pytest.mark.long
async def test_what_was_changed_again_since_stays(choirs: Shoot) -> None:
    correct_person(choirs, 2, {"note": "tall"}, "door-1")
    correct_person(choirs, 2, {"note": "very tall"}, "door-2")
    async with opened(choirs) as pilot:
        await typed(pilot, "bo lind")
        await pilot.press("f9")
        await until(pilot, lambda: "note was changed again since" in told(pilot))
    with choirs.reading() as session:
        assert session.get_one(Person, 2).note == "very tall"


@pytest.mark.long
async def test_the_answer_that_a_walk_in_came_with_is_part_of_the_arrival(choirs: Shoot) -> None:
    from onsite.checkin.walk_ins_and_corrections import add_walk_in

    add_walk_in(choirs, "Cleo", "Marín", consent="yes", station="door-1")
    async with opened(choirs) as pilot:
        await typed(pilot, "cleo")
        await pilot.press("f9")
        await until(pilot, lambda: "Cleo Marín, a walk-in, is taken off again" in told(pilot))


@pytest.mark.long
async def test_escape_empties_the_field(choirs: Shoot) -> None:
    async with opened(choirs) as pilot:
        await typed(pilot, "bo")
        await pilot.press("escape")
        await until(pilot, lambda: pilot.app.screen.query_one("#who").value == "")  # type: ignore[attr-defined]


@pytest.mark.long
async def test_a_second_undo_publishes_nobody_who_said_no(choirs: Shoot) -> None:
    check_in(choirs, "1", station="door-1")
    correct_person(choirs, 1, {"consent": "no"}, "door-1")
    async with opened(choirs) as pilot:
        await typed(pilot, "horvat alto 1")
        await pilot.press("f9")
        await until(pilot, lambda: "is not published now, and undo would change that" in told(pilot))
    assert consent(choirs, 1) == "no"


@pytest.mark.long
async def test_a_deck_card_given_by_mistake_is_its_holders_again(choirs: Shoot) -> None:
    """Who waits with it is named before; the arrival stays when the card is taken back."""
    check_in(choirs, "1", station="door-1", card=5)
    check_in(choirs, "2", station="door-1")
    async with opened(choirs) as pilot:
        await typed(pilot, "bo lind")
        await pilot.press("ctrl+t", "5", "enter")
        question = "Ana Horvat waits with deck card 5. Is it Bo Lind's now?"
        await until(pilot, lambda: question in screen_text(pilot))
        await pilot.press("enter")
        await until(pilot, lambda: told(pilot) == "deck card 5 is Bo Lind's, Ana Horvat's until now")
        await pilot.press("f9")
        await until(pilot, lambda: told(pilot) == "Card 5 is Ana Horvat's.")
    assert arrivals(choirs) == ["door-1", "door-1"]
