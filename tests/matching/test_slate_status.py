from __future__ import annotations

import pytest

from onsite.matching.evidence import FrameKind, Symbol
from onsite.matching.slate_status import SlateStatus
from tests.matching.days import OTHER_SHOOT, Day, assert_all_named, card, code, names, verdicts

LINK = "https://example.org/programme"


def before_and_after(
    symbols: list[Symbol], seen: bool = True, after: float = 40.0
) -> tuple[Day, int, list[int]]:
    """Six people, the last with two more frames behind a frame with those symbols, which comes `after` so
    many seconds."""
    day = Day().people(range(1, 7))
    day.cards[card(9)] = []
    middle = day.frame(6, symbols, after, seen)
    day.slates.add(middle)
    day.portraits(6, 2)
    return day, middle, day.ids(6)


@pytest.mark.parametrize(
    ("symbols", "meaning"),
    [
        ([Symbol(None)], SlateStatus.UNREAD),
        ([Symbol(OTHER_SHOOT)], SlateStatus.OTHER_SHOOT),
        ([Symbol(code(400))], SlateStatus.NOBODY),
        ([Symbol(card(9))], SlateStatus.NO_HOLDER),
        ([Symbol(code(1)), Symbol(code(2))], SlateStatus.SEVERAL),
        ([Symbol(None), Symbol(LINK)], SlateStatus.UNREAD),
    ],
    ids=lambda value: value.name if isinstance(value, SlateStatus) else "",
)
def test_a_slate_that_names_nobody_ends_the_run(symbols: list[Symbol], meaning: SlateStatus) -> None:
    day, middle, frames = before_and_after(symbols)
    found = verdicts(day.evidence())
    assert (found[middle].kind, found[middle].doubt) == (FrameKind.SLATE, meaning.value)
    assert names(found, frames) == [6] * 5 + ["loose"] * 2


def test_a_symbol_that_does_not_read_within_seconds_is_a_badge_on_the_person() -> None:
    """Nobody steps in with a slate of their own within four seconds, and looks just the same."""
    day, middle, frames = before_and_after([Symbol(None)], after=4.0)
    found = verdicts(day.evidence())
    assert found[middle].kind is FrameKind.SLATE
    assert names(found, frames) == [6] * 7


def test_a_badge_in_one_frame_after_the_other_is_a_badge() -> None:
    day = Day().people(range(1, 7))
    day.slates |= {day.frame(6, [Symbol(None)]), day.frame(6, [Symbol(None)])}
    day.portraits(6, 2)
    assert names(verdicts(day.evidence()), day.ids(6)) == [6] * 7


def test_after_a_slate_that_does_not_read_whoever_was_there_is_suggested_where_they_look_the_same() -> None:
    day, _, frames = before_and_after([Symbol(None)])
    loose = verdicts(day.evidence())[frames[-1]]
    assert (loose.kind, loose.suggestions[0].person) == (FrameKind.LOOSE, 6)


def test_a_frame_that_could_not_be_looked_at_is_theirs_among_their_frames() -> None:
    """Four seconds after one frame and before the next: nobody can have held a slate up in between."""
    day, middle, frames = before_and_after([], seen=False, after=4.0)
    found = verdicts(day.evidence())
    assert names(found, [middle, *frames]) == [6] * 8


@pytest.mark.parametrize("looks", ["alike", "none"])
def test_a_frame_that_could_not_be_looked_at_after_a_pause_may_be_a_slate(looks: str) -> None:
    day = Day(looks=looks).people(range(1, 7)).arrive(7)
    day.now += 36
    middle = day.frame(7, seen=False)
    day.portraits(7).people(range(8, 12))
    found = verdicts(day.evidence())
    assert names(found, [middle, *day.ids(7)]) == ["loose"] * 7


@pytest.mark.parametrize("text", [LINK, "", "NX", "FREIER EINTRITT"])
def test_a_foreign_symbol_is_no_slate(text: str) -> None:
    day, middle, frames = before_and_after([Symbol(text)], after=4.0)
    found = verdicts(day.evidence())
    assert names(found, [middle, *frames]) == [6] * 8


def test_a_code_whose_check_fails_ends_the_run() -> None:
    """It looks like one of ours: whatever went wrong with it, a slate was held up."""
    wrong = code(6)[:-2] + code(6)[-1] + code(6)[-2]
    day, middle, frames = before_and_after([Symbol(wrong)])
    found = verdicts(day.evidence())
    assert found[middle].doubt == SlateStatus.UNREAD.value
    assert names(found, frames) == [6] * 5 + ["loose"] * 2


def test_a_slate_beside_a_foreign_symbol_is_a_slate() -> None:
    day = Day().people(range(1, 7))
    middle = day.frame(7, [Symbol(LINK), Symbol(code(7))], after=40)
    day.arrive(7).slates.add(middle)
    day.portraits(7)
    assert_all_named(day, verdicts(day.evidence()))


def test_the_ticket_still_in_the_hand_on_a_portrait_is_a_slate() -> None:
    day = Day().people(range(1, 7)).arrive(7)
    day.now += 36
    day.frame(7, [Symbol(code(7))])
    day.portraits(7)
    found = verdicts(day.evidence())
    assert found[day.ids(7)[0]].kind is FrameKind.SLATE
    assert names(found, day.ids(7)[1:]) == [7] * 5


@pytest.mark.parametrize("turned", [90, 270])
def test_a_camera_on_its_side_turns_every_slate(turned: int) -> None:
    day = Day()
    for person in range(1, 9):
        day.arrive(person).now += 36
        day.slate(person, code(person), turned)
        day.portraits(person)
    assert_all_named(day, verdicts(day.evidence()))


def test_the_same_slate_twice_in_a_row_is_one_and_later_a_second_run() -> None:
    day = Day().people(range(1, 7)).person(7, "twice").person(8).person(7)
    found = verdicts(day.evidence())
    assert_all_named(day, found)
    assert len({found[frame].run for frame in day.ids(7)}) == 2
