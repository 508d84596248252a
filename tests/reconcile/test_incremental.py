"""However a day comes in, the outcome is that of all of it at once; and only what must change is written."""

from __future__ import annotations

import random
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from onsite.matching.evidence import FrameVerdict
from onsite.reconcile import store_match as keeping
from onsite.reconcile.current_match import current_verdicts, match_now
from onsite.reconcile.live_match import live_frames
from onsite.reconcile.overrides import give_frames
from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot
from tests.matching.days import SHOOT, Day
from tests.reconcile.stored import store_arrivals, store_day, store_frames, store_people, store_showings

SLATES = ("head", "head", "head", "forgotten", "tail", "unread", "upside-down", "both", "twice")


@contextmanager
def new_shoot() -> Iterator[Shoot]:
    with tempfile.TemporaryDirectory() as folder:
        made = create_shoot(Path(folder) / "shoot", Settings(name="Festival", timezone="UTC"), SHOOT)
        yield made
        made.engine.dispose()


def day_of(slates: list[str], seed: int) -> Day:
    rng = random.Random(seed)
    day = Day(log_shown=seed % 2 == 0)
    for number, slate in enumerate(slates, 1):
        day.person(number, slate, count=rng.randint(3, 7), away=rng.choice([30, 40, 60, 120]))
    return day


@pytest.mark.long
@given(
    st.lists(st.sampled_from(SLATES), min_size=8, max_size=12),
    st.integers(0, 1000),
    st.randoms(use_true_random=False),
)
@settings(max_examples=15, deadline=None)
def test_a_card_at_a_time_and_late_check_ins_end_as_everything_at_once(
    slates: list[str], seed: int, rng: random.Random
) -> None:
    day = day_of(slates, seed)
    given_by_hand = rng.choice(day.frames).id
    with new_shoot() as at_once:
        store_day(at_once, day)
        give_frames(at_once, [given_by_hand], 1)
        wanted = told(current_verdicts(at_once))
    with new_shoot() as by_and_by:
        store_people(by_and_by, day)
        cards = [day.frames[place::3] for place in range(3)]  # frames of one run on three cards
        rng.shuffle(cards)
        late = rng.sample(sorted(day.arrived), len(day.arrived) // 2)
        store_arrivals(by_and_by, day, [person for person in day.arrived if person not in late])
        for card in cards:
            store_frames(by_and_by, day, card)
            if any(frame.id == given_by_hand for frame in card):
                give_frames(by_and_by, [given_by_hand], 1)
            match_now(by_and_by)
        store_arrivals(by_and_by, day, late)
        match_now(by_and_by)
        store_showings(by_and_by, day)
        assert told(current_verdicts(by_and_by)) == wanted
        match_now(by_and_by)
        assert told(current_verdicts(by_and_by)) == wanted


def told(found: dict[int, FrameVerdict]) -> dict[int, tuple[object, ...]]:
    return {i: (s.kind, s.person, s.how, s.doubt, s.run, s.suggestions) for i, s in found.items()}


def test_a_decision_by_hand_writes_that_run_and_no_more(shoot: Shoot) -> None:
    day = Day().people(range(1, 30))
    store_day(shoot, day)
    match_now(shoot)
    before = told(current_verdicts(shoot))
    give_frames(shoot, day.ids(7)[-1:], 9)
    outcome = match_now(shoot)
    with shoot.reading() as session:
        assert keeping._differences(session, {v.frame: keeping._row(v) for v in outcome.verdicts}) == ([], [])
    changed = {frame for frame, stand in told(current_verdicts(shoot)).items() if before[frame] != stand}
    assert changed == {day.ids(7)[-1]}


def test_what_is_told_as_frames_land_is_what_the_whole_match_says(shoot: Shoot) -> None:
    """A small day, so that the last frames are all of it: the two must not differ in one name."""
    day = day_of(["head"] * 6 + ["forgotten", "head", "tail", "unread", "head"], 4)
    store_day(shoot, day)
    whole = current_verdicts(shoot)
    for frame in live_frames(shoot, day.camera):
        stand = whole[frame.frame]
        assert (frame.kind, frame.person, frame.how) == (stand.kind, stand.person, stand.how)
