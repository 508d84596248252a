"""Loads picks from a file: reads all of it, then records them person by person."""

from __future__ import annotations

from pathlib import Path

from onsite.core.errors import Problem
from onsite.core.progress import Progress, no_progress
from onsite.core.text import escaped
from onsite.picks.pick_load_result import LoadedPicks
from onsite.picks.pick_reader import PickReader
from onsite.picks.quoted_mail_lines import mark_quoted_lines
from onsite.picks.read_pick_file import rows_in
from onsite.picks.record_picks import PersonPicks, picks_sent_without_note, record_picks
from onsite.reconcile.current_match import current_verdicts
from onsite.reconcile.frame_ownership import frame_owners
from onsite.roster.read_people import read_people
from onsite.status.picture_status import NO_PICTURES, read_picture_statuses
from onsite.store.shoot import Shoot

_NO_ANSWER = 50
"""A file with more lines than this, none of them understood, is taken for the wrong file."""


def load_picks(shoot: Shoot, path: Path, station: str = "", progress: Progress = no_progress) -> LoadedPicks:
    """Loads picks from any file. What it says of a person replaces their earlier picks.

    Raises Problem where the file cannot be read or names no pick at all.
    """
    owner = frame_owners(current_verdicts(shoot))
    with shoot.reading() as session:
        reading = PickReader.opened(session, shoot, owner)
    for row in mark_quoted_lines(rows_in(path, progress)):
        reading.take(row)
    loaded = reading.loaded
    chosen = reading.chosen()
    other = loaded.unsure.count - loaded.not_understood
    if not (chosen or loaded.refused.count or other or 0 < loaded.not_understood <= _NO_ANSWER):
        raise Problem(
            f"{escaped(path.name)} names no frame and holds no pick code.",
            "A row needs a pick code, a file's name, a label such as A:1043, or a frame's id.",
        )
    with shoot.writing() as session:
        after = read_picture_statuses(session)
        for person in read_people(session):
            if person.id in chosen:
                frames = chosen[person.id]
                before = after.get(person.id, NO_PICTURES)
                changed = record_picks(
                    session, shoot, person.id, frames, before,
                    notes=reading.notes, source=path.name, station=station,
                    note=reading.said.get(person.id),
                )  # fmt: skip
                had = {pick.frame: pick.note for pick in before.picks}
                picks = tuple((reading.labels[f], reading.notes.get(f) or had.get(f, "")) for f in frames)
                said = reading.said.get(person.id)
                note = before.note if said is None else said
                without_it = picks_sent_without_note(before, said, frames, reading.labels)
                loaded.people.append(PersonPicks(person, picks, changed, note=note, without_it=without_it))
    loaded.refused.first.sort()
    loaded.unsure.first.sort()
    return loaded
