"""Picks read row by row, each checked, before any is kept."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from sqlmodel import Session

from onsite.frames.called import frame_labels
from onsite.proofs.called import PeopleNames, read_addresses, read_frame_names
from onsite.proofs.code import SHORTEST, PickCode, codes_in, holder_of, what_is_wrong
from onsite.proofs.columns import NO_HEADINGS, columns_of
from onsite.proofs.loaded import Loaded
from onsite.proofs.meaning import NOTHING_MEANT, Meaning, Meant, numbers_in
from onsite.proofs.picks import more_than_agreed
from onsite.proofs.record import NOT_YET, Proofed, read_proofed
from onsite.proofs.rows import IN_SUBJECT, Mail, Row
from onsite.proofs.words import Words, note_of, plain
from onsite.roster.people import people
from onsite.slate.code import CODE_LENGTH, parse
from onsite.store.shoot import Shoot

_NOT_UNDERSTOOD = "it is not understood"
_QUOTED = "it is quoted from another mail, and picks nothing"
_SIGNED = "it stands under a signature, and picks nothing"
_WHOSE = (
    "a number alone needs a person: the mail holds no code and is from no address that is one person's; "
    "name frames by label, such as A:1043"
)

_NOTE = re.compile(r"(?:note|notiz|nota) (?:for |to )?(.{1,200}?)\s?:\s+(\S.*)", re.IGNORECASE)
"""A line of the mail that a page writes: `Note A:1043: stray hair`."""

_REPLY = re.compile(r"(?:\s*(?:re|aw|sv|antw|rif|ref|fwd?|wg|tr|rv|i)\s*:\s*)*", re.IGNORECASE)
"""What programs put before the subject of an answer."""


@dataclass(slots=True)
class _Theirs:
    """One person's picks in the file: frame -> row. `code` is what their pick code says, and its row."""

    frames: dict[int, int] = field(default_factory=dict)
    code: tuple[int, ...] | None = None
    code_row: int = 0
    two_codes: bool = False


@dataclass(slots=True)
class _MailRead:
    """What one mail says as a whole: whose code stands in it, whom else its lines name, and the numbers on
    lines of their own, as (row, text, number)."""

    coded: set[int] = field(default_factory=set)
    named: set[int] = field(default_factory=set)
    numbers: list[tuple[int, str, str]] = field(default_factory=list)


