"""A person's whole history in words, from the record."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlmodel import Session, select

from onsite.core.frame_ref import counter_label
from onsite.core.text import escaped, plural
from onsite.roster.known_people import CORRECTED_BY, LISTED
from onsite.roster.read_people import read_person
from onsite.store.events import AFTERWARDS, REMOVED, Event, EventKind, read_events
from onsite.store.schema import Camera, DeckCard, EventRow, Frame, Person, VerdictRow
from onsite.store.shoot import Shoot

_LONGEST = 60  # characters of one text in a line
_GROUPED_KINDS = (
    EventKind.GIVEN,
    EventKind.SET_ASIDE,
    EventKind.FREED,
    EventKind.SENT,
    EventKind.RECEIVED,
    EventKind.SENT_BACK,
    EventKind.DELIVERED,
)
_SAME_DETAILS = ("batch", "version", "reason", "delivery", "set")
"""Events that differ in one of these are listed separately."""


@dataclass(frozen=True, slots=True)
class HistoryLine:
    """An event in a person's history. Where `is_undone`, it no longer counts, and the text says so."""

    at: datetime
    station: str
    text: str
    is_undone: bool = False


def history(shoot: Shoot, person_id: int) -> list[HistoryLine]:
    """Everything that concerns this person, in the order in which it happened: the roster, check-in, their
    deck cards up to the next holder, slates shown, overrides of their frames, and what became of their
    pictures after the shoot.

    Times are aware. Raises Problem when there is no such person.
    """
    with shoot.reading() as session:
        read_person(session, person_id, removed_too=True)
        events = _events(session, person_id)
        words = _EventTexts(session, person_id, events)
        return [
            HistoryLine(
                group[0].at,
                group[0].station,
                f"{text} (taken back)" if group[0].is_undone else text,
                group[0].is_undone,
            )
            for group in _together(events)
            if (text := words.of(group))
        ]


def _events(session: Session, person_id: int) -> list[Event]:
    """The person's own events, and those of cards that they held and of frames that were or are theirs."""
    own = read_events(session, person_id=person_id, undone_too=True)
    cards = {event.card_id for event in own if event.kind is EventKind.CARD_TIED}
    frames = {event.frame_id for event in own if event.frame_id is not None}
    frames |= set(session.exec(select(VerdictRow.frame_id).where(VerdictRow.person_id == person_id)))
    found = {event.id: event for event in own}
    if cards:
        assignments = read_events(session, (EventKind.CARD_TIED,), EventRow.card_id.in_(cards))
        found |= {event.id: event for event in _handed_on(assignments, person_id)}
    listed = sorted(frames)
    for start in range(0, len(listed), 500):
        on_frames = EventRow.frame_id.in_(listed[start : start + 500])
        found |= {event.id: event for event in read_events(session, (), on_frames, undone_too=True)}
    return sorted(found.values(), key=lambda event: (event.at, event.id))


def _handed_on(assignments: Iterable[Event], person_id: int) -> list[Event]:
    """The card assignments that took a card from this person."""
    holder: dict[int | None, int | None] = {}
    taken: list[Event] = []
    for tie in assignments:
        if tie.person_id != person_id and holder.get(tie.card_id) == person_id:
            taken.append(tie)
        holder[tie.card_id] = tie.person_id
    return taken


def _together(events: Iterable[Event]) -> list[list[Event]]:
    """Group decisions about several frames that were made together."""
    groups: list[list[Event]] = []
    for event in events:
        last = groups[-1][-1] if groups else None
        if (
            last is not None
            and event.kind in _GROUPED_KINDS
            and (event.kind, event.station, event.person_id) == (last.kind, last.station, last.person_id)
            and all(event.details.get(name) == last.details.get(name) for name in _SAME_DETAILS)
            and event.is_undone == last.is_undone
            and (event.at - last.at).total_seconds() < 1
        ):
            groups[-1].append(event)
        else:
            groups.append([event])
    return groups


