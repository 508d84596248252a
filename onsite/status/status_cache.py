"""Cache of everybody's status for screens: read once, then updated by new events."""

from __future__ import annotations

import gc
import threading
from collections.abc import Collection, Container, Mapping
from dataclasses import dataclass, field, replace

from sqlmodel import Session, select

from onsite.checkin.waiting_people import Arrival, recent_arrivals
from onsite.reconcile.store_match import is_match_newest, matched_until
from onsite.roster.find_people import PersonFinder
from onsite.roster.read_people import asks_consent
from onsite.roster.roster_groups import group_sort_key
from onsite.status.person_status import PersonStatus, Stage, stage_of
from onsite.status.read_status import (
    NOT_PHOTOGRAPHED,
    PhotographedFrames,
    changed_people,
    collector_paused,
    photographed_frames,
    read_statuses,
)
from onsite.store.events import newest_event_id
from onsite.store.schema import DeckCard
from onsite.store.shoot import Shoot

_MUCH = 200
"""With more people at once, as after a new list, everybody is read again."""


@dataclass(frozen=True, slots=True)
class _CachedState:
    """A snapshot of everything known. Never altered, only replaced."""

    statuses: Mapping[int, PersonStatus] = field(default_factory=dict)
    newest: int = -1
    """Id of the last event read."""
    matched: int = -1
    """The last event that the match knew."""
    shot: Mapping[int, PhotographedFrames] = field(default_factory=dict)
    """What each person has of the frames, as that match has them."""
    codes: Mapping[str, int] = field(default_factory=dict)
    """People by slate code."""
    cards: Mapping[str, int] = field(default_factory=dict)
    """Deck card numbers by slate code."""
    asks_consent: bool = False
    """Whether the client's list has answers about consent."""


