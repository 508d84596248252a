"""The stage of a person: how far they have come from the list to the finished picture."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from onsite.progress.after import NO_PICTURES, Pick, PictureStatus
from onsite.roster.find import RosterPerson
from onsite.roster.groups import group_sort_key
from onsite.roster.publication import Publication, WithholdingReason, count_reasons


class Stage(StrEnum):
    """The stages in the order in which a person goes through them, which is also the order of bars."""

    EXPECTED = "expected"
    ARRIVED = "arrived"
    PHOTOGRAPHED = "photographed"
    PROOFED = "proofed"
    PICKED = "picked"
    AT_RETOUCH = "at retouch"
    RETOUCHED = "retouched"
    DELIVERED = "delivered"


ON_THE_DAY = (Stage.EXPECTED, Stage.ARRIVED, Stage.PHOTOGRAPHED)
"""The stages of the shoot itself; the others come after it."""


@dataclass(frozen=True, slots=True)
class PersonStatus:
    """A person with everything that the screens show of them.

    `arrived` and `station` are when and where they arrived, `arrival` the id of that event; `shown` is when
    their slate was last shown. `cards` are the numbers of the deck cards that they hold now, the last tied
    last. `first_frame` is the shoot time of their first frame.
    """

    person: RosterPerson
    stage: Stage
    arrived: datetime | None
    frames: int
    role: str = ""
    slot: str = ""
    consent: str = ""
    note: str = ""
    spoken: str = ""
    """How the name is said."""
    language: str = ""
    """What they are written to in, as the list has it."""
    walk_in: bool = False
    confirmed: bool = False
    """Somebody said that the name as it now stands is spelt right."""
    station: str = ""
    arrival: int | None = None
    cards: tuple[int, ...] = ()
    shown: datetime | None = None
    first_frame: datetime | None = None
    pictures: PictureStatus = NO_PICTURES
    """What became of their pictures after the shoot."""

    @property
    def publication(self) -> Publication:
        """Whether their pictures may be published."""
        return self.person.publication

    @property
    def card(self) -> int | None:
        """The number of the deck card that was tied to them last and is still theirs."""
        return self.cards[-1] if self.cards else None

    @property
    def counts(self) -> bool:
        """Withdrawn people count only once something happened to them."""
        return not self.person.withdrawn or self.stage is not Stage.EXPECTED


def stage_of(arrived: bool, frames: int, after: PictureStatus = NO_PICTURES) -> Stage:
    """The furthest that somebody has come. Frames under a name count even where nobody checked the person in.

    With several picks, the one that is least far counts: the person still waits for it. Somebody who was
    handed finished pictures without having chosen any has been served.
    """
    if after.picks:
        return min((stage_of_pick(pick) for pick in after.picks), key=_PLACE.__getitem__)
    if after.delivered is not None:
        return Stage.DELIVERED
    if after.proofed is not None:
        return Stage.PROOFED
    if frames:
        return Stage.PHOTOGRAPHED
    return Stage.ARRIVED if arrived else Stage.EXPECTED


_PLACE = {stage: place for place, stage in enumerate(Stage)}


def stage_of_pick(pick: Pick) -> Stage:
    """How far one picture of somebody's choice is. What happened last counts: a delivered picture that is
    retouched once more is at retouch again until it is back, and then waits to be delivered again."""
    out = max((moment for moment in (pick.sent, pick.sent_back) if moment), default=None)
    since = pick.received or out
    if pick.delivered is not None and (since is None or since <= pick.delivered):
        return Stage.DELIVERED
    if pick.received is not None:
        return Stage.RETOUCHED
    return Stage.AT_RETOUCH if pick.at_retouch else Stage.PICKED


def count_stages(everybody: Iterable[PersonStatus]) -> dict[Stage, int]:
    """How many are at each stage now; `cumulative_counts` is what is shown of it. Withdrawn people count only
    once something happened to them."""
    counts = Counter(s.stage for s in everybody if s.counts)
    return {stage: counts[stage] for stage in Stage}


def count_groups(everybody: Iterable[PersonStatus]) -> dict[str, dict[Stage, int]]:
    """The same for each group, by its name; those without a group come last, under the empty text."""
    groups: dict[str, list[PersonStatus]] = defaultdict(list)
    for s in everybody:
        if s.counts:
            groups[s.person.group].append(s)
    in_order = sorted(groups, key=group_sort_key)
    return {group: count_stages(groups[group]) for group in in_order}


def count_withheld(everybody: Iterable[PersonStatus]) -> dict[WithholdingReason, int]:
    """How many of those who count are not published, by reason: everywhere the same number."""
    return count_reasons(s.publication for s in everybody if s.counts)


def count_reached(stages: Mapping[Stage, int], stage: Stage) -> int:
    """How many of these counts have come to a stage, or further."""
    return sum(count for other, count in stages.items() if _PLACE[other] >= _PLACE[stage])


def cumulative_counts(stages: Mapping[Stage, int]) -> dict[Stage, int]:
    """The counts that are shown and reported, out of how many are at each stage: for every stage but the
    first how many have come to it, or further; for `EXPECTED` how many have not come yet."""
    return {
        stage: stages[stage] if stage is Stage.EXPECTED else count_reached(stages, stage) for stage in Stage
    }


def stages_to_show(stages: Mapping[Stage, int]) -> list[Stage]:
    """The stages worth telling of these counts: those of the day, and of the later ones those that somebody
    is at."""
    return [stage for stage in Stage if stage in ON_THE_DAY or stages.get(stage)]
