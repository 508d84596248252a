"""Reconcile, driven key by key on a day with frames; after each key the store is looked at."""

from __future__ import annotations

import shutil
from collections import Counter
from typing import Any

import pytest
from sqlmodel import select

from onsite.core.errors import Problem
from onsite.frames.frame_previews import FOLDER
from onsite.matching.evidence import FrameKind
from onsite.reconcile.camera_lanes import read_day_lanes
from onsite.reconcile.current_match import current_verdicts, match_now
from onsite.reconcile.end_of_day_lists import read_end_of_day_lists
from onsite.reconcile.likeliest_split import likeliest_split
from onsite.reconcile.overrides import give_frames, set_frames_aside, split_run
from onsite.reconcile.runs import RunKind
from onsite.status.read_status import read_person_statuses
from onsite.store.events import AFTERWARDS, EventKind, add_event
from onsite.store.schema import EventRow
from onsite.store.shoot import Shoot
from onsite.tui import background_updates, thread_retries
from onsite.tui.dialogs.full_screen import FrameScreen
from onsite.tui.reconcile import day_with_overrides
from onsite.tui.reconcile import reconcile_screen as screen_module
from onsite.tui.reconcile.end_of_day_screen import EndOfDayScreen
from onsite.tui.reconcile.reconcile_screen import ReconcileScreen
from onsite.tui.reconcile.run_description import SelectedRun
from onsite.tui.widgets.status_line import StatusLine
from tests.tiers import long_after
from tests.tui.driving import Driven, opened, screen_text, told, typed, until

BY_HAND = (
    EventKind.GIVEN,
    EventKind.SET_ASIDE,
    EventKind.FREED,
    EventKind.SPLIT,
    EventKind.JOINED,
    EventKind.UNDONE,
)


DETAILS = {
    "frames": [],
    "page": "",
    "batch": "1",
    "hand": "",
    "due": "",
    "price": "",
    "version": 1,
    "file": "",
}
"""Of any event after the shoot."""


