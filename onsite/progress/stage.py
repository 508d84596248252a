"""The stage of a person: how far they have come from the list to the finished picture."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from sqlmodel import Session

from onsite.roster.find import Someone
from onsite.roster.people import people
from onsite.store.record import Kind, happened
from onsite.store.shoot import Shoot
from onsite.wrap.current import bring_up_to_date, frames_of


class Stage(StrEnum):
    EXPECTED = "expected"
    ARRIVED = "arrived"
    PHOTOGRAPHED = "photographed"


@dataclass(frozen=True, slots=True)
class Standing:
    """A person with their stage, their arrival and how many frames are theirs."""

    person: Someone
    stage: Stage
    arrived: datetime | None
    frames: int


def stage_of(arrived: bool, frames: int) -> Stage:
    """Frames under a name count even where nobody checked the person in."""
    if frames:
        return Stage.PHOTOGRAPHED
    return Stage.ARRIVED if arrived else Stage.EXPECTED


def standings(shoot: Shoot) -> list[Standing]:
    """Everybody, in the order of the roster, as things stand now."""
    bring_up_to_date(shoot)
    with shoot.reading() as session:
        return _standings(session)


def _standings(session: Session) -> list[Standing]:
    arrived: dict[int, datetime] = {}
    for event in happened(session, (Kind.ARRIVED,)):
        if event.person_id is not None:
            arrived.setdefault(event.person_id, event.at)
    frames = frames_of(session)
    return [
        Standing(
            person,
            stage_of(person.id in arrived, frames.get(person.id, 0)),
            arrived.get(person.id),
            frames.get(person.id, 0),
        )
        for person in people(session)
    ]


def count_stages(everybody: Iterable[Standing]) -> dict[Stage, int]:
    """How many are at each stage. Withdrawn people count only once something happened to them."""
    counts = Counter(s.stage for s in everybody if not s.person.withdrawn or s.stage is not Stage.EXPECTED)
    return {stage: counts[stage] for stage in Stage}
