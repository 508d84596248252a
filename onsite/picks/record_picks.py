"""Records a person's picks, and lists everybody's."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlmodel import Session

from onsite.core.errors import Problem
from onsite.core.frame_ref import frame_id_text
from onsite.core.text import plural
from onsite.frames.find_frames import FrameIndex, frame_labels, read_frame_index
from onsite.picks.notes_in_mail import note_of
from onsite.reconcile.current_match import current_verdicts
from onsite.reconcile.frame_ownership import frame_owners, not_owned_reason
from onsite.roster.find_people import RosterPerson
from onsite.roster.person_lookup import PersonLookup
from onsite.roster.read_people import read_people
from onsite.status.picture_status import NO_PICTURES, PictureStatus, read_picture_statuses
from onsite.store.events import EventKind, add_event
from onsite.store.shoot import Shoot


@dataclass(frozen=True, slots=True)
class PersonPicks:
    """The present picks of one person."""

    person: RosterPerson
    picks: tuple[tuple[str, str], ...]  # (label, note)
    changed: bool = False  # the picks or their notes are new
    at: datetime | None = None
    note: str = ""  # to all of their picks
    removed: tuple[tuple[str, str], ...] = ()  # (label, what it is now) of frames they no longer own
    without_it: tuple[tuple[str, str], ...] = ()  # (label, batch) of picks sent to retouch before the note


def record_picks(
    session: Session,
    shoot: Shoot,
    person_id: int,
    frames: Sequence[int],
    before: PictureStatus,
    *,
    notes: Mapping[int, str],
    source: str,
    station: str,
    note: str | None = None,
    in_order: bool = False,
) -> bool:
    """Records these frames as the person's picks, unless they are already; returns whether anything changed.

    Another order is a change where a person chose it (`in_order`); the rows of a file may come in any order.
    A frame that stays picked keeps its note where no new one is given; so does the note to all of them.
    Earlier picks stay in the record.
    """
    kept = {pick.frame: pick.note for pick in before.picks}
    all_notes = {frame: notes.get(frame) or kept.get(frame, "") for frame in frames}
    note = before.note if note is None else note
    same = list(kept) == list(frames) if in_order else set(kept) == set(frames)
    if same and all_notes == kept and note == before.note:
        return False
    details: dict[str, Any] = {
        "frames": list(frames),
        "notes": {str(frame): text for frame, text in all_notes.items() if text},
        "note": note,
        "from": source,
    }
    add_event(session, EventKind.PICKED, shoot.now(), station=station, person_id=person_id, **details)
    return True


def more_than_agreed(count: int, agreed: int) -> str:
    """The text that says that there are more picks than agreed."""
    return f"{plural(count, 'pick')}, and {plural(agreed, 'is', 'are')} agreed"


def too_many(count: int, agreed: int, remedy: str, name: str = "") -> Problem:
    """The Problem for more picks than agreed; `name` is the person's, if it should be said."""
    return Problem(f"{name}{': ' if name else ''}{more_than_agreed(count, agreed)}.", remedy)


def choose_picks(
    shoot: Shoot,
    person_id: int,
    frames: Sequence[int],
    before: PictureStatus,
    *,
    source: str,
    station: str = "",
) -> bool:
    """Replaces the person's picks by `frames`, chosen while `before` was shown; returns whether they changed.

    Raises Problem, and changes nothing, where a frame is not the person's, where more are chosen than agreed,
    or where newer picks arrived since `before`: they must not be overwritten.
    """
    owner = frame_owners(current_verdicts(shoot))
    agreed = shoot.settings.agreed.picks
    had = {pick.frame for pick in before.picks}
    with shoot.writing() as session:
        person = next(chooser for chooser in read_people(session) if chooser.id == person_id)
        labels = frame_labels(session)
        for frame in frames:
            _owned_frame(labels.get(frame, frame_id_text(frame)), frozenset([frame]), owner, person)
        if len(frames) > agreed and not had.issuperset(frames):  # removing picks is always allowed
            raise too_many(len(frames), agreed, "Take one out first.", person.name)
        now = read_picture_statuses(session, [person_id]).get(person_id, NO_PICTURES)
        if (now.picked, now.note, _noted(now)) != (before.picked, before.note, _noted(before)):
            raise Problem(
                f"{person.name}: their picks have just come from elsewhere, nothing was kept.", "Look again."
            )
        return record_picks(
            session,
            shoot,
            person_id,
            frames,
            now,
            notes={},
            source=source,
            station=station,
            note=None if frames else "",
            in_order=True,
        )


