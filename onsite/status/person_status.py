"""Status of a person: their stage from the roster to the finished picture, and what they wait for.

Nothing in the record says yet that somebody declined or is put down for a make-up day: a no to publishing is
no refusal to be photographed, and a later day may be one of the shoot's own. Absent people are on the make-up
day's list.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from onsite.roster.find_people import RosterPerson
from onsite.roster.publication_consent import Publication, WithholdingReason, count_reasons
from onsite.roster.roster_groups import group_sort_key
from onsite.status.picture_status import NO_PICTURES, Pick, PictureStatus
from onsite.store.shoot import Shoot


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

    @property
    def word(self) -> str:
        """The stage as people read it; the value is its key in JSON and CSV."""
        return "here" if self is Stage.ARRIVED else self.value


ON_THE_DAY = (Stage.EXPECTED, Stage.ARRIVED, Stage.PHOTOGRAPHED)
"""The stages of the shoot itself; the others come after it."""


@dataclass(frozen=True, slots=True)
class PersonStatus:
    """A person with everything that screens show about them."""

    person: RosterPerson
    stage: Stage
    arrived: datetime | None
    """When they arrived."""
    frames: int
    role: str = ""
    slot: str = ""
    consent: str = ""
    note: str = ""
    spoken: str = ""
    """How the name is pronounced."""
    language: str = ""
    """The language to write to them in, as in the roster."""
    walk_in: bool = False
    confirmed: bool = False
    """Whether the current spelling of the name was confirmed."""
    station: str = ""
    """Where they arrived."""
    arrival: int | None = None
    """Id of the event of their arrival."""
    cards: tuple[int, ...] = ()
    """Numbers of the deck cards that they hold, in the order of assignment."""
    shown: datetime | None = None
    """When their slate was last shown."""
    first_frame: datetime | None = None
    """Shoot time of their first frame."""
    pictures: PictureStatus = NO_PICTURES
    """What became of their pictures after the shoot."""

    @property
    def publication(self) -> Publication:
        """Whether their pictures may be published."""
        return self.person.publication

    @property
    def card(self) -> int | None:
        """The number of the deck card that was assigned to them last and is still theirs."""
        return self.cards[-1] if self.cards else None

    @property
    def counts(self) -> bool:
        """Whether the person is counted: withdrawn people only once something happened to them."""
        return not self.person.withdrawn or self.stage is not Stage.EXPECTED


def stage_of(arrived: bool, frames: int, after: PictureStatus = NO_PICTURES) -> Stage:
    """The furthest stage that a person has reached. Frames named for them count even without a check-in.

    With several picks, the one that is least far counts: the person still waits for it. A person who received
    finished pictures without having picked any is served.
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
    """The stage of one pick. The last event counts: a picture that is to be retouched once more is picked
    again until it goes out with a batch, and one that was delivered before waits to be delivered again."""
    out = max((moment for moment in (pick.sent, pick.sent_back) if moment), default=None)
    since = pick.received or out
    if pick.delivered is not None and (since is None or since <= pick.delivered):
        return Stage.DELIVERED
    if pick.received is not None:
        return Stage.RETOUCHED
    return Stage.AT_RETOUCH if pick.at_retouch and not pick.goes_out_again else Stage.PICKED


def count_stages(everybody: Iterable[PersonStatus]) -> dict[Stage, int]:
    """Number of people at each stage now; `cumulative_counts` turns it into what is shown. Withdrawn people
    count only once something happened to them."""
    counts = Counter(s.stage for s in everybody if s.counts)
    return {stage: counts[stage] for stage in Stage}


def people_by_group(everybody: Iterable[PersonStatus]) -> dict[str, list[PersonStatus]]:
    """People who count, by the name of their group; those without a group come last, under the empty text."""
    groups: dict[str, list[PersonStatus]] = defaultdict(list)
    for s in everybody:
        if s.counts:
            groups[s.person.group].append(s)
    return {group: groups[group] for group in sorted(groups, key=group_sort_key)}


def count_groups(everybody: Iterable[PersonStatus]) -> dict[str, dict[Stage, int]]:
    """How many are at each stage now, for each group."""
    return {group: count_stages(people) for group, people in people_by_group(everybody).items()}


def count_withheld(everybody: Iterable[PersonStatus]) -> dict[WithholdingReason, int]:
    """Number of counted people who are not published, by reason."""
    return count_reasons(s.publication for s in everybody if s.counts)


def count_reached(stages: Mapping[Stage, int], stage: Stage) -> int:
    """Number of people in these counts who have reached a stage, or a further one."""
    return sum(count for other, count in stages.items() if _PLACE[other] >= _PLACE[stage])


def cumulative_counts(everybody: Iterable[PersonStatus]) -> dict[Stage, int]:
    """The counts that are shown and reported: for every stage but the first how many people have reached it,
    without those who skipped it, since whoever gets an untouched picture was never at retouch; for `EXPECTED`
    how many have not come yet."""
    people = [s for s in everybody if s.counts]
    at = count_stages(people)
    skipped = Counter(stage for s in people for stage in _skipped(s))
    return {
        stage: at[stage] if stage is Stage.EXPECTED else count_reached(at, stage) - skipped[stage]
        for stage in Stage
    }


