"""Looking again at frames whose colour signature an earlier version of the program recorded. Only when asked:
signatures of different versions do not compare, and an older shoot's names stand as they are until then.
"""

from __future__ import annotations

import os
from collections.abc import Collection, Iterable
from concurrent.futures import ThreadPoolExecutor

from sqlmodel import Session, col, select

from onsite.core.colour_signature import VERSION, version_of
from onsite.frames.examine_frame import ExaminedFile, examine_file
from onsite.frames.find_frame_files import CandidateFile
from onsite.frames.save_frames import FEW
from onsite.store.events import EventKind, add_event
from onsite.store.schema import File, FilePlace, Frame
from onsite.store.shoot import Shoot

_Older = dict[str, tuple[int, str]]
"""By path: the id of a frame with an older signature, and the SHA-256 of its file."""


def remeasure_colours(
    shoot: Shoot, candidates: Iterable[CandidateFile], paths: Collection[str], workers: int | None = None
) -> int:
    """Examine again the files whose frame has a colour signature of an earlier version.

    Returns the number of frames with a new signature. Everything else known or decided about them stays.
    """
    with shoot.reading() as session:
        older = _older(session, paths)
    chosen: dict[int, CandidateFile] = {}
    for candidate in sorted(candidates, key=lambda file: file.has_picture_partner):
        if (there := older.get(str(candidate.path.resolve()))) is not None:
            chosen.setdefault(there[0], candidate)
    if not chosen:
        return 0
    read = 0
    with ThreadPoolExecutor(workers or os.cpu_count() or 1, thread_name_prefix="examine") as pool:
        for frame_id, outcome in zip(chosen, pool.map(examine_file, chosen.values()), strict=True):
            if isinstance(outcome, ExaminedFile) and outcome.look is not None:
                _, sha256 = older[str(outcome.candidate.path.resolve())]
                read += outcome.sha256 == sha256 and _take(shoot, frame_id, outcome)
    return read


def _older(session: Session, paths: Collection[str]) -> _Older:
    """Return the frames with an older signature at these paths, or at all paths where there are many."""
    wanted = select(FilePlace.path, File.frame_id, File.sha256, Frame.look).where(
        FilePlace.file_id == File.id, File.frame_id == Frame.id, col(Frame.look).is_not(None)
    )
    if len(paths) <= FEW:
        wanted = wanted.where(col(FilePlace.path).in_(paths))
    return {
        path: (frame_id, sha256)
        for path, frame_id, sha256, look in session.exec(wanted)
        if look is not None and version_of(look) != VERSION
    }


def _take(shoot: Shoot, frame_id: int, outcome: ExaminedFile) -> bool:
    """Store the new signature, and record that a match may now differ."""
    with shoot.writing() as session:
        frame = session.get_one(Frame, frame_id)
        frame.look = outcome.look
        session.add(frame)
        folders = [str(outcome.candidate.root)]
        add_event(session, EventKind.INGESTED, shoot.now(), frames=0, files=0, folders=folders)
    return True
