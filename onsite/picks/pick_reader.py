"""Reads picks row by row and checks them all, before any is recorded."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from sqlmodel import Session

from onsite.core.codes import (
    CODE_LENGTH,
    SHORTEST_PICK_CODE,
    PickCode,
    code_problem,
    find_pick_codes,
    holder_of,
    parse_slate_code,
)
from onsite.core.frame_ref import is_frame_id
from onsite.frames.find_frames import frame_labels, read_frame_index
from onsite.picks.interpret_pick_rows import NOTHING_FOUND, InterpretedRow, RowInterpreter, bare_numbers
from onsite.picks.notes_in_mail import MailNotes, note_of, plain_text
from onsite.picks.pick_columns import NO_HEADINGS, columns_of
from onsite.picks.pick_load_result import LoadedPicks
from onsite.picks.read_pick_file import IN_SUBJECT, PickMail, PickRow
from onsite.picks.record_picks import more_than_agreed
from onsite.proofs.proof_record import NO_PROOFS, ProofRecord, read_proof_records
from onsite.roster.person_lookup import PersonLookup
from onsite.roster.read_people import read_addresses, read_people
from onsite.store.shoot import Shoot

_NOT_UNDERSTOOD = "it is not understood"
_QUOTED = "it is quoted from another mail, and picks nothing"
_SIGNED = "it stands under a signature, and picks nothing"
_WHOSE = (
    "a number alone needs a person: the mail holds no code and is from no address that is one person's; "
    "name frames by label, such as A:1043"
)

_NOTE = re.compile(r"(?:note|notiz|nota) (?:for |to )?(.{1,200}?)\s?:\s+(\S.*)", re.IGNORECASE)
"""A line of the mail that a proof page writes: `Note A:1043: stray hair`."""

_REPLY = re.compile(r"(?:\s*(?:re|aw|sv|antw|rif|ref|fwd?|wg|tr|rv|i)\s*:\s*)*", re.IGNORECASE)
"""Prefixes of the subject that mail programs add to replies and forwarded mails."""


@dataclass(slots=True)
class _PersonRows:
    """One person's picks in the file."""

    frames: dict[int, int] = field(default_factory=dict)  # frame -> row
    code: tuple[int, ...] | None = None  # the frames in their pick code
    code_row: int = 0
    two_codes: bool = False  # the file holds two different codes of the person


@dataclass(slots=True)
class _MailFindings:
    """What one mail says as a whole."""

    coded: set[int] = field(default_factory=set)  # people whose codes are in it
    named: set[int] = field(default_factory=set)  # people named in its lines
    numbers: list[tuple[int, str, str]] = field(default_factory=list)
    """(row, text, number) of the lines that hold only numbers."""


