"""Who waits for what, and since when."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from onsite.roster.find_people import RosterPerson
from onsite.status.person_status import PersonStatus, Stage, WaitingFor, open_work, open_work_of, stage_of
from onsite.status.picture_status import NO_PICTURES, Pick, PictureStatus

NOON = datetime(2026, 6, 14, 12, tzinfo=UTC)


def at(hour: float) -> datetime:
    return NOON + timedelta(hours=hour)


def somebody(
    after: PictureStatus = NO_PICTURES, number: int = 1, frames: int = 3, arrived: datetime | None = NOON
) -> PersonStatus:
    person = RosterPerson(number, f"S-{number}", "", number, "Mira Okafor", "Mira", "Okafor", "Alto")
    return PersonStatus(
        person,
        stage_of(arrived is not None, frames, after),
        arrived,
        frames,
        first_frame=at(1),
        pictures=after,
    )


def waited(standing: PersonStatus) -> tuple[WaitingFor, datetime | None] | None:
    waits = open_work_of(standing)
    return (waits.what, waits.since) if waits else None


def test_each_wait_has_its_beginning() -> None:
    assert waited(somebody()) == (WaitingFor.PROOF, NOON)
    assert waited(somebody(arrived=None)) == (WaitingFor.PROOF, at(1))
    assert waited(somebody(PictureStatus(proofed=at(2)))) == (WaitingFor.PICKS, at(2))
    assert waited(somebody(PictureStatus(picked=at(3), picks=(Pick(7),)))) == (WaitingFor.SENDING, at(3))
    out = Pick(7, sent=at(4)), Pick(8, sent=at(5)), Pick(9, sent=at(1), received=at(2))
    assert waited(somebody(PictureStatus(picks=out))) == (WaitingFor.RETOUCH, at(4))
    back = Pick(7, sent=at(4), received=at(8)), Pick(8, sent=at(4), received=at(7))
    assert waited(somebody(PictureStatus(picks=back))) == (WaitingFor.DELIVERY, at(7))


def test_who_is_not_photographed_or_has_everything_waits_for_nothing_here() -> None:
    assert open_work_of(somebody(frames=0)) is None
    assert open_work_of(somebody(PictureStatus(picks=(Pick(7, delivered=at(9)),)))) is None


def test_who_has_waited_longest_comes_first() -> None:
    later, earlier = somebody(PictureStatus(proofed=at(5)), 1), somebody(PictureStatus(proofed=at(2)), 2)
    assert [one.status.person.id for one in open_work([later, earlier], at(9))[WaitingFor.PICKS]] == [2, 1]


MOMENTS = st.none() | st.floats(0, 99).map(at)
PICKS = st.builds(Pick, st.just(7), sent=MOMENTS, received=MOMENTS, sent_back=MOMENTS, delivered=MOMENTS)


@given(
    st.builds(PictureStatus, proofed=MOMENTS, picked=MOMENTS, picks=st.lists(PICKS, max_size=3).map(tuple))
)
def test_whoever_was_photographed_waits_until_everything_is_delivered(after: PictureStatus) -> None:
    standing = somebody(after)
    assert (open_work_of(standing) is None) == (standing.stage is Stage.DELIVERED)
    assert sum(len(those) for those in open_work([standing], NOON).values()) == (
        open_work_of(standing) is not None
    )
