"""Picks chosen with pictures, as a screen keeps them."""

from __future__ import annotations

import pytest

from onsite.core.errors import Problem
from onsite.picks.record_picks import add_picks, choose_picks
from onsite.reconcile.current_match import update_match
from onsite.reconcile.frame_ownership import frames_of_person
from onsite.roster.person_lookup import PersonLookup
from onsite.roster.read_people import read_people
from onsite.status.picture_status import NO_PICTURES, PictureStatus, read_picture_statuses
from onsite.store.shoot import Shoot
from tests.proofs.studio import agreed


@pytest.fixture(autouse=True)
def matched(studio: Shoot) -> None:
    """Names are as last matched; what chooses picks is open on a shoot that is kept matched."""
    update_match(studio)


def mira(shoot: Shoot) -> int:
    with shoot.reading() as session:
        return PersonLookup(read_people(session)).resolve("S-1").id


def frames(shoot: Shoot, key: str = "S-1") -> list[int]:
    with shoot.reading() as session:
        person = PersonLookup(read_people(session)).resolve(key).id
        return [theirs.frame for theirs in frames_of_person(session, person)]


def now(shoot: Shoot) -> PictureStatus:
    with shoot.reading() as session:
        return read_picture_statuses(session).get(mira(shoot), NO_PICTURES)


def chosen(shoot: Shoot) -> list[int]:
    return [pick.frame for pick in now(shoot).picks]


def choose(shoot: Shoot, *wanted: int, before: PictureStatus | None = None) -> bool:
    return choose_picks(shoot, mira(shoot), wanted, before or now(shoot), source="the desk")


def test_frames_are_called_as_on_the_proofs(studio: Shoot) -> None:
    with studio.reading() as session:
        called = [theirs.name for theirs in frames_of_person(session, mira(studio))]
    assert called == ["A:0001", "A:0002", "A:0003", "A:0004"]


def test_the_order_counts_and_the_same_again_is_no_news(studio: Shoot) -> None:
    first, second, *_ = frames(studio)
    assert choose(studio, second, first)
    assert not choose(studio, second, first)
    assert choose(studio, first, second)
    assert chosen(studio) == [first, second]


def test_more_than_agreed_is_refused_and_fewer_never(studio: Shoot) -> None:
    three = frames(studio)[:3]
    with pytest.raises(Problem, match="Mira Okafor: 3 picks, and 2 are agreed"):
        choose(studio, *three)
    choose_picks(agreed(studio, 3), mira(studio), three, NO_PICTURES, source="the desk")
    assert choose(agreed(studio, 1), *three[1:])
    assert chosen(studio) == three[1:]


def test_anothers_frame_is_refused(studio: Shoot) -> None:
    with pytest.raises(Problem, match="'A:0011' is not a frame of Mira Okafor"):
        choose(studio, frames(studio)[0], frames(studio, "S-2")[0])
    assert chosen(studio) == []


def test_what_came_from_elsewhere_meanwhile_stays(studio: Shoot) -> None:
    before = now(studio)
    add_picks(studio, "S-1", ["A:0004"], note="soft light")
    with pytest.raises(Problem, match="come from elsewhere"):
        choose(studio, frames(studio)[0], before=before)
    assert chosen(studio) == [frames(studio)[3]]


def test_picks_taken_back_take_the_note_with_them(studio: Shoot) -> None:
    add_picks(studio, "S-1", ["A:0004"], note="soft light")
    assert choose(studio)
    assert (chosen(studio), now(studio).note) == ([], "")