@dataclass(slots=True)
class PickReader:
    """Collects picks row by row: `take` each row, then ask `chosen`."""

    mark: str
    agreed: int  # most picks of a person
    interpreter: RowInterpreter
    labels: Mapping[int, str]
    proofed: Mapping[int, ProofRecord]
    holders: Mapping[str, int]
    """The person's part of a slate code -> person."""
    addresses: Mapping[str, int]
    """E-mail address, case-folded -> the only person who has it."""
    by_person: dict[int, _PersonRows] = field(default_factory=dict)
    notes: dict[int, str] = field(default_factory=dict)  # frame -> its note
    said: dict[int, str] = field(default_factory=dict)
    """Person -> their note to all of their picks."""
    loaded: LoadedPicks = field(default_factory=LoadedPicks)
    words: MailNotes = field(init=False)
    _mail: PickMail | None = None
    _read: _MailFindings = field(default_factory=_MailFindings)
    _loose: dict[int, list[tuple[int, str]]] = field(default_factory=dict)
    """Sender -> (row, text) of the words in their mails that belong to no pick code."""

    def __post_init__(self) -> None:
        self.words = MailNotes(self.loaded.unsure.add, self._drop_words)

    @classmethod
    def opened(cls, session: Session, shoot: Shoot, owner: Mapping[int, int]) -> PickReader:
        """A reader with the indexes of the shoot. `owner` maps frames to people."""
        everybody = read_people(session)
        labels = frame_labels(session)
        meaning = RowInterpreter(
            read_frame_index(session),
            PersonLookup(everybody),
            owner,
            {person.id: person.name for person in everybody},
        )
        holders = {holder_of(person.code): person.id for person in everybody}
        agreed = shoot.settings.agreed.picks
        return cls(
            shoot.mark, agreed, meaning, labels, read_proof_records(session), holders, read_addresses(session)
        )

    def take(self, row: PickRow) -> None:
        """Takes the next row of the file."""
        self.loaded.rows += 1
        if row.mail is not self._mail:
            self._begin(row.mail)
        if row.unread:
            self._take_unread(row)
            return
        first = self.loaded.rows == 1 and not row.mail
        if first and (columns := columns_of(row)) is not NO_HEADINGS:
            self.interpreter.columns = columns
            return
        codes = [
            found
            for cell in row.cells
            if len(cell) >= SHORTEST_PICK_CODE
            for found in find_pick_codes(cell, self.mark)
        ]
        if row.quoted or (row.mail and self.words.signed):
            self._take_nothing(row, bool(codes))
            return
        for text, code in codes:
            self._take_code(row, text, code)
        if codes or (row.is_text and (self._take_note(row) or self._take_numbers(row))):
            return
        interpreted = self.interpreter.interpret(row)
        if not self.interpreter.columns.known and self._take_words(row, interpreted):
            return
        for text, why in interpreted.refused:
            self.loaded.refused.add(row.number, text, why)
        for text, why in interpreted.unsure:
            self.loaded.unsure.add(row.number, text, why)
        for frame in interpreted.frames:
            self._take_frame(row.number, frame)
            if interpreted.note:
                self.notes[frame] = interpreted.note
        if interpreted.frames and self.interpreter.sender and row.is_text and not self._only_picks(row):
            self._drop_words(row.number, row.cells[0])  # a request may follow the frame's name

    def _only_picks(self, row: PickRow) -> bool:
        """Whether a line holds only frames and words of choosing."""
        words = re.split(r"([\s,;]+)", row.cells[0])
        return bool(
            bare_numbers("".join("1" if self.interpreter.frames.resolve(word) else word for word in words))
        )

    # A mail as a whole

    def _begin(self, mail: PickMail | None) -> None:
        self._end_mail()
        self._mail = mail
        self.words.in_mail = mail is not None
        sender = self.addresses.get(mail.sender) if mail else None
        self.interpreter.sender = frozenset() if sender is None else frozenset((sender,))
        if mail:
            self.loaded.mails.append(mail)

    def _end_mail(self) -> None:
        """Settles the numbers of a mail at its end: whose they are depends on all of it."""
        self.words.end()
        read, self._read = self._read, _MailFindings()
        whose = read.coded or set(self.interpreter.sender)
        others = read.named - whose
        for row, text, number in read.numbers:
            if not whose:
                self.loaded.refused.add(row, text, _WHOSE)
            elif others or len(whose) > 1:
                names = ", ".join(sorted(self.interpreter.shown[person] for person in whose | others)[:3])
                self.loaded.refused.add(row, text, f"the mail may be about {names}: whose number is it?")
            else:
                self._take_number(row, text, number, *whose)

    def _take_number(self, row: int, text: str, number: str, person: int) -> None:
        """Takes the person's picture with this number."""
        name = self.interpreter.shown[person]
        frames, owner = self.interpreter.frames, self.interpreter.owner
        named = [frame for each in frames.resolve(number) for frame in each if owner.get(frame) == person]
        person_frames = named or [f for f in frames.numbered(number) if owner.get(f) == person]
        if len(person_frames) != 1:
            which = "no picture" if not person_frames else f"{len(person_frames)} pictures"
            self.loaded.refused.add(row, text, f"{which} of {name} with the number {number}")
            return
        numbered = self.proofed.get(person, NO_PROOFS).numbered
        place = int(number) - 1 if number.isdecimal() and not number.startswith("0") else -1
        if 0 <= place < len(numbered) and numbered[place] != person_frames[0]:
            expected, other = self.labels[person_frames[0]], self.labels[numbered[place]]
            why = f"it may be {expected}, or the picture in that place, {other}: which?"
            self.loaded.refused.add(row, text, why)
            return
        self._take_frame(row, person_frames[0])

    def _take_unread(self, row: PickRow) -> None:
        (text,) = row.cells
        if row.unread != IN_SUBJECT:
            attached = row.unread.startswith("it is attached")
            (self.loaded.unsure if attached else self.loaded.refused).add(row.number, text, row.unread)
            return
        said = text[_REPLY.match(text).end() :]  # type: ignore[union-attr]  # it matches everywhere
        if bare_numbers(said) or any(find_pick_codes(said, self.mark)) or self._names_frames(said):
            self.loaded.unsure.add(row.number, text, IN_SUBJECT)

    def _take_nothing(self, row: PickRow, has_code: bool) -> None:
        text = row.cells[0]
        if has_code or self._names_frames(text):
            self.loaded.unsure.add(row.number, text, _QUOTED if row.quoted else _SIGNED)

    def _names_frames(self, text: str) -> bool:
        frames = self.interpreter.frames
        return any(frames.resolve(word) and not is_frame_id(word) for word in re.split(r"[\s,;]+", text))

    # Lines of text

    def _take_frame(self, row: int, frame: int) -> None:
        rows = self.by_person.setdefault(self.interpreter.owner[frame], _PersonRows())
        first = rows.frames.setdefault(frame, row)
        if first != row and rows.code is None:
            where = self.loaded.where(first)
            self.loaded.repeated.add(row, self.labels[frame], f"{where} says so already")

    def _take_note(self, row: PickRow) -> bool:
        """Whether the line is a note, as a proof page writes it; frames in its text are no picks."""
        match = _NOTE.fullmatch(row.cells[0])
        frames = self.interpreter.frames.resolve(match[1]) if match else []
        if not match or len(frames) != 1 or len(frames[0]) != 1:
            return False
        (frame,) = frames[0]
        self.notes[frame] = plain_text(match[2])
        self.words.line(row.number, row.cells[0], is_own=True)
        return True

    def _take_numbers(self, row: PickRow) -> bool:
        """Whether the line holds only numbers, of pictures of the person whose mail or code it belongs to."""
        text = row.cells[0]
        if row.mail:
            whose, others = self.interpreter.people.named_in_words(text.split())
            self._read.named |= whose
            word = text.rpartition(":")[2]
            if len(word) >= CODE_LENGTH and parse_slate_code(word) is not None:
                coded = self.interpreter.people.named_in_full(word)
                self._read.coded |= coded
                return bool(coded)
            if others != text.split():
                return False  # the line names the person itself
        numbers = bare_numbers(text)
        if not numbers or (not row.mail and not self.words.person):
            return False
        self.words.line(row.number, text, is_own=True)
        for number in numbers:
            if row.mail:
                self._read.numbers.append((row.number, text, number))
            else:
                self._take_number(row.number, text, number, self.words.person or 0)
        return True

    def _take_words(self, row: PickRow, interpreted: InterpretedRow) -> bool:
        """Whether a row is a note to the retoucher under a pick code; frames named in it are no picks."""
        text = ", ".join(filter(None, row.cells))
        if self.words.person is None:
            if row.is_text and not interpreted.frames:
                is_name = bool(self.interpreter.people.named_in_full(text))
                self.words.line(
                    row.number, text, known=is_name or bool(interpreted.refused or interpreted.unsure)
                )
            elif not row.is_text and interpreted == NOTHING_FOUND and self.loaded.rows > 1:
                self._drop_words(row.number, text)
            return False
        if self.interpreter.is_list(row):
            self.words.line(row.number, text, is_own=True)
            return False
        if not row.is_text and interpreted != NOTHING_FOUND:
            return False
        self.words.line(
            row.number, text, is_own=self.words.person in self.interpreter.people.named_in_full(text)
        )
        if self.words.person is None:  # it was the head of another mail
            return False
        for frame in interpreted.frames:
            self.loaded.unsure.add(row.number, self.labels[frame], "it stands in a note, and picks nothing")
        return True

    def _drop_words(self, row: int, text: str) -> None:
        """Takes words without a pick code: a note of the sender, if they picked, else not understood."""
        if self.interpreter.sender:
            (sender,) = self.interpreter.sender
            self._loose.setdefault(sender, []).append((row, text))
        else:
            self._report_not_understood(row, text)

    def _report_not_understood(self, row: int, text: str) -> None:
        self.loaded.not_understood += 1
        self.loaded.unsure.add(row, text, _NOT_UNDERSTOOD)

    # Pick codes

    def _take_code(self, row: PickRow, text: str, code: PickCode | None) -> None:
        why, person, frames = self._checked(row, text, code)
        self._take_words_beside(row, text, 0 if why else person)
        if why:
            self.loaded.refused.add(row.number, text, why)
            return
        self._read.coded.add(person)
        for number in [f for f in frames if self.interpreter.owner.get(f) != person]:
            self.loaded.refused.add(row.number, text, f"{self.labels[number]} is not a frame of theirs now")
        chosen = tuple(frame for frame in frames if self.interpreter.owner.get(frame) == person)
        rows = self.by_person.setdefault(person, _PersonRows())
        where = self.loaded.where(rows.code_row)
        if rows.code is None:
            rows.code, rows.code_row = chosen, row.number
        elif set(rows.code) == set(chosen):
            self.loaded.repeated.add(row.number, text, f"{where} says so already")
        else:
            rows.two_codes = True
            why = f"{where} has another code of the same person; which one counts?"
            self.loaded.refused.add(row.number, text, why)

    def _take_words_beside(self, row: PickRow, code: str, person: int) -> None:
        columns = self.interpreter.columns
        if not columns.known:
            alone = len(list(find_pick_codes(row.cells[-1], self.mark))) == 1
            after = row.cells[-1].partition(code)[2] if alone else ""
            self.words.code(row.number, person, after.strip(" .,;:–—-"))
        elif person:
            cells = [row.cells[place] for place in columns.notes if place < len(row.cells)]
            said = [(row.number, cell) for cell in cells if cell]
            self.words.lines_by_person.setdefault(person, []).extend(said)

    def _checked(self, row: PickRow, text: str, code: PickCode | None) -> tuple[str, int, list[int]]:
        """(why a code cannot be taken, or empty; its person; its frames)."""
        if code is None:
            return code_problem(text), 0, []
        if code.shoot != self.mark:
            return "this pick code is of another shoot", 0, []
        person = self.holders.get(code.holder, 0)
        numbered = self.proofed.get(person, NO_PROOFS).numbered
        if not person or max(code.pictures) >= len(numbered):
            return "this pick code is of no proofs made here", 0, []
        whose, _ = self.interpreter.owners_named(row)  # somebody unknown may send a code for the person
        if whose - self.interpreter.sender and person not in whose:
            return f"this pick code is that of {self.interpreter.shown[person]}", 0, []
        return "", person, [numbered[number] for number in code.pictures]

    # The end

    def chosen(self) -> dict[int, list[int]]:
        """Person -> frames, for all whose picks can be taken; reports the reason for the others."""
        self._end_mail()
        self._end_notes()
        refused = self.loaded.refused
        chosen: dict[int, list[int]] = {}
        for person, rows in self.by_person.items():
            where = self.loaded.where(rows.code_row)
            if rows.two_codes:
                assert rows.code is not None
                labels = " ".join(self.labels[frame] for frame in rows.code)
                refused.add(
                    rows.code_row,
                    labels,
                    "there is another code of the same person; which one counts?",
                )
                continue
            frames = list(rows.frames) if rows.code is None else list(rows.code)
            for frame, row in rows.frames.items():
                if frame not in frames:
                    refused.add(row, self.labels[frame], f"the pick code in {where} does not say it")
            if len(frames) > self.agreed:
                row = rows.code_row or min(rows.frames.values())
                name = self.interpreter.shown[person]
                refused.add(row, name, more_than_agreed(len(frames), self.agreed) + "; none was taken")
            elif frames:
                chosen[person] = frames
        return chosen

    def _end_notes(self) -> None:
        for person, lines in self._loose.items():
            if person in self.by_person:
                self.words.lines_by_person.setdefault(person, []).extend(lines)
            else:
                for row, text in lines:
                    self._report_not_understood(row, text)
        for person, said in self.words.lines_by_person.items():
            note, rest = note_of([text for _, text in said])
            if note:
                self.said[person] = note
            if rest:
                row = self.by_person[person].code_row or said[-1][0]
                self.loaded.unsure.add(row, rest, "it is too long for a note")
