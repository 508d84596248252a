"""Who waits for what, and since when."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from onsite.progress.after import NOTHING_YET, After, Picked
from onsite.progress.stage import Stage, Standing, stage_of
from onsite.progress.waits import Wait, wait_of, who_waits
from onsite.roster.find import Someone

NOON = datetime(2026, 6, 14, 12, tzinfo=UTC)


def at(hour: float) -> datetime:
    return NOON + timedelta(hours=hour)


def somebody(
    after: After = NOTHING_YET, number: int = 1, frames: int = 3, arrived: datetime | None = NOON
) -> Standing:
    person = Someone(number, f"S-{number}", "", number, "Mira Okafor", "Mira", "Okafor", "Alto")
    return Standing(
        person, stage_of(arrived is not None, frames, after), arrived, frames, first_frame=at(1), after=after
    )


def waited(standing: Standing) -> tuple[Wait, datetime | None] | None:
    waits = wait_of(standing)
    return (waits.what, waits.since) if waits else None


def test_each_wait_has_its_beginning() -> None:
    assert waited(somebody()) == (Wait.PROOF, NOON)
    assert waited(somebody(arrived=None)) == (Wait.PROOF, at(1))
    assert waited(somebody(After(proofed=at(2)))) == (Wait.PICKS, at(2))
    assert waited(somebody(After(picked=at(3), picks=(Picked(7),)))) == (Wait.SENDING, at(3))
    out = Picked(7, sent=at(4)), Picked(8, sent=at(5)), Picked(9, sent=at(1), received=at(2))
    assert waited(somebody(After(picks=out))) == (Wait.RETOUCH, at(4))
    back = Picked(7, sent=at(4), received=at(8)), Picked(8, sent=at(4), received=at(7))
    assert waited(somebody(After(picks=back))) == (Wait.DELIVERY, at(7))


def test_who_is_not_photographed_or_has_everything_waits_for_nothing_here() -> None:
    assert wait_of(somebody(frames=0)) is None
    assert wait_of(somebody(After(picks=(Picked(7, delivered=at(9)),)))) is None


def test_who_has_waited_longest_comes_first() -> None:
    later, earlier = somebody(After(proofed=at(5)), 1), somebody(After(proofed=at(2)), 2)
    assert [one.standing.person.id for one in who_waits([later, earlier], at(9))[Wait.PICKS]] == [2, 1]


MOMENTS = st.none() | st.floats(0, 99).map(at)
PICKS = st.builds(Picked, st.just(7), sent=MOMENTS, received=MOMENTS, sent_back=MOMENTS, delivered=MOMENTS)


@given(st.builds(After, proofed=MOMENTS, picked=MOMENTS, picks=st.lists(PICKS, max_size=3).map(tuple)))
def test_whoever_was_photographed_waits_until_everything_is_delivered(after: After) -> None:
    standing = somebody(after)
    assert (wait_of(standing) is None) == (standing.stage is Stage.DELIVERED)
    assert sum(len(those) for those in who_waits([standing], NOON).values()) == (
        wait_of(standing) is not None
    )