class StatusCache:
    """Everybody's status in a shoot, for screens.

    `catch_up` is called in a worker thread and reads new events from the store; it never matches. Everything
    else only reads memory and may be called in any thread at any time, without waiting: the state is replaced
    as a whole, so keep a mapping in a variable where it is read more than once.
    """

    def __init__(self) -> None:
        self._known = _CachedState()
        self._finder = PersonFinder(())
        self._settled = False
        self._catching_up = threading.Lock()
        self._replacing = threading.Lock()

    @property
    def statuses(self) -> Mapping[int, PersonStatus]:
        """By person id, in the order of the roster."""
        return self._known.statuses

    @property
    def finder(self) -> PersonFinder:
        """Search over the people; a hit may be a moment older or newer than `statuses`."""
        return self._finder

    @property
    def newest(self) -> int:
        """Id of the last event read, comparable with `events.newest_event_id`; -1 at first."""
        return self._known.newest

    @property
    def matched(self) -> int:
        """The last event known to the match that the frames come from; -1 without a match."""
        return self._known.matched

    @property
    def is_settled(self) -> bool:
        """Whether that match knew every event that may change a name (`store_match.is_match_newest`)."""
        return self._settled

    @property
    def codes(self) -> Mapping[str, int]:
        """Person ids by slate code."""
        return self._known.codes

    @property
    def cards(self) -> Mapping[str, int]:
        """Deck card numbers by slate code."""
        return self._known.cards

    @property
    def asks_consent(self) -> bool:
        """Whether the client's list has answers about consent (see `roster.publication_consent`)."""
        return self._known.asks_consent

    @property
    def groups(self) -> tuple[str, ...]:
        """The names of the groups, in order."""
        groups = {s.person.group for s in self.statuses.values()} - {""}
        return tuple(sorted(groups, key=group_sort_key))

    def holder(self, card: int) -> PersonStatus | None:
        """The current holder of the deck card with this number."""
        return next((s for s in self.statuses.values() if card in s.cards), None)

    def waits_with(self, card: str | int) -> PersonStatus | None:
        """Who holds the deck card with this number or code, and is here and has no frames yet."""
        number = self.cards.get(str(card)) or (int(card) if str(card).isdecimal() else None)
        holder = self.holder(number) if number is not None else None
        return holder if holder is not None and holder.stage is Stage.ARRIVED else None

    def latest(self, limit: int) -> list[PersonStatus]:
        """The people checked in last, latest first."""
        return recent_arrivals(self.statuses.values(), limit)

    def arrived(self, arrival: Arrival) -> None:
        """Show an arrival that was just recorded here at once, before it is read back."""
        person = arrival.person
        with self._replacing:
            known = self._known
            old = known.statuses.get(person.id, PersonStatus(person, stage_of(False, 0), None, 0))
            cards = old.cards
            if arrival.card is not None:
                cards = (*(card for card in cards if card != arrival.card), arrival.card)
            new = replace(
                old,
                person=person,
                stage=stage_of(True, old.frames, old.pictures),
                arrived=arrival.at,
                station=arrival.station,
                arrival=arrival.event,
                cards=cards,
            )
            codes = known.codes if person.code in known.codes else {**known.codes, person.code: person.id}
            self._known = replace(known, statuses={**known.statuses, person.id: new}, codes=codes)
        self._finder.add_or_replace(person)

    def catch_up(self, shoot: Shoot) -> frozenset[int]:
        """Read new events, and return the ids of the people whose status changed.

        At first that is everybody. Raises Problem when the store does not answer; then nothing changes.
        """
        with self._catching_up, shoot.reading() as session:
            known = self._known
            newest, matched = newest_event_id(session), matched_until(session)
            self._settled = is_match_newest(session)
            if matched < 0:  # a match is being stored: keep the frames of the one before until it is complete
                matched = known.matched
            if newest == known.newest and matched == known.matched:
                return frozenset()
            is_first = known.newest < 0
            now = replace(
                known,
                newest=newest,
                matched=matched,
                cards=dict(session.exec(select(DeckCard.code, DeckCard.number)).all()),
                asks_consent=asks_consent(session),
            )
            if is_first or matched != known.matched:
                now = replace(now, shot=photographed_frames(session, shoot))
            people = () if is_first else changed_people(session, known.newest, _MUCH + 1)
            # without an answer people may not be published any more, once the list has answers
            if is_first or len(people) > _MUCH or known.asks_consent != now.asks_consent:
                return self._start(session, now)
            return self._go_on(session, now, people)

    def _start(self, session: Session, now: _CachedState) -> frozenset[int]:
        """Read everybody."""
        with collector_paused(gc.freeze):
            statuses = read_statuses(session, now.shot)
            finder = PersonFinder(s.person for s in statuses.values())
        codes = {s.person.code: person_id for person_id, s in statuses.items()}
        with self._replacing:
            before = self._known.statuses
            self._known = replace(now, statuses=statuses, codes=codes)
            self._finder = finder
        return _differing(before, statuses) | (before.keys() - statuses.keys())

    def _go_on(self, session: Session, now: _CachedState, people: Collection[int]) -> frozenset[int]:
        """Read the few people with new events, and take over the frames of everybody."""
        changed = read_statuses(session, now.shot, people)
        if not changed.keys() >= now.statuses.keys() & set(people) or min(now.statuses, default=0) < 0:
            return self._start(session, now)  # a walk-in was removed, or has come from the offline journal
        changed |= _with_other_frames(now, changed)
        codes = {s.person.code: s.person.id for s in changed.values()}
        if not codes.keys() <= now.codes.keys():
            now = replace(now, codes={**now.codes, **codes})
        with self._replacing:
            shown = self._known.statuses
            self._known = replace(now, statuses={**shown, **changed})
        for person_id, s in changed.items():
            if person_id not in shown or shown[person_id].person != s.person:
                self._finder.add_or_replace(s.person)
        return _differing(shown, changed)


def _with_other_frames(now: _CachedState, fresh: Container[int]) -> dict[int, PersonStatus]:
    """The other people whose frames changed with a new match."""
    changed = {}
    for person_id, s in now.statuses.items():
        has = now.shot.get(person_id, NOT_PHOTOGRAPHED)
        if (s.frames, s.first_frame) != (has.frames, has.first) and person_id not in fresh:
            stage = stage_of(s.arrived is not None, has.frames, s.pictures)
            changed[person_id] = replace(s, stage=stage, frames=has.frames, first_frame=has.first)
    return changed


def _differing(before: Mapping[int, PersonStatus], after: Mapping[int, PersonStatus]) -> frozenset[int]:
    return frozenset(person_id for person_id, s in after.items() if before.get(person_id) != s)
