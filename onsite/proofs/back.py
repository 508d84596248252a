"""Picks back from a file: read row by row, each checked, and then kept person by person."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from sqlmodel import Session

from onsite.problems import Problem
from onsite.progress.after import NOTHING_YET, read_after
from onsite.proofs.called import PeopleNames, read_frame_names
from onsite.proofs.code import SHORTEST, PickCode, codes_in, holder_of
from onsite.proofs.columns import NO_HEADINGS, columns_of
from onsite.proofs.meaning import NOTHING_MEANT, Meaning, Meant
from onsite.proofs.picks import Picks, keep_picks, more_than_agreed, went_before
from onsite.proofs.record import NOT_YET, Proofed, read_proofed
from onsite.proofs.rows import Row, Step, rows_in
from onsite.proofs.theirs import frame_labels, owners
from onsite.proofs.words import Words, note_of, plain
from onsite.roster.entry import shown
from onsite.roster.people import people
from onsite.store.shoot import Shoot
from onsite.wrap.current import stands

MOST_LISTED = 1_000
"""Rows that are listed as refused or repeated; the others are counted. A file of a million rows that are not
picks must not fill the memory or the screen."""

_NOTE = re.compile(r"[>\s]*(?:note|notiz|nota) (?:for |to )?(.{1,200}?)\s?:\s+(\S.*)", re.IGNORECASE)
"""A line of the mail that a page writes, in any of its languages: `Note A:1043: stray hair`."""


@dataclass(slots=True)
class Listed:
    """(row, what was written, why), the first of them, and how many there are."""

    first: list[tuple[int, str, str]] = field(default_factory=list)
    count: int = 0

    def add(self, row: int, text: str, why: str) -> None:
        self.count += 1
        if len(self.first) < MOST_LISTED:
            self.first.append((row, shown(text, 80), why))


@dataclass(slots=True)
class Loaded:
    """What became of a file: `people` whose picks stand in it, news or not; `refused`; `repeated`, what it
    says more than once, which was taken once; `unsure`, what may or may not have meant frames."""

    rows: int = 0
    people: list[Picks] = field(default_factory=list)
    refused: Listed = field(default_factory=Listed)
    repeated: Listed = field(default_factory=Listed)
    unsure: Listed = field(default_factory=Listed)


@dataclass(slots=True)
class _Theirs:
    """One person's picks in the file: frame -> row. `code` is what their pick code says, and its row."""

    frames: dict[int, int] = field(default_factory=dict)
    code: tuple[int, ...] | None = None
    code_row: int = 0
    two_codes: bool = False


