"""Picks back from a file: read, and then kept person by person."""

from __future__ import annotations

from pathlib import Path

from onsite.problems import Problem
from onsite.progress.after import NOTHING_YET, read_after
from onsite.proofs.loaded import Loaded
from onsite.proofs.picks import Picks, keep_picks, went_before
from onsite.proofs.quoting import marked
from onsite.proofs.reading import Reading
from onsite.proofs.rows import Step, rows_in
from onsite.proofs.theirs import owners
from onsite.roster.people import people
from onsite.store.shoot import Shoot
from onsite.words import escaped
from onsite.wrap.current import stands

_NO_ANSWER = 50
"""Lines of which none is understood, from which a file is taken for a wrong one."""


def load_picks(shoot: Shoot, path: Path, station: str = "", step: Step | None = None) -> Loaded:
    """Takes picks from any file. What it says of a person takes the place of what they picked before.

    `step` is told how far the file is read. Raises Problem where the file cannot be read or names no pick at
    all.
    """
    owner = owners(stands(shoot))
    with shoot.reading() as session:
        reading = Reading.opened(session, shoot, owner)
    for row in marked(rows_in(path, step)):
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
        after = read_after(session)
        for someone in people(session):
            if someone.id in chosen:
                frames = chosen[someone.id]
                before = after.get(someone.id, NOTHING_YET)
                changed = keep_picks(
                    session, shoot, someone.id, frames, before,
                    notes=reading.notes, source=path.name, station=station,
                    note=reading.said.get(someone.id),
                )  # fmt: skip
                had = {pick.frame: pick.note for pick in before.picks}
                picks = tuple((reading.labels[f], reading.notes.get(f) or had.get(f, "")) for f in frames)
                said = reading.said.get(someone.id)
                note = before.note if said is None else said
                without_it = went_before(before, said, frames, reading.labels)
                loaded.people.append(Picks(someone, picks, changed, note=note, without_it=without_it))
    loaded.refused.first.sort()
    loaded.unsure.first.sort()
    return loaded
