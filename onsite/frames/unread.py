"""Slates that were seen and did not read, looked at again once the shoot has more codes to compare them with.

So a roster that was loaded after the frames, and walk-ins who were added later, still help.
"""

from __future__ import annotations

import os
from collections.abc import Collection, Iterable
from concurrent.futures import ThreadPoolExecutor
from functools import partial

from sqlmodel import Session, col, or_, select

from onsite.frames.codes import CodeSet
from onsite.frames.examine import ExaminedFile, examine_file
from onsite.frames.found import CandidateFile
from onsite.frames.writing import FEW, save_symbols
from onsite.store.record import EventKind, add_event
from onsite.store.shoot import Shoot
from onsite.store.tables import File, FilePlace, Frame, SymbolReading

_Unread = dict[str, tuple[int, str]]
"""By path: a frame with a slate that did not read, and the hash of its file there."""


def reread_slates(
    shoot: Shoot,
    candidates: Iterable[CandidateFile],
    paths: Collection[str],
    codes: CodeSet,
    workers: int | None = None,
) -> int:
    """Looks again at those of these files whose frame has a slate that did not read when there were fewer
    codes. Returns of how many frames more reads now: only their symbols are replaced, whatever else is known
    or was decided of them stays."""
    with shoot.reading() as session:
        unread = _unread(session, paths, codes.count)
    if not unread:
        return 0
    chosen: dict[int, CandidateFile] = {}
    for candidate in sorted(candidates, key=lambda unread_file: unread_file.has_raw_partner):
        there = unread.get(str(candidate.path.resolve()))
        if there is not None:
            chosen.setdefault(there[0], candidate)
    read = 0
    with ThreadPoolExecutor(workers or os.cpu_count() or 1, thread_name_prefix="examine") as pool:
        for frame_id, outcome in zip(
            chosen, pool.map(partial(examine_file, known=codes.slates), chosen.values()), strict=True
        ):
            if isinstance(outcome, ExaminedFile) and outcome.looked:
                _, sha256 = unread[str(outcome.candidate.path.resolve())]
                read += outcome.sha256 == sha256 and _take(shoot, frame_id, outcome, codes.count)
    return read


def _unread(session: Session, paths: Collection[str], codes: int) -> _Unread:
    """The frames at these paths; where they are many, all."""
    wanted = (
        select(FilePlace.path, File.frame_id, File.sha256)
        .where(FilePlace.file_id == File.id, File.frame_id == Frame.id, SymbolReading.frame_id == Frame.id)
        .where(col(SymbolReading.text).is_(None), or_(col(Frame.codes).is_(None), col(Frame.codes) < codes))
    )
    if len(paths) <= FEW:
        wanted = wanted.where(col(FilePlace.path).in_(paths))
    return {path: (frame_id, sha256) for path, frame_id, sha256 in session.exec(wanted)}


def _take(shoot: Shoot, frame_id: int, outcome: ExaminedFile, codes: int) -> bool:
    """Keeps the symbols where one more reads; that it was looked at, in any case."""
    now = {symbol.text for symbol in outcome.symbols if symbol.text is not None}
    with shoot.writing() as session:
        frame = session.get_one(Frame, frame_id)
        rows = session.exec(select(SymbolReading.text).where(SymbolReading.frame_id == frame_id))
        reads_more = {text for text in rows if text is not None} < now
        if reads_more:
            save_symbols(session, frame, outcome.symbols, codes)
            add_event(
                session,
                EventKind.INGESTED,
                shoot.now(),
                frames=0,
                files=0,
                folders=[str(outcome.candidate.root)],
            )
        else:
            frame.codes = codes
            session.add(frame)
    return reads_more
