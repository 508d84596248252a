"""Projections: what readers ask of the event log again and again, as tables of their own.

They follow from the table `event` alone, which stays the only record. `project_new_events` brings them up to
date in the transaction that adds events; `rebuild_projections` makes them again from the whole log. Both fold
with the same functions, which read all events of the people and deck cards concerned.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from typing import Any

from sqlalchemy import delete, insert, select
from sqlmodel import Session, SQLModel

from onsite.store.events import IS_UNDONE, REMOVED, Event, EventKind, newest_event_id, read_events
from onsite.store.schema import CardHolder, EventRow, PersonState, UndoneEvent

NEWEST = "newest event"
"""Key in the information of a session: the id of the newest event that it has written."""

_PER_QUERY = 5_000
"""Ids in one query; SQLite takes 32,766 at most."""

State = dict[str, Any]
"""A row of `PersonState`: making objects takes longer than all else."""


def project_new_events(session: Session, _flushing: object) -> None:
    """Brings the projections up to date with the events of a flush; a listener of `after_flush`."""
    new = [row for row in session.new if isinstance(row, EventRow)]
    if not new:
        return
    session.info[NEWEST] = max(row.id for row in new)
    flipped = _project_undone(session) if any(row.kind == EventKind.UNDONE for row in new) else set()
    concerned = [(row.person_id, row.card_id) for row in new]
    for ids in _pieces(flipped):
        wanted = select(EventRow.person_id, EventRow.card_id).where(EventRow.id.in_(ids))
        concerned += session.execute(wanted)
    people, cards = ({key for key in keys if key is not None} for keys in zip(*concerned, strict=True))
    _project(session, people, cards, session.info[NEWEST])


def rebuild_projections(session: Session) -> None:
    """Makes the projections again from the whole log, their tables too where they are missing.

    Screens that are open read a person again with the next event about them.
    """
    tables = (UndoneEvent, PersonState, CardHolder)
    SQLModel.metadata.create_all(
        session.connection(), [SQLModel.metadata.tables[t.__tablename__] for t in tables]
    )
    for table in tables:
        session.execute(delete(table))
    _project_undone(session)
    people, cards = (
        {key for key in session.scalars(select(column).distinct()) if key is not None}
        for column in (EventRow.person_id, EventRow.card_id)
    )
    _project(session, people, cards, newest_event_id(session))


def _project_undone(session: Session) -> set[int]:
    """Brings `undone` up to date; returns the events that count now and did not before, or the reverse."""
    undone: set[int] = set()
    undos = select(EventRow.id, EventRow.details).where(EventRow.kind == EventKind.UNDONE.value)
    for undo, details in session.execute(undos.order_by(EventRow.id.desc())):
        if undo not in undone:  # an undo that was itself undone undoes nothing
            undone.update(details["undoes"])
    before = set(session.scalars(select(UndoneEvent.event_id)))
    for ids in _pieces(before - undone):
        session.execute(delete(UndoneEvent).where(UndoneEvent.event_id.in_(ids)))
    if undone - before:
        session.execute(insert(UndoneEvent), [{"event_id": event} for event in sorted(undone - before)])
    return before ^ undone


def _project(session: Session, people: Collection[int], cards: Collection[int], newest: int) -> None:
    """Brings the rows of these people and deck cards up to date, and those of the cards' holders."""
    concerned = set(people)
    for ids in _pieces(cards):
        concerned |= _project_holders(session, ids)
    for ids in _pieces(concerned):
        _project_states(session, ids, newest)


def _project_holders(session: Session, cards: Collection[int]) -> set[int]:
    """Brings the holders of these cards up to date; returns the people who held or hold one."""
    people = set(session.scalars(select(CardHolder.person_id).where(CardHolder.card_id.in_(cards))))
    assignments = (
        select(EventRow.card_id, EventRow.person_id, EventRow.at, EventRow.id)
        .where(EventRow.card_id.in_(cards), EventRow.person_id.is_not(None), ~IS_UNDONE)
        .order_by(EventRow.at, EventRow.id)
    )
    last = {row.card_id: row for row in session.execute(assignments)}
    session.execute(delete(CardHolder).where(CardHolder.card_id.in_(cards)))
    if last:
        names = ("card_id", "person_id", "since", "event_id")
        session.execute(insert(CardHolder), [dict(zip(names, row, strict=True)) for row in last.values()])
    return people | {row.person_id for row in last.values()}


_NOTHING: State = {
    "withdrawn": False,
    "removed": False,
    "arrived": None,
    "station": "",
    "arrival": None,
    "shown": None,
    "confirmed": None,
}
"""The state of a person of whom the events say nothing."""


def _project_states(session: Session, people: Collection[int], newest: int) -> None:
    """Brings the states of these people up to date.

    With the kinds in the query as well, SQLite might read the events of everybody by their kind.
    """
    states: dict[int | None, State] = {
        person: {"person_id": person, "changed": newest, **_NOTHING} for person in people
    }
    for event in read_events(session, (), EventRow.person_id.in_(people)):
        _apply(states[event.person_id], event)
    session.execute(delete(PersonState).where(PersonState.person_id.in_(people)))
    session.execute(insert(PersonState), list(states.values()))


def _apply(state: State, event: Event) -> None:
    """Applies the next event of a person to their state."""
    match event.kind:
        case EventKind.LISTED | EventKind.WITHDRAWN:
            state["withdrawn"] = event.kind is EventKind.WITHDRAWN
        case EventKind.ARRIVED if state["arrival"] is None:
            state |= {"arrived": event.at, "station": event.station, "arrival": event.id}
        case EventKind.SLATE_SHOWN:
            state["shown"] = max(state["shown"] or event.at, event.at)  # typed in later, with their time
        case EventKind.CONFIRMED:
            state["confirmed"] = event.details.get("name")
        case EventKind.UNDONE if REMOVED in event.details:
            state["removed"] = True


def _pieces(ids: Iterable[int]) -> Iterator[list[int]]:
    """The ids, a few thousand at a time."""
    listed = sorted(ids)
    return (listed[start : start + _PER_QUERY] for start in range(0, len(listed), _PER_QUERY))
