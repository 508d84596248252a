"""Undo at the desk: a station takes back what it did last after the shoot, and nothing of another station."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from sqlmodel import Session, select

from onsite.core.errors import Problem
from onsite.core.text import escaped, plural
from onsite.frames.find_frames import frame_labels
from onsite.retouch.retouch_folder import HeldFile, held_files, retouch_lock, save_held_files
from onsite.roster.read_people import read_people
from onsite.store.events import AFTERWARDS, Event, EventKind, add_event, read_events
from onsite.store.schema import EventRow, PersonState
from onsite.store.shoot import Shoot

_MAILS = (EventKind.REMINDED, EventKind.INVITED)
"""Nothing that happens later rests on these: they can always be taken back."""

_SENDING = (EventKind.BATCH, EventKind.SENT)
"""The events of a batch that goes out."""

_STAYS = {EventKind.PROOFED: "made proofs", EventKind.DELIVERED: "delivered files"}
"""What is not taken back: the files are made, and may be with people by now."""


def undo_after_shoot(shoot: Shoot, station: str) -> str:
    """Take back what `station` did last after the shoot. Returns what was taken back, in words.

    That is picks, mails, a batch that went out, or a decision on returned files, which wait for a look again.
    Files that were written stay. Raises Problem, and changes nothing, where the station did nothing that
    counts, where the last of it made proofs or delivered, and where something happened since with the same
    people's pictures.
    """
    with retouch_lock(shoot), shoot.writing() as session:
        act = _last_act(session, station)
        kind = act[-1].kind
        if kind in _STAYS:
            raise Problem(
                f"This station {_STAYS[kind]} last. That cannot be undone.",
                "What was written can be deleted, and made again.",
            )
        people = {event.person_id for event in act if event.person_id is not None}
        if kind not in _MAILS:
            _refuse_later(session, act, people)
        add_event(session, EventKind.UNDONE, shoot.now(), station=station, undoes=[event.id for event in act])
        said = _said(session, act, people)
        _hold_again(shoot, act)
    return said


def _last_act(session: Session, station: str) -> list[Event]:
    """The events of the last act of a station after the shoot: those of one moment."""
    forgotten = set(session.exec(select(PersonState.person_id).where(PersonState.removed)))
    done = read_events(session, AFTERWARDS, EventRow.station == station)
    own = [event for event in done if event.person_id not in forgotten]
    if not own:
        raise Problem("Nothing is left to undo at this station.", "What another station did is undone there.")
    last = max(own, key=lambda event: event.id)
    kinds = _SENDING if last.kind in _SENDING else (last.kind,)
    return [event for event in own if event.at == last.at and event.kind in kinds]


def _refuse_later(session: Session, act: Sequence[Event], people: set[int]) -> None:
    """Raises Problem where something happened after the act with these people's pictures."""
    ids, last = {event.id for event in act}, max(event.id for event in act)
    for event in read_events(session, AFTERWARDS, EventRow.id > last):
        if event.person_id in people and event.id not in ids and event.kind not in _MAILS:
            name = _names(session)[event.person_id or 0]
            where = f" at {escaped(event.station)}" if event.station else ""
            raise Problem(
                f"Something happened with {escaped(name)} after that{where}: {event.kind.value}.",
                "Undo that first.",
            )


def _said(session: Session, act: Sequence[Event], people: set[int]) -> str:
    names = _names(session)
    kind = act[-1].kind
    whose = names[next(iter(people))] if len(people) == 1 else plural(len(people), "person", "people")
    if kind is EventKind.PICKED:
        return f"{whose}: the last picks no longer count"
    if kind in _MAILS:
        return f"{whose}: not reminded any more. The mails written stay in their folder; delete them"
    if kind in _SENDING:
        batch = next(event for event in act if event.kind is EventKind.BATCH).details
        return f"{batch['batch']} is taken back. Its files stay in {batch['folder']}; delete them"
    labels = frame_labels(session)
    frames = sorted({labels[event.frame_id] for event in act if event.frame_id is not None})
    which = frames[0] if len(frames) == 1 else plural(len(frames), "returned file")
    if kind is EventKind.RECEIVED:
        return f"{which}: not accepted any more"
    return f"{which}: no longer sent back; it waits to be looked at"


def _names(session: Session) -> dict[int, str]:
    return {person.id: person.name for person in read_people(session, removed_too=True)}


def _hold_again(shoot: Shoot, act: Sequence[Event]) -> None:
    """Have the returned files of an undone decision wait for a look again."""
    accepted = [event for event in act if event.kind is EventKind.RECEIVED]
    rejected = {
        (event.frame_id, event.details.get("version")) for event in act if event.kind is EventKind.SENT_BACK
    }
    if not accepted and not rejected:
        return
    held = [
        replace(file, sent_back=file.sent_back and (file.frame, file.version) not in rejected)
        for file in held_files(shoot)
    ]
    save_held_files(shoot, [*held, *(_held(shoot.folder, event) for event in accepted)])


def _held(folder: Path, event: Event) -> HeldFile:
    """The accepted file of an event, to be looked at again."""
    details = event.details
    return HeldFile(
        event.frame_id or 0,
        event.person_id or 0,
        details["batch"],
        details["version"],
        str((folder / details["file"]).resolve()),
        details["sha256"],
        "it was accepted, and that was taken back",
    )