def _noted(after: PictureStatus) -> list[tuple[int, str]]:
    return [(pick.frame, pick.note) for pick in after.picks]


def add_picks(
    shoot: Shoot,
    who: str,
    texts: Sequence[str],
    station: str = "",
    note: str | None = None,
    instead: bool = False,
) -> PersonPicks:
    """Adds to a person's picks; `instead` replaces their earlier picks.

    Raises Problem, and changes nothing, where a text does not refer to exactly one frame of the person, or
    where they would have more picks than agreed.
    """
    owner = frame_owners(current_verdicts(shoot))
    agreed = shoot.settings.agreed.picks
    with shoot.writing() as session:
        person = PersonLookup(read_people(session)).resolve(who)
        labels = frame_labels(session)
        wanted = _owned_frames(read_frame_index(session), texts, owner, person)
        before = read_picture_statuses(session, [person.id]).get(person.id, NO_PICTURES)
        had = [] if instead else [pick.frame for pick in before.picks]
        frames = list(dict.fromkeys([*had, *wanted]))
        if len(frames) > agreed:
            remedy = "With --instead they take the place of those before." if had else "Name fewer."
            raise too_many(len(frames), agreed, remedy, person.name)
        note = None if note is None else note_of([note])[0]
        changed = record_picks(
            session,
            shoot,
            person.id,
            frames,
            before,
            notes={},
            source="by hand",
            station=station,
            note=note,
            in_order=True,
        )
        notes = {pick.frame: pick.note for pick in before.picks}
        return PersonPicks(
            person,
            tuple((labels[frame], notes.get(frame, "")) for frame in frames),
            changed,
            note=before.note if note is None else note,
            without_it=picks_sent_without_note(before, note, frames, labels),
        )


def picks_sent_without_note(
    before: PictureStatus, note: str | None, frames: Collection[int], labels: Mapping[int, str]
) -> tuple[tuple[str, str], ...]:
    """(label, batch) of the picks among `frames` that were sent out before a new `note` to all of them."""
    if not note or note == before.note:
        return ()
    return tuple(
        (labels[pick.frame], pick.batch)
        for pick in before.picks
        if pick.sent is not None and pick.frame in frames
    )


def _owned_frames(
    index: FrameIndex, texts: Sequence[str], owner: Mapping[int, int], person: RosterPerson
) -> list[int]:
    """The frames of the person that the texts refer to. Raises Problem where one is not theirs."""
    owned: dict[int, None] = {}
    for text in texts:
        fits = index.resolve(text) or [frames for frames in [index.numbered(text)] if frames]
        if not fits:
            raise Problem(
                f"No frame is called {text!r}.", "Use a label such as A:1043, a file name, or an id (f12)."
            )
        owned |= dict.fromkeys(_owned_frame(text, fit, owner, person) for fit in fits)
    return list(owned)


def _owned_frame(text: str, fit: frozenset[int], owner: Mapping[int, int], person: RosterPerson) -> int:
    owned = [frame for frame in fit if owner.get(frame) == person.id]
    if len(owned) == 1:
        return owned[0]
    if owned:
        raise Problem(
            f"{text!r} is the name of {len(owned)} frames of {person.name}.", "Name it by its id (f12)."
        )
    raise Problem(f"{text!r} is not a frame of {person.name}.", "See whose it is: onsite frames why FRAME")


def read_picks(shoot: Shoot) -> list[PersonPicks]:
    """The picks of everybody who has had proofs or has picked."""
    decided = current_verdicts(shoot)
    with shoot.reading() as session:
        labels = frame_labels(session)
        after = read_picture_statuses(session)
        everybody = read_people(session)
        names = {person.id: person.name for person in everybody}
        return [
            PersonPicks(
                person,
                tuple((labels.get(pick.frame, ""), pick.note) for pick in status.picks),
                at=status.picked,
                note=status.note,
                removed=tuple(
                    (
                        labels.get(pick.frame, ""),
                        now + (f", and out with {pick.batch}" if pick.at_retouch else ""),
                    )
                    for pick in status.picks
                    if (now := not_owned_reason(decided.get(pick.frame), person.id, names))
                ),
            )
            for person in everybody
            if (status := after.get(person.id)) is not None and (status.proofed or status.picks)
        ]