@pytest.fixture(autouse=True)
def at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Keys here are pressed by whoever knows what has changed under them."""
    monkeypatch.setattr(screen_module, "LOOK_AGAIN", 0.0)
    monkeypatch.setattr(screen_module, "HELD_DOWN", 0.0)


def reconciling(pilot: Driven) -> ReconcileScreen:
    return next(one for one in pilot.app.screen_stack if isinstance(one, ReconcileScreen))


def under(pilot: Driven) -> SelectedRun:
    """The run under the cursor."""
    chosen = reconciling(pilot)._chosen()
    assert chosen is not None
    return chosen


async def settled(pilot: Driven) -> None:
    """Waits until everything is written, matched and shown."""
    screen = reconciling(pilot)
    await until(pilot, lambda: screen._day.matched is not None and not screen._outstanding)


async def to_loose(pilot: Driven, frames: int = 2) -> SelectedRun:
    """Goes to a loose run with so many frames and with somebody suggested."""
    for _ in range(12):
        chosen = under(pilot)
        if chosen.run.kind is RunKind.LOOSE and len(chosen.run.frames) >= frames and chosen.run.suggestions:
            return chosen
        await pilot.press("n")
    raise AssertionError("there is no such run")


def decided(shoot: Shoot) -> list[tuple[str, int | None, int | None]]:
    """What hands decided, in order: kind, frame, person."""
    with shoot.reading() as session:
        wanted = (
            select(EventRow).order_by(EventRow.id).where(EventRow.kind.in_([kind.value for kind in BY_HAND]))
        )
        return [(event.kind, event.frame_id, event.person_id) for event in session.exec(wanted)]


def given(frames: tuple[int, ...], person: int) -> list[tuple[str, int, int]]:
    return [(EventKind.GIVEN.value, frame, person) for frame in frames]


@pytest.mark.long
async def test_the_equation_is_in_view_and_adds_up(day: Shoot) -> None:
    count = Counter(stand.kind for stand in current_verdicts(day).values())
    async with opened(day, "reconcile", (80, 24)) as pilot:
        await settled(pilot)
        named, slates, loose = count[FrameKind.NAMED], count[FrameKind.SLATE], count[FrameKind.LOOSE]
        parts = f"━ {named} named + ┿ {slates} slates + ▒ {loose} loose"
        assert f"{count.total()} frames in = {parts} + · 0 set aside" in screen_text(pilot)


@pytest.mark.long
async def test_n_and_b_go_through_the_loose_runs_of_all_cameras(day: Shoot) -> None:
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        loose = sum(run.kind is RunKind.LOOSE for lane in reconciling(pilot)._day.lanes for run in lane.runs)
        seen = []
        for _ in range(loose):
            assert under(pilot).run.kind is RunKind.LOOSE
            seen.append(under(pilot).run.first)
            await pilot.press("n")
        assert len(set(seen)) == loose
        assert under(pilot).run.first == seen[0]
        await pilot.press("b")
        assert under(pilot).run.first == seen[-1]


@pytest.mark.long
async def test_a_number_gives_a_suggestion_and_a_new_match_keeps_it(day: Shoot) -> None:
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        chosen = await to_loose(pilot)
        frames, person = chosen.run.frames, chosen.choices[0].person
        await pilot.press("1")
        assert f"{len(frames)} frames given to" in told(pilot)
        assert "U: undo" in told(pilot)
        assert under(pilot).run.first != chosen.run.first
        assert under(pilot).run.kind is RunKind.LOOSE
        await settled(pilot)
        assert {
            run.person
            for lane in reconciling(pilot)._day.lanes
            for run in lane.runs
            if frames[0] in run.frames
        } == {person}
    assert decided(day) == given(frames, person)
    match_now(day)
    assert {(current_verdicts(day)[frame].person, current_verdicts(day)[frame].how) for frame in frames} == {
        (person, "hand")
    }


@pytest.mark.long
@pytest.mark.parametrize("strong", [True, False])
async def test_enter_accepts_a_strong_suggestion_only(
    day: Shoot, monkeypatch: pytest.MonkeyPatch, strong: bool
) -> None:
    monkeypatch.setattr(screen_module, "is_strong", lambda _: strong)
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        chosen = await to_loose(pilot)
        await pilot.press("enter")
        assert ("given to" if strong else "No suggestion is strong") in told(pilot)
        await settled(pilot)
    assert decided(day) == (given(chosen.run.frames, chosen.choices[0].person) if strong else [])


@pytest.mark.long
async def test_a_number_gives_that_suggestion(day: Shoot) -> None:
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        chosen = await to_loose(pilot)
        await pilot.press("2")
        await settled(pilot)
    assert decided(day) == given(chosen.run.frames, chosen.choices[1].person)


@pytest.mark.long
async def test_a_number_of_somebody_unlikely_asks_first(day: Shoot, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(screen_module, "WEAK", 1.1)
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        chosen = await to_loose(pilot)
        await pilot.press("1")
        assert told(pilot).startswith("Is it ")
        assert under(pilot).run.frames == chosen.run.frames
        await pilot.press("2")
        assert told(pilot).endswith("2 again: yes.")
        await pilot.press("2")
        await settled(pilot)
    assert decided(day) == given(chosen.run.frames, chosen.choices[1].person)


@pytest.mark.long
async def test_one_key_settles_a_run_and_four_settle_one_that_is_split(day: Shoot) -> None:
    """And the next loose run of the camera stands there."""
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        chosen = await to_loose(pilot, frames=3)
        first, rest = chosen.run.frames[:1], chosen.run.frames[1:]
        await pilot.press("right", "s")
        await settled(pilot)
        people = [under(pilot).choices[0].person]
        await pilot.press("1")
        assert under(pilot).run.frames == rest
        people.append(under(pilot).choices[0].person)
        await pilot.press("1")
        assert under(pilot).run.frames not in (first, rest)
        await settled(pilot)
    assert decided(day)[1:] == given(first, people[0]) + given(rest, people[1])


@pytest.mark.long
async def test_a_number_that_is_not_there_gives_nobody(day: Shoot) -> None:
    """With a frame for everybody, few people are left who may be on a loose run."""
    found = current_verdicts(day)
    loose = [frame for frame, stand in found.items() if stand.kind is FrameKind.LOOSE]
    without = {standing.person.id for standing in read_person_statuses(day)} - {
        stand.person for stand in found.values()
    }
    for person, frame in zip(sorted(without), loose[::-1], strict=False):
        give_frames(day, [frame], person)
    match_now(day)
    before = decided(day)
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        for _ in range(20):
            if len(under(pilot).choices) < 5:
                break
            await pilot.press("n")
        await pilot.press("5")
        assert "no suggestion 5" in told(pilot)
        await settled(pilot)
    assert decided(day) == before


@pytest.mark.long
async def test_enter_on_a_named_run_says_whose_it_is_and_does_nothing(day: Shoot) -> None:
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        while under(pilot).run.kind is not RunKind.NAMED:
            await pilot.press("down")
        name = reconciling(pilot)._who(under(pilot).run.person or 0)
        await pilot.press("enter", "1")
        assert name in told(pilot)
        await settled(pilot)
    assert decided(day) == []


@pytest.mark.long
async def test_somebody_else_is_picked(day: Shoot) -> None:
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        chosen = await to_loose(pilot)
        offered = {choice.person for choice in chosen.choices}
        other = next(
            s.person for s in reconciling(pilot).status_cache.statuses.values() if s.person.id not in offered
        )
        await pilot.press("p")
        await pilot.pause()
        await typed(pilot, other.key)
        await pilot.press("enter")
        await until(pilot, lambda: "given to" in told(pilot))
        assert under(pilot).run.first != chosen.run.first
        await settled(pilot)
    assert decided(day) == given(chosen.run.frames, other.id)


@pytest.mark.long
async def test_escape_picks_nobody(day: Shoot) -> None:
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        await pilot.press("p", "escape")
        await settled(pilot)
    assert decided(day) == []


@pytest.mark.long
async def test_a_run_is_split_at_the_frame_under_the_cursor(day: Shoot) -> None:
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        chosen = await to_loose(pilot, frames=3)
        await pilot.press("right", "s")
        assert under(pilot).run.frames == chosen.run.frames[:1]  # the parts are settled in their order
        await settled(pilot)
        assert under(pilot).run.frames == chosen.run.frames[:1]
        assert under(pilot).after is not None
        assert under(pilot).after.frames == chosen.run.frames[1:]
    assert decided(day) == [(EventKind.SPLIT.value, chosen.run.frames[1], None)]


@pytest.mark.long
async def test_the_first_s_shows_where_a_run_is_split_and_the_second_splits_it(day: Shoot) -> None:
    """With a number for each part that is four keys, wherever somebody else begins."""
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        chosen = await to_loose(pilot, frames=3)
        proposed = likeliest_split(day, chosen.run.frames)
        await pilot.press("s")
        await until(pilot, lambda: "Does somebody else begin here?" in told(pilot))
        assert under(pilot).frame == proposed
        assert not decided(day)
        await pilot.press("s")
        await settled(pilot)
    assert decided(day) == [(EventKind.SPLIT.value, proposed, None)]


@pytest.mark.long
@pytest.mark.parametrize(("key", "side"), [("j", "before"), ("k", "after")])
async def test_a_loose_run_is_joined_with_the_one_beside_it(day: Shoot, key: str, side: str) -> None:
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        for _ in range(12):
            chosen = under(pilot)
            other = getattr(chosen, side)
            if other is not None and other.kind is RunKind.NAMED:
                break
            await pilot.press("n")
        await pilot.press(key)
        assert under(pilot).run.person == other.person
        assert "joined: all of it is" in told(pilot)
        await settled(pilot)
        assert set(under(pilot).run.frames) >= set(chosen.run.frames)
    assert [kind for kind, _, _ in decided(day)] == [EventKind.JOINED.value]
    assert {current_verdicts(day)[frame].person for frame in (*chosen.run.frames, *other.frames)} == {
        other.person
    }


@pytest.mark.long
async def test_there_is_nothing_to_join_before_the_first_run(day: Shoot) -> None:
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        await pilot.press("home", "j")
        assert "no run before" in told(pilot)
        await settled(pilot)
    assert decided(day) == []


@pytest.mark.long
async def test_set_aside_freed_and_undone(day: Shoot) -> None:
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        chosen = await to_loose(pilot)
        frames = chosen.run.frames
        await pilot.press("x")
        assert f"{len(frames)} frames set aside" in told(pilot)
        assert f"· {len(frames)} set aside" in screen_text(pilot)
        await settled(pilot)
        assert {current_verdicts(day)[frame].kind for frame in frames} == {FrameKind.SET_ASIDE}
        await pilot.press("b")
        reconciling(pilot)._to_frame(frames[0])
        assert under(pilot).run.kind is RunKind.SET_ASIDE
        await pilot.press("a")
        assert "taken back" in told(pilot)
        await settled(pilot)
        assert under(pilot).run.kind is RunKind.LOOSE
        assert {current_verdicts(day)[frame].kind for frame in frames} == {FrameKind.LOOSE}
        await pilot.press("u")
        await settled(pilot)
        assert "undone" in told(pilot)
        assert under(pilot).run.kind is RunKind.SET_ASIDE
    assert {current_verdicts(day)[frame].kind for frame in frames} == {FrameKind.SET_ASIDE}


@pytest.mark.long
async def test_a_where_nothing_was_decided_takes_nothing_back(day: Shoot) -> None:
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        await to_loose(pilot)
        await pilot.press("a")
        await until(pilot, lambda: "Nothing was decided by hand" in told(pilot))
        await settled(pilot)
    assert decided(day) == []


async def to_empty(pilot: Driven) -> SelectedRun:
    """Goes to a loose run of an empty backdrop."""
    for _ in range(12):
        if under(pilot).run.shows_nobody:
            return under(pilot)
        await pilot.press("n")
    raise AssertionError("there is no such run")


@pytest.mark.long
async def test_enter_sets_an_empty_backdrop_aside_and_nobody_is_suggested_for_it(day: Shoot) -> None:
    """Also for test shots before the first slate, which are no exception to any run around them."""
    async with opened(day, "reconcile", (120, 36)) as pilot:
        await settled(pilot)
        empty = [run for lane in reconciling(pilot)._day.lanes for run in lane.runs if run.shows_nobody]
        assert reconciling(pilot)._day.lanes[0].runs[1] in empty  # right after the clock slate
        photographed = {stand.person for stand in current_verdicts(day).values()}
        for _ in empty:
            chosen = await to_empty(pilot)
            assert chosen.choices == ()
            await until(pilot, lambda: "set aside: kept, never delivered" in screen_text(pilot))
            await pilot.press("1")
            assert "Nobody is suggested here.  P: choose a person." in told(pilot)
            await pilot.press("enter")
            assert "set aside. U: undo" in told(pilot)
            await pilot.press("n")
        await settled(pilot)
    frames = {frame for run in empty for frame in run.frames}
    assert {frame for kind, frame, _ in decided(day) if kind == EventKind.SET_ASIDE} == frames
    assert len(decided(day)) == len(frames)
    assert {stand.person for stand in current_verdicts(day).values()} == photographed


@pytest.mark.long
async def test_an_empty_backdrop_can_be_given_to_somebody_chosen(day: Shoot) -> None:
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        frames = (await to_empty(pilot)).run.frames
        someone = next(s.person for s in reconciling(pilot).status_cache.statuses.values())
        await pilot.press("p")
        await pilot.pause()
        await typed(pilot, someone.key)
        await pilot.press("enter")
        await until(pilot, lambda: "given to" in told(pilot))
        await settled(pilot)
    assert decided(day) == given(frames, someone.id)


@pytest.mark.long
async def test_after_a_decision_the_cursor_stays_with_its_camera(day: Shoot) -> None:
    async with opened(day, "reconcile", (120, 36)) as pilot:
        await settled(pilot)
        lane = reconciling(pilot)._lane
        mine = sum(run.kind is RunKind.LOOSE for run in reconciling(pilot)._day.lanes[lane].runs)
        loose = [run for run in reconciling(pilot)._day.lanes[1 - lane].runs if run.kind is RunKind.LOOSE]
        others, frames = len(loose), sum(len(run.frames) for run in loose)
        assert min(mine, others) > 0
        for _ in range(mine):
            assert under(pilot).run.kind is RunKind.LOOSE
            await pilot.press("x")
            assert reconciling(pilot)._lane == lane
        assert f"Nothing is loose on camera A. N: go on, {frames} frames on camera B" in told(pilot)
        await settled(pilot)
        assert reconciling(pilot)._lane == lane
        await pilot.press("n")
        assert reconciling(pilot)._lane == 1 - lane
        assert told(pilot) == "camera B"
        for _ in range(4 * others):  # what is known of the others may part a run meanwhile
            if "Nothing is loose." not in told(pilot):
                await pilot.press("n" if "N: go on" in told(pilot) else "x")
        assert "Nothing is loose." in told(pilot)


@pytest.mark.long
async def test_undo_goes_back_to_the_run_and_further_back_each_time(day: Shoot) -> None:
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        first = await to_loose(pilot)
        await pilot.press("enter", "x")
        await settled(pilot)
        await pilot.press("u", "u")
        assert under(pilot).run.first == first.run.first
        await settled(pilot)
        assert under(pilot).run.kind is RunKind.LOOSE
        await pilot.press("u")
        await until(pilot, lambda: "nothing is left to undo" in told(pilot))
    assert {current_verdicts(day)[frame].kind for frame in first.run.frames} == {FrameKind.LOOSE}


@pytest.mark.long
async def test_a_decision_of_an_earlier_sitting_is_undone_too(day: Shoot) -> None:
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        frames = (await to_loose(pilot)).run.frames
        await pilot.press("x")
        await settled(pilot)
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        await pilot.press("u")
        await until(pilot, lambda: "undone: set aside" in told(pilot))
        assert under(pilot).run.frames == frames
        await settled(pilot)
    assert {current_verdicts(day)[frame].kind for frame in frames} == {FrameKind.LOOSE}


@pytest.mark.long
async def test_keys_faster_than_the_database_are_carried_out_in_order(day: Shoot) -> None:
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        screen = reconciling(pilot)
        expected = []
        for _ in range(3):
            chosen = under(pilot)
            expected += [(EventKind.SET_ASIDE.value, frame, None) for frame in chosen.run.frames]
            screen.action_put_away()
        screen.action_undo()
        await settled(pilot)
        assert under(pilot).run.first == chosen.run.first
    assert decided(day)[:-1] == expected
    assert decided(day)[-1][0] == EventKind.UNDONE
    assert {current_verdicts(day)[frame].kind for frame in chosen.run.frames} == {FrameKind.LOOSE}


@pytest.mark.long
async def test_frames_are_given_as_they_were_shown_when_the_picking_began(day: Shoot) -> None:
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        chosen = await to_loose(pilot, frames=3)
        await pilot.press("p")
        split_run(day, chosen.run.frames[1], "set-B")
        matched = reconciling(pilot)._day.matched
        await until(
            pilot, lambda: reconciling(pilot).status_cache.matched == reconciling(pilot).status_cache.newest
        )
        await until(pilot, lambda: reconciling(pilot)._day.matched is not matched)
        await typed(pilot, "1")
        await pilot.press("enter")
        await until(pilot, lambda: "given to" in told(pilot))
        await settled(pilot)
    assert {frame for kind, frame, _ in decided(day) if kind == EventKind.GIVEN} == set(chosen.run.frames)


@pytest.mark.long
async def test_nothing_is_accepted_right_after_what_is_under_the_cursor_has_changed(
    day: Shoot, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(screen_module, "LOOK_AGAIN", 60.0)
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        chosen = await to_loose(pilot, frames=3)
        split_run(day, chosen.run.frames[1], "set-B")
        await until(pilot, lambda: under(pilot).run.frames == chosen.run.frames[:1])
        await pilot.press("1")
        assert "just changed" in told(pilot)
        await settled(pilot)
    assert [kind for kind, _, _ in decided(day)] == [EventKind.SPLIT.value]


@pytest.mark.long
async def test_a_number_held_down_gives_one_run_and_no_more(
    day: Shoot, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(screen_module, "HELD_DOWN", 60.0)
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        chosen = await to_loose(pilot)
        await pilot.press(*["1"] * 10)
        await settled(pilot)
    assert decided(day) == given(chosen.run.frames, chosen.choices[0].person)


@pytest.mark.long
async def test_a_refused_decision_is_told_and_shown_no_longer(day: Shoot) -> None:
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        chosen = await to_loose(pilot)
        other = chosen.after if chosen.after is not None else chosen.before
        assert other is not None
        # another station sets the neighbour aside, which is seen before it is matched
        set_frames_aside(day, other.frames or other.slates, "set-B")
        match_now(day)
        await pilot.press("k" if other is chosen.after else "j")
        await until(pilot, lambda: "set aside" in told(pilot))
        await settled(pilot)
        assert under(pilot).run.kind is RunKind.LOOSE
    assert EventKind.JOINED.value not in {kind for kind, _, _ in decided(day)}


@pytest.mark.long
async def test_brackets_go_through_the_cameras(day: Shoot) -> None:
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        assert "Camera A" in screen_text(pilot)
        await pilot.press("right_square_bracket")
        assert under(pilot).run.camera == reconciling(pilot)._day.lanes[1].camera
        await pilot.press("left_square_bracket")
        assert under(pilot).run.camera == reconciling(pilot)._day.lanes[0].camera


@pytest.mark.long
async def test_left_and_right_go_through_the_frames_of_the_run(day: Shoot) -> None:
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        chosen = await to_loose(pilot, frames=3)
        await pilot.press("right", "right", "left")
        assert under(pilot).frame == chosen.run.frames[1]
        assert f"frame 2 of {len(chosen.run.frames)}" in screen_text(pilot)


@pytest.mark.long
async def test_a_frame_full_screen(day: Shoot) -> None:
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        chosen = await to_loose(pilot, frames=3)
        await pilot.press("f")
        await until(pilot, lambda: f"frame 1 of {len(chosen.run.frames)}" in screen_text(pilot))
        await until(pilot, lambda: "▀" in screen_text(pilot))
        await pilot.press("right")
        await until(pilot, lambda: f"frame 2 of {len(chosen.run.frames)}" in screen_text(pilot))
        await pilot.press("escape")
        assert not isinstance(pilot.app.screen, FrameScreen)
        assert under(pilot).frame == chosen.run.frames[1]


@pytest.mark.long
async def test_the_lists(day: Shoot) -> None:
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        await pilot.press("l")
        lists = read_end_of_day_lists(day, read_day_lanes(day))
        await until(pilot, lambda: f"[Not photographed {len(lists.arrived_not_shot)}]" in screen_text(pilot))
        assert all(line.person.name in screen_text(pilot) for line in lists.arrived_not_shot)
        for heading in (
            "[Frames, not checked in ",
            "[Did not come ",
            "[Slates without frames ",
            "[Missing counters ",
            "[Not photographed ",
        ):
            await pilot.press("right")
            assert heading in screen_text(pilot)
        await pilot.press("left")
        assert "[Missing counters " in screen_text(pilot)
        await pilot.press("escape")
        assert not isinstance(pilot.app.screen, EndOfDayScreen)


@pytest.mark.long
async def test_neighbours_stand_beside_the_frame_with_whose_they_are(day: Shoot) -> None:
    async with opened(day, "reconcile", (120, 36)) as pilot:
        await settled(pilot)
        while under(pilot).run.kind is not RunKind.NAMED:
            await pilot.press("down")
        name = reconciling(pilot)._who(under(pilot).run.person or 0).split()[1]
        await until(pilot, lambda: screen_text(pilot).count("▀") > 60)
        assert f"1 of {len(under(pilot).run.frames)}" in screen_text(pilot)
        assert screen_text(pilot).count(name) >= 3


@pytest.mark.long
async def test_a_missing_picture_is_told(day: Shoot) -> None:
    shutil.rmtree(day.folder / FOLDER)
    with day.writing() as session:
        session.connection().exec_driver_sql("update place set path = path || '.gone'")
    async with opened(day, "reconcile", (120, 36)) as pilot:
        await settled(pilot)
        await until(pilot, lambda: "picture missing" in screen_text(pilot))


@pytest.mark.long
@pytest.mark.parametrize("size", long_after(1, [(80, 24), (20, 5), (120, 36), (200, 60)]))
async def test_every_size_draws(day: Shoot, size: tuple[int, int]) -> None:
    async with opened(day, "reconcile", size) as pilot:
        await settled(pilot)
        await pilot.press("n", "down", "right", "right_square_bracket", "l", "escape", "f", "escape")
        assert "frames in" in screen_text(pilot)


@pytest.mark.long
async def test_a_day_without_frames_says_so(choirs: Shoot) -> None:
    async with opened(choirs, "reconcile", (80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("n", "b", "enter", "1", "p", "s", "j", "k", "x", "a", "left", "right", "f")
        text = screen_text(pilot)
        assert "no frames yet" in text
        assert "0 frames in = " in text
        await pilot.press("u")
        await until(pilot, lambda: "nothing is left to undo" in told(pilot))
    assert decided(choirs) == []


@pytest.mark.long
async def test_the_day_comes_back_at_once_and_the_answer_stays(day: Shoot) -> None:
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        await to_loose(pilot)
        await pilot.press("x", "f4", "f3")
        assert "frames in = " in screen_text(pilot)
        assert "set aside" in pilot.app.screen.query_one(StatusLine).text


@pytest.mark.long
async def test_a_hostile_name_is_shown_as_written(day: Shoot) -> None:
    with day.writing() as session:
        session.connection().exec_driver_sql("update person set name = 'Ana\n\x1b[31m[b]Horvat[/b]'")
    async with opened(day, "reconcile", (120, 36)) as pilot:
        await settled(pilot)
        await to_loose(pilot)
        assert "Ana \ufffd[31m[b]Horvat[/b]" in screen_text(pilot)
        await pilot.press("1")
        assert "[b]Horvat[/b]" in told(pilot)
        await pilot.press("p", "escape", "f", "escape", "l", "escape")


@pytest.mark.long
async def test_it_says_that_it_is_matching_until_the_match_knows_the_decision(day: Shoot) -> None:
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        assert "matching …" not in screen_text(pilot)
        reconciling(pilot).action_put_away()
        assert "matching …" in reconciling(pilot)._titles["#runs-side"]
        await settled(pilot)
        await until(pilot, lambda: "matching …" not in screen_text(pilot))


@pytest.mark.long
@pytest.mark.parametrize("kind", long_after(2, sorted(AFTERWARDS)))
async def test_what_happens_after_the_shoot_is_not_waited_for(day: Shoot, kind: EventKind) -> None:
    match_now(day)
    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        with day.writing() as session:
            add_event(session, kind, day.now(), station="desk", person_id=1, **DETAILS)
        newest = reconciling(pilot).status_cache.newest
        await until(pilot, lambda: reconciling(pilot).status_cache.newest > newest)
        await until(pilot, lambda: "matching …" not in screen_text(pilot))
    async with opened(day, "reconcile") as pilot:
        await until(pilot, lambda: reconciling(pilot)._day.matched is not None)
        await until(pilot, lambda: "matching …" not in screen_text(pilot))


@pytest.mark.long
async def test_a_match_that_fails_is_told_and_not_waited_for_in_vain(
    day: Shoot, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(thread_retries, "FIRST_PAUSE", 0.05)
    match, broken = background_updates.update_match_in_process, [True]

    def fails(*arguments: Any) -> None:
        if broken:
            raise KeyError("verdict")
        match(*arguments)

    async with opened(day, "reconcile", (120, 36)) as pilot:
        await settled(pilot)
        monkeypatch.setattr(background_updates, "update_match_in_process", fails)
        await pilot.press("x")
        await until(pilot, lambda: "Matching the frames has failed: KeyError 'verdict'." in told(pilot))
        await until(pilot, lambda: "not match" in screen_text(pilot))
        assert "matching …" not in screen_text(pilot)
        broken.clear()
        await until(pilot, lambda: "Matching the frames works again." in told(pilot))
        await settled(pilot)
        assert "not match" not in screen_text(pilot)


@pytest.mark.long
async def test_an_undo_that_fails_leaves_nothing_waiting(day: Shoot, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuses(*_: object) -> None:
        raise Problem("The disk is full.", "Free some space.")

    async with opened(day, "reconcile") as pilot:
        await settled(pilot)
        frames = (await to_loose(pilot)).run.frames
        await pilot.press("x")
        await settled(pilot)
        monkeypatch.setattr(day_with_overrides, "undo_last_override", refuses)
        await pilot.press("u")
        await until(pilot, lambda: "The disk is full." in told(pilot))
        await settled(pilot)
        await until(pilot, lambda: "matching …" not in screen_text(pilot))
        monkeypatch.undo()
        await pilot.press("u")
        await until(pilot, lambda: "undone: set aside" in told(pilot))
        await settled(pilot)
    assert {current_verdicts(day)[frame].kind for frame in frames} == {FrameKind.LOOSE}