def _skipped(status: PersonStatus) -> list[Stage]:
    """The stages after the day that somebody is beyond and whose work was never done for them."""
    after = status.pictures
    was_there = {
        Stage.PROOFED: after.proofed is not None,
        Stage.PICKED: bool(after.picks),
        Stage.AT_RETOUCH: any(pick.sent or pick.received for pick in after.picks),
        Stage.RETOUCHED: any(pick.received is not None for pick in after.picks),
    }
    return [stage for stage, was in was_there.items() if not was and _PLACE[stage] < _PLACE[status.stage]]


def stages_to_show(stages: Mapping[Stage, int]) -> list[Stage]:
    """The stages to show for these counts: those of the day, and later stages that somebody is at."""
    return [stage for stage in Stage if stage in ON_THE_DAY or stages.get(stage)]


ABSENT = "absent"
"""Stage word of a person who is still expected when the shoot is over."""


def shoot_is_over(day: date | None, arrivals: Iterable[datetime], now: datetime) -> bool:
    """Whether the shoot's last day has passed: `day`, or the last day on which somebody arrived where that is
    later. False where neither is known. `now` is in the shoot's zone."""
    last = max(arrivals, default=None)
    days = [day] if day is not None else []
    if last is not None:
        days.append(last.astimezone(now.tzinfo).date())
    return bool(days) and now.date() > max(days)


def is_over(shoot: Shoot, everybody: Iterable[PersonStatus]) -> bool:
    """The same for a shoot and everybody in it."""
    day = date.fromisoformat(shoot.settings.date) if shoot.settings.date else None
    return shoot_is_over(day, (s.arrived for s in everybody if s.arrived is not None), shoot.now())


def is_absent(status: PersonStatus, over: bool) -> bool:
    """Whether a counted person never came, once the shoot is over."""
    return over and status.counts and status.stage is Stage.EXPECTED


def stage_key(status: PersonStatus, over: bool) -> str:
    """A person's status as catalogues have it: their stage, absent, or withdrawn."""
    if status.person.withdrawn:
        return "withdrawn"
    return ABSENT if is_absent(status, over) else status.stage.value


def stage_word(status: PersonStatus, over: bool) -> str:
    """A person's status as a word on screens."""
    key = stage_key(status, over)
    return status.stage.word if key == status.stage.value else key


class WaitingFor(StrEnum):
    """What a person waits for, or is waited for, in the order of the work."""

    PROOF = "proof"
    PICKS = "picks"
    SENDING = "sending"
    RETOUCH = "retouch"
    DELIVERY = "delivery"


WAITING_TEXTS = {
    WaitingFor.PROOF: "no proof yet",
    WaitingFor.PICKS: "proof out, no picks",
    WaitingFor.SENDING: "picks not sent",
    WaitingFor.RETOUCH: "sent, not back",
    WaitingFor.DELIVERY: "back, not delivered",
}
"""Descriptions for screens."""

_AT = {
    Stage.PHOTOGRAPHED: WaitingFor.PROOF,
    Stage.PROOFED: WaitingFor.PICKS,
    Stage.PICKED: WaitingFor.SENDING,
    Stage.AT_RETOUCH: WaitingFor.RETOUCH,
    Stage.RETOUCHED: WaitingFor.DELIVERY,
}


@dataclass(frozen=True, slots=True)
class OpenWork:
    """A person who waits. `since` is aware, None where no time is known; for a proof it is the time of
    arrival, else of the first frame."""

    status: PersonStatus
    what: WaitingFor
    since: datetime | None


def open_work_of(status: PersonStatus) -> OpenWork | None:
    """What a person waits for now; None before they are photographed, and once they have everything."""
    what = _AT.get(status.stage)
    return None if what is None else OpenWork(status, what, _since(status, what))


def _since(status: PersonStatus, what: WaitingFor) -> datetime | None:
    after = status.pictures
    if what is WaitingFor.PROOF:
        return status.arrived or status.first_frame
    if what is WaitingFor.PICKS:
        return after.proofed
    here = [pick for pick in after.picks if stage_of_pick(pick) is status.stage]
    if what is WaitingFor.SENDING:
        return min((pick.sent_back for pick in here if pick.sent_back is not None), default=after.picked)
    moments = (pick.sent if what is WaitingFor.RETOUCH else pick.received for pick in here)
    return min((moment for moment in moments if moment is not None), default=None)


def open_work(everybody: Iterable[PersonStatus], now: datetime) -> dict[WaitingFor, list[OpenWork]]:
    """Everybody who waits, by what for, longest first; times in the future and unknown times last."""
    groups: dict[WaitingFor, list[OpenWork]] = {what: [] for what in WaitingFor}
    for person in everybody:
        if (waits := open_work_of(person)) is not None:
            groups[waits.what].append(waits)
    for group in groups.values():
        group.sort(key=lambda work: work.since or now)
    return groups


def open_work_text(groups: Mapping[WaitingFor, Sequence[OpenWork]]) -> str:
    """What is waited for in one line: "proof out, no picks: 12 · at retouch: 3"."""
    return " · ".join(f"{WAITING_TEXTS[what]}: {len(waiting)}" for what, waiting in groups.items() if waiting)
