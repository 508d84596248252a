"""Cache of everybody's status for screens: read once, then updated by new events."""

from __future__ import annotations

import gc
import threading
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from sqlmodel import Session, func, select

from onsite.checkin.arrivals import Arrival
from onsite.checkin.waiting_queue import recent_arrivals
from onsite.reconcile.keep_match import is_match_newest, matched_until
from onsite.roster.find_people import PersonFinder
from onsite.roster.groups import group_sort_key
from onsite.roster.people_in_store import asks_consent, removed_ids
from onsite.status.person_status import PersonStatus, stage_of
from onsite.status.picture_status import PICTURE_KINDS
from onsite.status.read_status import (
    DOOR_KINDS,
    NOT_PHOTOGRAPHED,
    PhotographedFrames,
    card_numbers,
    collector_paused,
    holders,
    photographed_frames,
    read_statuses_of,
)
from onsite.store.events import EventKind, newest_event_id, undone_event_ids
from onsite.store.schema import DeckCard, EventRow
from onsite.store.shoot import Shoot

_MUCH = 200
"""With more events or people at once, such as a new list, everybody is read again."""

_CHANGES_PEOPLE = (*DOOR_KINDS, *PICTURE_KINDS, EventKind.LISTED, EventKind.CHANGED, EventKind.WITHDRAWN)


@dataclass(frozen=True, slots=True)
class _CachedState:
    """A snapshot of everything known. Never altered, only replaced."""

    statuses: Mapping[int, PersonStatus] = field(default_factory=dict)
    newest: int = -1
    """Id of the last event read."""
    matched: int = -1
    """The last event that the match knew."""
    undone: frozenset[int] = frozenset()
    """Ids of undone events."""
    numbers: Mapping[int, int] = field(default_factory=dict)
    """Deck card numbers by card id."""
    holder: Mapping[int, int] = field(default_factory=dict)
    """Holders of deck cards by card id."""
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
        """Whether that match knew every event that may change a name (`keep_match.is_match_newest`)."""
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
        """Whether the client's list has answers about consent (see `roster.publication`)."""
        return self._known.asks_consent

    @property
    def groups(self) -> tuple[str, ...]:
        """The names of the groups, in order."""
        groups = {s.person.group for s in self.statuses.values()} - {""}
        return tuple(sorted(groups, key=group_sort_key))

    def holder(self, card: int) -> PersonStatus | None:
        """The current holder of the deck card with this number."""
        known = self._known
        for card_id, number in known.numbers.items():
            if number == card:
                return known.statuses.get(known.holder.get(card_id, 0))
        return None

    def latest(self, limit: int) -> list[PersonStatus]:
        """The people checked in last, latest first."""
        return recent_arrivals(self.statuses.values(), limit)

    def arrived(self, arrival: Arrival) -> None:
        """Show an arrival that was just recorded here at once, before it is read back."""
        person = arrival.person
        with self._replacing:
            known = self._known
            old = known.statuses.get(person.id, PersonStatus(person, stage_of(False, 0), None, 0))
            cards = old.cards if arrival.card is None else (*_without(old.cards, arrival.card), arrival.card)
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
            touched = _touched(session, known.newest) if known.newest >= 0 else None
            if known.asks_consent != asks_consent(session):
                touched = None  # people without an answer may not be published from now on
            elif touched is not None and touched[0] & known.statuses.keys() & removed_ids(session):
                touched = None
            if touched is None:
                with collector_paused(gc.freeze):
                    return self._start(session, shoot, newest, matched)
            shot = photographed_frames(session, shoot) if matched != known.matched else None
            return self._go_on(session, replace(known, newest=newest, matched=matched), shot, *touched)

    def _start(self, session: Session, shoot: Shoot, newest: int, matched: int) -> frozenset[int]:
        """Read everybody."""
        undone = undone_event_ids(session)
        numbers, holder = card_numbers(session), holders(session, undone)
        statuses = read_statuses_of(session, undone, numbers, holder, photographed_frames(session, shoot))
        codes = {s.person.code: person_id for person_id, s in statuses.items()}
        finder = PersonFinder(s.person for s in statuses.values())
        with self._replacing:
            before = self._known.statuses
            self._known = _CachedState(
                statuses,
                newest,
                matched,
                undone,
                numbers,
                holder,
                codes,
                _card_codes(session),
                asks_consent(session),
            )
            self._finder = finder
        return _differing(before, statuses) | (before.keys() - statuses.keys())

    def _go_on(
        self,
        session: Session,
        known: _CachedState,
        shot: Mapping[int, PhotographedFrames] | None,
        people: set[int],
        cards: set[int],
    ) -> frozenset[int]:
        """Read the few people and cards with new events, and the people whose frames changed."""
        if people or cards:
            known = replace(known, undone=undone_event_ids(session))
        if len(known.numbers) != _deck_size(session):
            known = replace(known, numbers=card_numbers(session), cards=_card_codes(session))
        if cards:
            before = known.holder
            now = holders(session, known.undone, cards)
            kept = {card: person for card, person in before.items() if card not in cards}
            known = replace(known, holder=kept | now)
            people |= {before[card] for card in cards & before.keys()} | set(now.values())
        has = shot if shot is not None else _as_known(known.statuses, people)
        changed = read_statuses_of(session, known.undone, known.numbers, known.holder, has, people)
        if shot is not None:
            changed |= _changed_photographed(known.statuses, shot, changed)
        codes = {s.person.code: s.person.id for s in changed.values()}
        if not codes.keys() <= known.codes.keys():
            known = replace(known, codes={**known.codes, **codes})
        with self._replacing:
            shown = self._known.statuses
            self._known = replace(known, statuses={**shown, **changed})
        for person_id, s in changed.items():
            if person_id not in shown or shown[person_id].person != s.person:
                self._finder.add_or_replace(s.person)
        return _differing(shown, changed)