class _EventTexts:
    """Words for events, with the names of cards, frames and other people looked up once."""

    def __init__(self, session: Session, person_id: int, events: list[Event]) -> None:
        self._person = person_id
        self._kinds = {event.id: event for event in events}
        self._was_listed = False
        cards = {event.card_id for event in events if event.card_id is not None}
        self._cards = dict(
            session.exec(select(DeckCard.id, DeckCard.number).where(DeckCard.id.in_(cards))).all()
        )
        others = {event.person_id for event in events if event.person_id not in (None, person_id)}
        self._names = dict(session.exec(select(Person.id, Person.name).where(Person.id.in_(others))).all())
        self._frames = _frame_names(
            session, {event.frame_id for event in events if event.frame_id is not None}
        )
        self._walk_in = bool(session.exec(select(Person.walk_in).where(Person.id == person_id)).one())

    def of(self, group: list[Event]) -> str:
        """The text of a group of events; empty where there is nothing to say."""
        event, details = group[0], group[0].details
        is_own = event.person_id == self._person
        frames = self._frames_of(group) if event.frame_id is not None else ""
        if event.kind in AFTERWARDS:
            text = picture_event_text(event.kind, details, frames)
            return text if is_own else f"{text} (for {self._name(event)})"
        match event.kind:
            case EventKind.LISTED:
                again, self._was_listed = self._was_listed or self._walk_in, True
                return "back on the client's list" if again else "on the client's list"
            case EventKind.CHANGED:
                return _change_text(details)
            case EventKind.CONFIRMED:
                return f"spelling confirmed: {_text(details, 'name')}"
            case EventKind.ARRIVED:
                came, number = "arrived as a walk-in" if self._walk_in else "arrived", details.get("sequence")
                return f"{came}, number {number}" if number else came
            case EventKind.CARD_TIED:
                card = f"deck card {self._cards.get(event.card_id or 0, '?')}"
                return f"{card} tied to them" if is_own else f"{card} handed on to {self._name(event)}"
            case EventKind.GIVEN:
                return f"{frames} given to {'them' if is_own else self._name(event)} by hand"
            case EventKind.UNDONE:
                return self._undone(event)
        return _PLAIN[event.kind].format(frames=frames)

    def _undone(self, event: Event) -> str:
        if REMOVED in event.details:
            return "walk-in taken back: not in the shoot any more, and the number is nobody's"
        kinds = [self._kinds[number].kind for number in event.details["undoes"] if number in self._kinds]
        what = ", ".join(dict.fromkeys(_UNDONE.get(kind, str(kind)) for kind in kinds))
        return f"taken back: {what or 'something of before'}"

    def _name(self, event: Event) -> str:
        return escaped(self._names.get(event.person_id or 0, "somebody else"), _LONGEST)

    def _frames_of(self, group: list[Event]) -> str:
        names = [self._frames.get(event.frame_id, "?") for event in group if event.frame_id is not None]
        if len(names) == 1:
            return f"frame {names[0]}"
        return f"{len(names)} frames, {names[0]} to {names[-1]},"


_PLAIN: Mapping[EventKind, str] = {
    EventKind.WITHDRAWN: "no longer on the client's list",
    EventKind.SLATE_SHOWN: "slate shown",
    EventKind.INGESTED: "",
    EventKind.SET_ASIDE: "{frames} set aside by hand",
    EventKind.FREED: "the decision by hand on {frames} taken back",
    EventKind.SPLIT: "a run split by hand at {frames}",
    EventKind.JOINED: "the run of {frames} joined to another by hand",
}

_UNDONE: Mapping[EventKind, str] = {
    EventKind.ARRIVED: "the arrival",
    EventKind.CARD_TIED: "the deck card",
    EventKind.CHANGED: "the correction",
    EventKind.CONFIRMED: "the confirmed spelling",
    EventKind.GIVEN: "frames given",
    EventKind.SET_ASIDE: "frames set aside",
    EventKind.PROOFED: "the proofs",
    EventKind.PICKED: "the picks",
    EventKind.SENT: "frames sent to retouch",
    EventKind.RECEIVED: "retouched files accepted",
    EventKind.SENT_BACK: "frames sent back",
    EventKind.DELIVERED: "the delivery",
    EventKind.REMINDED: "the reminder",
    EventKind.INVITED: "the mail about proofs",
}


