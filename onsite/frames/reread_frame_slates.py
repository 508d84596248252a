"""Reading unread slates again once the shoot has more codes, and the set of codes to compare with.

So a roster loaded after the frames, and walk-ins added later, still help.
"""

from __future__ import annotations

import os
from collections.abc import Collection, Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from sqlmodel import Session, func, or_, select

from onsite.core.codes import PROJECT_MARK
from onsite.frames.examine_frame import ExaminedFile, examine_file
from onsite.frames.find_frame_files import CandidateFile
from onsite.frames.save_frames import FEW, save_symbols
from onsite.store.events import EventKind, add_event
from onsite.store.schema import DeckCard, File, FilePlace, Frame, Person, SymbolReading
from onsite.store.shoot import Shoot

if TYPE_CHECKING:
    from onsite.slates.reader.closed_set import KnownSlates


_Unread = dict[str, tuple[int, str]]
"""By path: the id of a frame with an unread slate, and the SHA-256 of its file."""


def reread_slates(
    shoot: Shoot,
    candidates: Iterable[CandidateFile],
    paths: Collection[str],
    codes: CodeSet,
    workers: int | None = None,
) -> int:
    """Examine again the files whose frame has a slate that did not read when there were fewer codes.

    Returns the number of frames with a new reading. Only their symbols are replaced; everything else known or
    decided about them stays.
    """
    with shoot.reading() as session:
        unread = _unread(session, paths, codes.count)
    if not unread:
        return 0
    chosen: dict[int, CandidateFile] = {}
    for candidate in sorted(candidates, key=lambda unread_file: unread_file.has_picture_partner):
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
    """Return the frames with unread slates at these paths, or at all paths where there are many."""
    wanted = (
        select(FilePlace.path, File.frame_id, File.sha256)
        .where(FilePlace.file_id == File.id, File.frame_id == Frame.id, SymbolReading.frame_id == Frame.id)
        .where(SymbolReading.text.is_(None), or_(Frame.codes.is_(None), Frame.codes < codes))
    )
    if len(paths) <= FEW:
        wanted = wanted.where(FilePlace.path.in_(paths))
    return {path: (frame_id, sha256) for path, frame_id, sha256 in session.exec(wanted)}


def _take(shoot: Shoot, frame_id: int, outcome: ExaminedFile, codes: int) -> bool:
    """Store the symbols if more of them read now, and the number of codes compared with in any case."""
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


@dataclass(frozen=True, slots=True)
class CodeSet:
    """The codes of a shoot at some time."""

    slates: KnownSlates
    """The closed set."""
    count: int
    """Number of codes, which only grows: it serves as a version."""


class ShootCodes:
    """Cache of the codes of a shoot, including people removed from the roster, walk-ins and deck cards.

    Reads them again only when there are more. Not thread-safe, but its results may be shared.
    """

    def __init__(self, shoot: Shoot) -> None:
        self._shoot = shoot
        self._last: CodeSet | None = None

    def now(self) -> CodeSet:
        """Return the current codes. Cheap where none were added."""
        from onsite.slates.reader.closed_set import known_slates

        with self._shoot.reading() as session:
            if self._last and _count(session) == self._last.count:
                return self._last
            texts = [*session.exec(select(Person.code)), *session.exec(select(DeckCard.code))]
        own_codes = [text for text in texts if text.startswith(PROJECT_MARK + self._shoot.mark)]
        self._last = CodeSet(known_slates(self._shoot.mark, own_codes), len(texts))
        return self._last


def _count(session: Session) -> int:
    """Count the codes in the store; rows with a code are never deleted."""
    people = session.exec(select(func.count(Person.id))).one()
    return people + session.exec(select(func.count(DeckCard.id))).one()