@dataclass(slots=True)
class Reading:
    """What has been read so far."""

    mark: str
    agreed: int
    meaning: Meaning
    labels: Mapping[int, str]
    proofed: Mapping[int, Proofed]
    holders: Mapping[str, int]
    """The person's part of a slate code -> person."""
    addresses: Mapping[str, int]
    """E-mail address, in small letters -> the only person who has it."""
    theirs: dict[int, _Theirs] = field(default_factory=dict)
    notes: dict[int, str] = field(default_factory=dict)
    said: dict[int, str] = field(default_factory=dict)
    """Person -> their note to all of it."""
    loaded: Loaded = field(default_factory=Loaded)
    words: Words = field(init=False)
    _mail: Mail | None = None
    _read: _MailRead = field(default_factory=_MailRead)
    _loose: dict[int, list[tuple[int, str]]] = field(default_factory=dict)
    """Sender -> (row, text) of the words in their mails that stand by no pick code."""

    def __post_init__(self) -> None:
        self.words = Words(self.loaded.unsure.add, self._drop_words)

    @classmethod
    def opened(cls, session: Session, shoot: Shoot, owner: Mapping[int, int]) -> Reading:
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
        return cls(
            shoot.mark, agreed, meaning, labels, read_proofed(session), holders, read_addresses(session)
        )

    def take(self, row: Row) -> None:
        self.loaded.rows += 1
        if row.mail is not self._mail:
            self._begin(row.mail)
        if row.unread:
            self._take_unread(row)
            return
        first = self.loaded.rows == 1 and not row.mail
        if first and (columns := columns_of(row)) is not NO_HEADINGS:
            self.meaning.columns = columns
            return
        codes = [found for cell in row.cells if len(cell) >= SHORTEST for found in codes_in(cell, self.mark)]
        if row.quoted or (row.mail and self.words.signed):
            self._take_nothing(row, bool(codes))
            return
        for text, code in codes:
            self._take_code(row, text, code)
        if codes or (row.is_text and (self._take_note(row) or self._take_numbers(row))):
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
        if meant.frames and self.meaning.sender and row.is_text and not self._only_picks(row):
            self._drop_words(row.number, row.cells[0])  # a wish may stand beside the frame's name

    def _only_picks(self, row: Row) -> bool:
        """Whether a line holds nothing but frames and words of choosing."""
        words = re.split(r"([\s,;]+)", row.cells[0])
        return bool(numbers_in("".join("1" if self.meaning.frames.meant(word) else word for word in words)))

    # A mail as a whole

    def _begin(self, mail: Mail | None) -> None:
        self._end_mail()
        self._mail = mail
        self.words.in_mail = mail is not None
        sender = self.addresses.get(mail.sender) if mail else None
        self.meaning.sender = frozenset() if sender is None else frozenset((sender,))
        if mail:
            self.loaded.mails.append(mail)

    def _end_mail(self) -> None:
        """Settles the numbers of a mail, once all of it is known: whose they are hangs on the whole."""
        self.words.end()
        read, self._read = self._read, _MailRead()
        whose = read.coded or set(self.meaning.sender)
        others = read.named - whose
        for row, text, number in read.numbers:
            if not whose:
                self.loaded.refused.add(row, text, _WHOSE)
            elif others or len(whose) > 1:
                names = ", ".join(sorted(self.meaning.shown[person] for person in whose | others)[:3])
                self.loaded.refused.add(row, text, f"the mail may be about {names}: whose number is it?")
            else:
                self._take_number(row, text, number, *whose)

    def _take_number(self, row: int, text: str, number: str, person: int) -> None:
        """Takes the picture of that person that has this number under it."""
        name = self.meaning.shown[person]
        frames = self.meaning.frames.meant(number)
        theirs = [frame for each in frames for frame in each if self.meaning.owner.get(frame) == person]
        theirs = theirs or [
            frame for frame in self.meaning.frames.numbered(number) if self.meaning.owner.get(frame) == person
        ]
        if len(theirs) != 1:
            which = "no picture" if not theirs else f"{len(theirs)} pictures"
            self.loaded.refused.add(row, text, f"{which} of {name} with the number {number}")
            return
        numbered = self.proofed.get(person, NOT_YET).numbered
        place = int(number) - 1 if number.isdecimal() and not number.startswith("0") else -1
        if 0 <= place < len(numbered) and numbered[place] != theirs[0]:
            one, other = self.labels[theirs[0]], self.labels[numbered[place]]
            why = f"it may be {one}, or the picture in that place, {other}: which?"
            self.loaded.refused.add(row, text, why)
            return
        self._take_frame(row, theirs[0])

    def _take_unread(self, row: Row) -> None:
        (text,) = row.cells
        if row.unread != IN_SUBJECT:
            attached = row.unread.startswith("it is attached")
            (self.loaded.unsure if attached else self.loaded.refused).add(row.number, text, row.unread)
            return
        said = text[_REPLY.match(text).end() :]  # type: ignore[union-attr]  # it matches everywhere
        if numbers_in(said) or any(codes_in(said, self.mark)) or self._names_frames(said):
            self.loaded.unsure.add(row.number, text, IN_SUBJECT)

    def _take_nothing(self, row: Row, has_code: bool) -> None:
        text = row.cells[0]
        if has_code or self._names_frames(text):
            self.loaded.unsure.add(row.number, text, _QUOTED if row.quoted else _SIGNED)

    def _names_frames(self, text: str) -> bool:
        frames = self.meaning.frames
        return any(frames.meant(word) and not frames.is_id(word) for word in re.split(r"[\s,;]+", text))

    # Lines of text

    def _take_frame(self, row: int, frame: int) -> None:
        theirs = self.theirs.setdefault(self.meaning.owner[frame], _Theirs())
        first = theirs.frames.setdefault(frame, row)
        if first != row and theirs.code is None:
            where = self.loaded.where(first)
            self.loaded.repeated.add(row, self.labels[frame], f"{where} says so already")

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

    def _take_numbers(self, row: Row) -> bool:
        """Whether the line holds numbers and nothing else, of pictures of the person whose mail or code it is
        with."""
        text = row.cells[0]
        if row.mail:
            whose, others = self.meaning.people.in_words(text.split())
            self._read.named |= whose
            word = text.rpartition(":")[2]
            if len(word) >= CODE_LENGTH and parse(word) is not None:
                coded = self.meaning.people.meant(word)
                self._read.coded |= coded
                return bool(coded)
            if others != text.split():
                return False  # it says itself whose it is
        numbers = numbers_in(text)
        if not numbers or (not row.mail and not self.words.person):
            return False
        self.words.line(row.number, text, theirs=True)
        for number in numbers:
            if row.mail:
                self._read.numbers.append((row.number, text, number))
            else:
                self._take_number(row.number, text, number, self.words.person or 0)
        return True

    def _take_words(self, row: Row, meant: Meant) -> bool:
        """Whether a row is words to the retoucher under a pick code; frames named in them are no picks."""
        text = ", ".join(filter(None, row.cells))
        if self.words.person is None:
            if row.is_text and not meant.frames:
                is_name = bool(self.meaning.people.meant(text))
                self.words.line(row.number, text, known=is_name or bool(meant.refused or meant.unsure))
            elif not row.is_text and meant == NOTHING_MEANT and self.loaded.rows > 1:
                self._drop_words(row.number, text)
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

    def _drop_words(self, row: int, text: str) -> None:
        """Words by no pick code: a note of the mail's sender, if they picked, else not understood."""
        if self.meaning.sender:
            (sender,) = self.meaning.sender
            self._loose.setdefault(sender, []).append((row, text))
        else:
            self._tell_not_understood(row, text)

    def _tell_not_understood(self, row: int, text: str) -> None:
        self.loaded.not_understood += 1
        self.loaded.unsure.add(row, text, _NOT_UNDERSTOOD)

    # Pick codes

    def _take_code(self, row: Row, text: str, code: PickCode | None) -> None:
        why, person, frames = self._checked(row, text, code)
        self._take_words_beside(row, text, 0 if why else person)
        if why:
            self.loaded.refused.add(row.number, text, why)
            return
        self._read.coded.add(person)
        for number in [f for f in frames if self.meaning.owner.get(f) != person]:
            self.loaded.refused.add(row.number, text, f"{self.labels[number]} is not a frame of theirs now")
        chosen = tuple(frame for frame in frames if self.meaning.owner.get(frame) == person)
        theirs = self.theirs.setdefault(person, _Theirs())
        where = self.loaded.where(theirs.code_row)
        if theirs.code is None:
            theirs.code, theirs.code_row = chosen, row.number
        elif set(theirs.code) == set(chosen):
            self.loaded.repeated.add(row.number, text, f"{where} says so already")
        else:
            theirs.two_codes = True
            why = f"{where} has another code of the same person; which one counts?"
            self.loaded.refused.add(row.number, text, why)

    def _take_words_beside(self, row: Row, code: str, person: int) -> None:
        columns = self.meaning.columns
        if not columns.known:
            alone = len(list(codes_in(row.cells[-1], self.mark))) == 1
            after = row.cells[-1].partition(code)[2] if alone else ""
            self.words.code(row.number, person, after.strip(" .,;:–—-"))
        elif person:
            cells = [row.cells[place] for place in columns.notes if place < len(row.cells)]
            said = [(row.number, cell) for cell in cells if cell]
            self.words.of.setdefault(person, []).extend(said)

    def _checked(self, row: Row, text: str, code: PickCode | None) -> tuple[str, int, list[int]]:
        """Why a code cannot be taken, or empty; whose it is, and the frames that it says."""
        if code is None:
            return what_is_wrong(text), 0, []
        if code.shoot != self.mark:
            return "this pick code is of another shoot", 0, []
        person = self.holders.get(code.holder, 0)
        numbered = self.proofed.get(person, NOT_YET).numbered
        if not person or max(code.pictures) >= len(numbered):
            return "this pick code is of no proofs made here", 0, []
        whose, _ = self.meaning.whose(row)  # somebody unknown may have sent it for them
        if whose - self.meaning.sender and person not in whose:
            return f"this pick code is that of {self.meaning.shown[person]}", 0, []
        return "", person, [numbered[number] for number in code.pictures]

    # The end

    def chosen(self) -> dict[int, list[int]]:
        """Person -> frames, of everybody whose picks can be taken; why not, of the others."""
        self._end_mail()
        self._end_notes()
        refused = self.loaded.refused
        chosen: dict[int, list[int]] = {}
        for person, theirs in self.theirs.items():
            where = self.loaded.where(theirs.code_row)
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
                    refused.add(row, self.labels[frame], f"the pick code in {where} does not say it")
            if len(frames) > self.agreed:
                row = theirs.code_row or min(theirs.frames.values())
                name = self.meaning.shown[person]
                refused.add(row, name, more_than_agreed(len(frames), self.agreed) + "; none was taken")
            elif frames:
                chosen[person] = frames
        return chosen

    def _end_notes(self) -> None:
        for person, lines in self._loose.items():
            if person in self.theirs:
                self.words.of.setdefault(person, []).extend(lines)
            else:
                for row, text in lines:
                    self._tell_not_understood(row, text)
        for person, said in self.words.of.items():
            note, rest = note_of([text for _, text in said])
            if note:
                self.said[person] = note
            if rest:
                row = self.theirs[person].code_row or said[-1][0]
                self.loaded.unsure.add(row, rest, "it is too long for a note")