def load_picks(shoot: Shoot, path: Path, station: str = "", step: Step | None = None) -> Loaded:
    """Takes picks from any file. What it says of a person takes the place of what they picked before.

    `step` is told how far the file is read. Raises Problem where the file cannot be read or names no pick at
    all.
    """
    owner = owners(stands(shoot))
    with shoot.reading() as session:
        reading = _Reading.opened(session, shoot, owner)
    for row in rows_in(path, step):
        reading.take(row)
    loaded = reading.loaded
    chosen = reading.chosen()
    if not (chosen or loaded.refused.count or loaded.unsure.count):
        raise Problem(
            f"{shown(path.name)} names no frame and holds no pick code.",
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


@dataclass(slots=True)
class _Reading:
    """What has been read so far."""

    mark: str
    agreed: int
    meaning: Meaning
    labels: Mapping[int, str]
    proofed: Mapping[int, Proofed]
    holders: Mapping[str, int]
    """The person's part of a slate code -> person."""
    theirs: dict[int, _Theirs] = field(default_factory=dict)
    notes: dict[int, str] = field(default_factory=dict)
    said: dict[int, str] = field(default_factory=dict)
    """Person -> their note to all of it."""
    loaded: Loaded = field(default_factory=Loaded)
    words: Words = field(init=False)

    def __post_init__(self) -> None:
        self.words = Words(self.loaded.unsure.add)

    @classmethod
    def opened(cls, session: Session, shoot: Shoot, owner: Mapping[int, int]) -> _Reading:
        everybody = people(session)
        labels = frame_labels(session)
        meaning = Meaning(
            read_frame_names(session, labels),
            PeopleNames(everybody),
            owner,
            {someone.id: someone.name for someone in everybody},
        )
        holders = {holder_of(someone.code): someone.id for someone in everybody}
        agreed = shoot.settings.agreed.picks
        return cls(shoot.mark, agreed, meaning, labels, read_proofed(session), holders)

    def take(self, row: Row) -> None:
        self.loaded.rows += 1
        if self.loaded.rows == 1 and (columns := columns_of(row)) is not NO_HEADINGS:
            self.meaning.columns = columns
            return
        codes = [found for cell in row.cells if len(cell) >= SHORTEST for found in codes_in(cell)]
        for text, code in codes:
            self._take_code(row, text, code)
        if codes or (row.is_text and self._take_note(row)):
            return
        meant = self.meaning.of(row)
        if not self.meaning.columns.known and self._take_words(row, meant):
            return
        for text, why in meant.refused:
            self.loaded.refused.add(row.number, text, why)
        for text, why in meant.unsure:
            self.loaded.unsure.add(row.number, text, why)
        for frame in meant.frames:
            self._take_frame(row.number, frame)
            if meant.note:
                self.notes[frame] = meant.note

    def _take_frame(self, row: int, frame: int) -> None:
        theirs = self.theirs.setdefault(self.meaning.owner[frame], _Theirs())
        first = theirs.frames.setdefault(frame, row)
        if first != row and theirs.code is None:
            self.loaded.repeated.add(row, self.labels[frame], f"row {first} says so already")

    def _take_note(self, row: Row) -> bool:
        """Whether the line is a note; its words name no picks."""
        match = _NOTE.fullmatch(row.cells[0])
        frames = self.meaning.frames.meant(match[1]) if match else []
        if not match or len(frames) != 1 or len(frames[0]) != 1:
            return False
        (frame,) = frames[0]
        self.notes[frame] = plain(match[2])
        self.words.line(row.number, row.cells[0], theirs=True)
        return True

    def _take_words(self, row: Row, meant: Meant) -> bool:
        """Whether a row is words to the retoucher under a pick code; frames named in them are no picks."""
        text = ", ".join(filter(None, row.cells))
        if self.words.person is None:
            if row.is_text and not meant.frames:
                self.words.line(row.number, text)
            return False
        if self.meaning.is_list(row):
            self.words.line(row.number, text, theirs=True)
            return False
        if not row.is_text and meant != NOTHING_MEANT:
            return False
        self.words.line(row.number, text, theirs=self.words.person in self.meaning.people.meant(text))
        if self.words.person is None:  # it was the head of another mail
            return False
        for frame in meant.frames:
            self.loaded.unsure.add(row.number, self.labels[frame], "it stands in a note, and picks nothing")
        return True

    def _take_code(self, row: Row, text: str, code: PickCode | None) -> None:
        why, person, frames = self._checked(row, code)
        self._take_words_beside(row, text, 0 if why else person)
        if why:
            self.loaded.refused.add(row.number, text, why)
            return
        for number in [f for f in frames if self.meaning.owner.get(f) != person]:
            self.loaded.refused.add(row.number, text, f"{self.labels[number]} is not a frame of theirs now")
        chosen = tuple(frame for frame in frames if self.meaning.owner.get(frame) == person)
        theirs = self.theirs.setdefault(person, _Theirs())
        if theirs.code is None:
            theirs.code, theirs.code_row = chosen, row.number
        elif set(theirs.code) == set(chosen):
            self.loaded.repeated.add(row.number, text, f"row {theirs.code_row} says so already")
        else:
            theirs.two_codes = True
            self.loaded.refused.add(
                row.number,
                text,
                f"row {theirs.code_row} has another code of the same person; which one counts?",
            )

    def _take_words_beside(self, row: Row, code: str, person: int) -> None:
        columns = self.meaning.columns
        if not columns.known:
            after = row.cells[-1].partition(code)[2] if len(list(codes_in(row.cells[-1]))) == 1 else ""
            self.words.code(row.number, person, after.strip(" .,;:–—-"))
        elif person:
            cells = [row.cells[place] for place in columns.notes if place < len(row.cells)]
            self.words.of.setdefault(person, []).extend(filter(None, cells))

    def _checked(self, row: Row, code: PickCode | None) -> tuple[str, int, list[int]]:
        """Why a code cannot be taken, or empty; whose it is, and the frames that it says."""
        if code is None:
            return "this pick code has a wrong character, or is not whole", 0, []
        if code.shoot != self.mark:
            return "this pick code is of another shoot", 0, []
        person = self.holders.get(code.holder, 0)
        numbered = self.proofed.get(person, NOT_YET).numbered
        if not person or max(code.pictures) >= len(numbered):
            return "this pick code is of no proofs made here", 0, []
        whose, _ = self.meaning.whose(row)  # somebody unknown may have sent it for them
        if whose and person not in whose:
            return f"this pick code is that of {self.meaning.shown[person]}", 0, []
        return "", person, [numbered[number] for number in code.pictures]

    def chosen(self) -> dict[int, list[int]]:
        """Person -> frames, of everybody whose picks can be taken; why not, of the others."""
        self._end_notes()
        refused = self.loaded.refused
        chosen: dict[int, list[int]] = {}
        for person, theirs in self.theirs.items():
            if theirs.two_codes:
                assert theirs.code is not None
                labels = " ".join(self.labels[frame] for frame in theirs.code)
                refused.add(
                    theirs.code_row, labels, "there is another code of the same person; which one counts?"
                )
                continue
            frames = list(theirs.frames) if theirs.code is None else list(theirs.code)
            for frame, row in theirs.frames.items():
                if frame not in frames:
                    refused.add(
                        row, self.labels[frame], f"the pick code in row {theirs.code_row} does not say it"
                    )
            if len(frames) > self.agreed:
                row = theirs.code_row or min(theirs.frames.values())
                name = self.meaning.shown[person]
                refused.add(row, name, more_than_agreed(len(frames), self.agreed) + "; none was taken")
            elif frames:
                chosen[person] = frames
        return chosen

    def _end_notes(self) -> None:
        self.words.end()
        for person, words in self.words.of.items():
            note, rest = note_of(words)
            if note:
                self.said[person] = note
            if rest:
                row = self.theirs[person].code_row
                self.loaded.unsure.add(row, rest, "it is too long for a note")
