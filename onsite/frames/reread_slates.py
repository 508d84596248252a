"""Slates that were seen and did not read, looked at again once the shoot has more codes to compare them with.

So a roster that was loaded after the frames, and walk-ins who were added later, still help.
"""

from __future__ import annotations

import os
from collections.abc import Collection, Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from sqlmodel import Session, col, func, or_, select

from onsite.core.codes import PROJECT_MARK
from onsite.frames.examine_file import ExaminedFile, examine_file
from onsite.frames.find_files import CandidateFile
from onsite.frames.save_frames import FEW, save_symbols
from onsite.store.events import EventKind, add_event
from onsite.store.schema import DeckCard, File, FilePlace, Frame, Person, SymbolReading
from onsite.store.shoot import Shoot

if TYPE_CHECKING:
    from onsite.slates.reader.closed_set import KnownSlates


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


# TODO The codes that slates of this shoot can carry, for reading slates that do not read by themselves.


@dataclass(frozen=True, slots=True)
class CodeSet:
    """What slates are compared with; None before anybody has a code. `count` is of how many codes it was
    made: it rises whenever there are more."""

    slates: KnownSlates | None = None
    count: int = 0


class ShootCodes:
    """The codes of a shoot: also of people who are no longer on the client's list, of walk-ins and of deck
    cards. Read again only when there are more. For one thread; what it answers is for any."""

    def __init__(self, shoot: Shoot) -> None:
        self._shoot = shoot
        self._last = CodeSet()

    def now(self) -> CodeSet:
        """The codes as they are now. Cheap where none were added."""
        from onsite.slates.reader.closed_set import known_slates

        with self._shoot.reading() as session:
            if _count(session) == self._last.count:
                return self._last
            texts = [*session.exec(select(Person.code)), *session.exec(select(DeckCard.code))]
        own_codes = [text for text in texts if text.startswith(PROJECT_MARK + self._shoot.mark)]
        self._last = CodeSet(known_slates(self._shoot.mark, own_codes), len(texts))
        return self._last


def _count(session: Session) -> int:
    """Rows that have a code are added and never taken away."""
    people = session.exec(select(func.count(col(Person.id)))).one()
    return people + session.exec(select(func.count(col(DeckCard.id)))).one()
