"""A person's picks, in the record."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlmodel import Session

from onsite.frames.called import frame_labels
from onsite.problems import Problem
from onsite.progress.after import NOTHING_YET, After, read_after
from onsite.proofs.called import read_frame_names
from onsite.proofs.theirs import not_theirs, owners
from onsite.proofs.words import note_of
from onsite.roster.find import Someone
from onsite.roster.lookup import Lookup
from onsite.roster.people import people
from onsite.store.record import Kind, add
from onsite.store.shoot import Shoot
from onsite.wrap.current import stands


@dataclass(frozen=True, slots=True)
class Picks:
    """What one person has picked now: (label, note) of each, and their `note` to all of them. `changed` where
    that is news; `gone` are (label, what it is now) of picks that are theirs no longer, `without_it` (label,
    batch) of those that went out to be retouched before this note."""

    person: Someone
    picks: tuple[tuple[str, str], ...]
    changed: bool = False
    at: datetime | None = None
    note: str = ""
    gone: tuple[tuple[str, str], ...] = ()
    without_it: tuple[tuple[str, str], ...] = ()


def keep_picks(
    session: Session,
    shoot: Shoot,
    person_id: int,
    frames: Sequence[int],
    before: After,
    *,
    notes: Mapping[int, str],
    source: str,
    station: str,
    note: str | None = None,
    in_order: bool = False,
) -> bool:
    """Notes that from now on these are the person's picks, unless they are already; True where it is news.
    Another order is news where somebody chose it (`in_order`); the rows of a file may lie in any.

    A frame that stays picked keeps its note where no other is given; so does the note to all of them. What
    was picked before stays in the record.
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
    add(session, Kind.PICKED, shoot.now(), station=station, person_id=person_id, **details)
    return True


def more_than_agreed(count: int, agreed: int) -> str:
    return (
        f"{count} {'pick' if count == 1 else 'picks'}, and {agreed} {'is' if agreed == 1 else 'are'} agreed"
    )


def too_many(count: int, agreed: int, remedy: str, name: str = "") -> Problem:
    """The refusal of more picks than were agreed, of somebody's if a name is given."""
    return Problem(f"{name}{': ' if name else ''}{more_than_agreed(count, agreed)}.", remedy)


def choose_picks(
    shoot: Shoot, person_id: int, frames: Sequence[int], before: After, *, source: str, station: str = ""
) -> bool:
    """From now on these frames are the person's picks, chosen over `before`; True where that is news.

    Raises Problem, and changes nothing, where a frame is not theirs, where more are chosen than agreed, or
    where their picks came from elsewhere meanwhile: the newer word is not lost under the older one.
    """
    owner = owners(stands(shoot))
    agreed = shoot.settings.agreed.picks
    had = {pick.frame for pick in before.picks}
    with shoot.writing() as session:
        person = next(someone for someone in people(session) if someone.id == person_id)
        labels = frame_labels(session)
        for frame in frames:
            _one_of_theirs(labels.get(frame, f"f{frame}"), frozenset([frame]), owner, person)
        if len(frames) > agreed and not had.issuperset(frames):  # taking some out is always right
            raise too_many(len(frames), agreed, "Take one out first.", person.name)
        now = read_after(session, [person_id]).get(person_id, NOTHING_YET)
        if (now.picked, now.note, _noted(now)) != (before.picked, before.note, _noted(before)):
            raise Problem(
                f"{person.name}: their picks have just come from elsewhere, nothing was kept.", "Look again."
            )
        return keep_picks(
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


def _noted(after: After) -> list[tuple[int, str]]:
    return [(pick.frame, pick.note) for pick in after.picks]


def add_picks(
    shoot: Shoot,
    who: str,
    texts: Sequence[str],
    station: str = "",
    note: str | None = None,
    instead: bool = False,
) -> Picks:
    """Adds to somebody's picks; `instead` puts them in the place of what was picked before.

    Raises Problem, and changes nothing, where a text is not one frame of theirs, or more than agreed would be
    picked.
    """
    owner = owners(stands(shoot))
    agreed = shoot.settings.agreed.picks
    with shoot.writing() as session:
        person = Lookup(people(session)).who(who)
        labels = frame_labels(session)
        names = read_frame_names(session, labels)
        wanted: dict[int, None] = {}
        for text in texts:
            fits = names.meant(text) or [frames for frames in [names.numbered(text)] if frames]
            if not fits:
                raise Problem(
                    f"No frame is called {text!r}.",
                    "Use a label such as A:1043, a file name, or an id (f12).",
                )
            for fit in fits:
                wanted[_one_of_theirs(text, fit, owner, person)] = None
        before = read_after(session, [person.id]).get(person.id, NOTHING_YET)
        had = [] if instead else [pick.frame for pick in before.picks]
        frames = list(dict.fromkeys([*had, *wanted]))
        if len(frames) > agreed:
            remedy = "With --instead they take the place of those before." if had else "Name fewer."
            raise too_many(len(frames), agreed, remedy, person.name)
        note = None if note is None else note_of([note])[0]
        changed = keep_picks(
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
        return Picks(
            person,
            tuple((labels[frame], notes.get(frame, "")) for frame in frames),
            changed,
            note=before.note if note is None else note,
            without_it=went_before(before, note, frames, labels),
        )


def went_before(
    before: After, note: str | None, frames: Collection[int], labels: Mapping[int, str]
) -> tuple[tuple[str, str], ...]:
    """(label, batch) of the picks among `frames` that went out already, where a note to all is news."""
    if not note or note == before.note:
        return ()
    return tuple(
        (labels[pick.frame], pick.batch)
        for pick in before.picks
        if pick.sent is not None and pick.frame in frames
    )


def _one_of_theirs(text: str, fit: frozenset[int], owner: Mapping[int, int], person: Someone) -> int:
    theirs = [frame for frame in fit if owner.get(frame) == person.id]
    if len(theirs) == 1:
        return theirs[0]
    if theirs:
        raise Problem(
            f"{text!r} is the name of {len(theirs)} frames of {person.name}.", "Name it by its id (f12)."
        )
    raise Problem(f"{text!r} is not a frame of {person.name}.", "See whose it is: onsite frames why FRAME")


def list_picks(shoot: Shoot) -> list[Picks]:
    """Everybody who has had proofs or has picked, with what they picked."""
    decided = stands(shoot)
    with shoot.reading() as session:
        labels = frame_labels(session)
        after = read_after(session)
        everybody = people(session)
        names = {someone.id: someone.name for someone in everybody}
        return [
            Picks(
                someone,
                tuple((labels.get(pick.frame, ""), pick.note) for pick in theirs.picks),
                at=theirs.picked,
                note=theirs.note,
                gone=tuple(
                    (
                        labels.get(pick.frame, ""),
                        now + (f", and out with {pick.batch}" if pick.at_retouch else ""),
                    )
                    for pick in theirs.picks
                    if (now := not_theirs(decided.get(pick.frame), someone.id, names))
                ),
            )
            for someone in everybody
            if (theirs := after.get(someone.id)) is not None and (theirs.proofed or theirs.picks)
        ]