def _touched(session: Session, newest: int) -> tuple[set[int], set[int]] | None:
    """The ids of people and of cards with events after `newest`; None where there are too many."""
    kinds = [kind.value for kind in (*_CHANGES_PEOPLE, EventKind.UNDONE)]
    wanted = select(EventRow.kind, EventRow.person_id, EventRow.card_id, EventRow.details).where(
        EventRow.kind.in_(kinds)
    )
    rows = session.exec(wanted.where(EventRow.id > newest).limit(_MUCH + 1)).all()
    people: set[int | None] = set()
    cards: set[int | None] = set()
    while rows:
        undone: list[int] = []
        for kind, person, card, details in rows:
            people.add(person)
            cards.add(card)
            if kind == EventKind.UNDONE:
                undone += details["undoes"]
        if len(rows) > _MUCH or len(undone) > _MUCH:
            return None
        rows = session.exec(wanted.where(EventRow.id.in_(undone))).all() if undone else ()
    touched = {person for person in people if person is not None}
    return (touched, {card for card in cards if card is not None}) if len(touched) <= _MUCH else None


def _changed_photographed(
    statuses: Mapping[int, PersonStatus],
    shot: Mapping[int, PhotographedFrames],
    fresh: Mapping[int, PersonStatus],
) -> dict[int, PersonStatus]:
    """The other people whose frames changed with a new match."""
    changed = {}
    for person_id, s in statuses.items():
        has = shot.get(person_id, NOT_PHOTOGRAPHED)
        if (s.frames, s.first_frame) != (has.frames, has.first) and person_id not in fresh:
            stage = stage_of(s.arrived is not None, has.frames, s.pictures)
            changed[person_id] = replace(s, stage=stage, frames=has.frames, first_frame=has.first)
    return changed


def _as_known(statuses: Mapping[int, PersonStatus], people: set[int]) -> dict[int, PhotographedFrames]:
    return {
        i: PhotographedFrames(statuses[i].frames, statuses[i].first_frame) for i in people & statuses.keys()
    }


def _differing(before: Mapping[int, PersonStatus], after: Mapping[int, PersonStatus]) -> frozenset[int]:
    return frozenset(person_id for person_id, s in after.items() if before.get(person_id) != s)


def _without(cards: tuple[int, ...], card: int) -> tuple[int, ...]:
    return tuple(other for other in cards if other != card)


def _deck_size(session: Session) -> int:
    return session.exec(select(func.count(DeckCard.id))).one()


def _card_codes(session: Session) -> dict[str, int]:
    return dict(session.exec(select(DeckCard.code, DeckCard.number)).all())