def _change_text(details: Mapping[str, Any]) -> str:
    if details.get(CORRECTED_BY) == "hand":
        return f"corrected by hand: {_differences(details)}"
    if isinstance(details.get(LISTED), dict):
        return f"new on the client's list, the correction by hand stays: {_differences(details[LISTED])}"
    return f"changed by the client's list: {_differences(details)}"


def _differences(fields: Mapping[str, Any]) -> str:
    return "; ".join(
        f"{escaped(name)} {_value(change[0])} → {_value(change[1])}"
        for name, change in fields.items()
        if isinstance(change, list) and len(change) == 2
    )


def _value(text: object) -> str:
    return escaped(str(text), _LONGEST) or "nothing"


def _frame_names(session: Session, frames: set[int]) -> dict[int | None, str]:
    """Labels of frames: `A:1043`, or the file's name where there is no counter."""
    named: dict[int | None, str] = {}
    listed = sorted(frames)
    for start in range(0, len(listed), 500):
        rows = session.exec(
            select(Frame.id, Camera.label, Frame.counter, Frame.name)
            .join(Camera, Camera.id == Frame.camera_id)
            .where(Frame.id.in_(listed[start : start + 500]))
        )
        for frame, label, counter, name in rows:
            named[frame] = escaped(name if counter is None else counter_label(label, counter), _LONGEST)
    return named


# Events after the shoot


def picture_event_text(kind: EventKind, details: Mapping[str, Any], frames: str) -> str:
    """An event after the shoot in words. `frames` names its frames, such as "frame A:1043".

    >>> picture_event_text(EventKind.SENT, {"batch": "B1", "version": 2}, "frame A:1043")
    'frame A:1043 sent to retouch in batch B1, version 2'
    """
    version = f", version {details['version']}" if details.get("version", 1) != 1 else ""
    match kind:
        case EventKind.PROOFED:
            made = f"proofs made of {_counted(details.get('frames', ()))}"
            return made if details.get("page") else f"{made}, no page"
        case EventKind.PICKED:
            return _picked(details)
        case EventKind.BATCH:
            return f"batch {_text(details, 'batch')} sent to retouch"
        case EventKind.SENT:
            return f"{frames} sent to retouch in batch {_text(details, 'batch')}{version}"
        case EventKind.RECEIVED:
            return f"{frames} back from retouch in batch {_text(details, 'batch')}{version}"
        case EventKind.SENT_BACK:
            reason = _text(details, "reason")
            return f"{frames} to be retouched again{': ' + reason if reason else ''}"
        case EventKind.DELIVERED:
            number, name = details.get("delivery"), _text(details, "set")
            delivery = f", delivery {number}" if number else ""
            return f"{frames} delivered{delivery}{', set ' + name if name else ''}"
        case EventKind.INVITED:
            return "mail written that the proofs are ready"
    of = _text(details, "of")
    return f"reminder written{' of ' + of if of else ''}"


def _picked(details: Mapping[str, Any]) -> str:
    frames = details.get("frames", ())
    if not frames:
        return "picks taken back"
    notes = [str(note) for note in (details.get("note"), *dict(details.get("notes") or {}).values()) if note]
    text = f"picked {_counted(frames)}"
    if source := _text(details, "from"):
        text += f", from {source}"
    return text + (f"; note: {escaped('; '.join(notes), _LONGEST)}" if notes else "")


def _counted(frames: Any) -> str:
    return plural(len(frames), "frame")


def _text(details: Mapping[str, Any], name: str) -> str:
    return escaped(str(details.get(name) or ""), _LONGEST)
