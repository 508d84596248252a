"""Interprets a row of a list of picks: which frames, and whose. Pure.

A bare number may be a counter, a key, a line number or a year, and an id in running text a room or a lens. It
counts in a column of frames, or where it is a frame of the person named in the row, or where the row holds
nothing else and it fits a single frame. Whatever else a row leaves open is refused with the reason, never
guessed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from onsite.core.frame_ref import is_frame_id
from onsite.frames.find_frames import FrameIndex
from onsite.picks.pick_columns import NO_HEADINGS, Columns
from onsite.picks.read_pick_file import PickRow
from onsite.roster.person_lookup import PersonLookup

_BETWEEN_WORDS = re.compile(r"[\s,;|&+]+")

_ANYTHING = "a number alone may be anything: name frames by label, such as A:1043, or name the person"

_IN_WORDS = "a number among words picks nothing, the number alone on its line does"

_LABEL = r"""(?:(?:no|nos|nr|nrn|num|numbers?|nummern?|numéros?|números?|numer[oi]|n°|nº|\#|
    pictures?|photos?|images?|bild(?:er)?|fotos?|imágen(?:es)?|imagen(?:es)?|immagin[ei])\.?:?\s*)"""
_CHOOSING = r"""(?:i'd|i|would|ich|je|yo|my|mine|meine?|mon|mes|mis?|the|das|les?|las?|los|el|il|gli|
    like|choose|chose|take|want|picks?|choices?|is|are|möchte|nehme|hätte|gerne|wähle|auswahl|ist|sind|prends|
    choisis|voudrais|choix|quisiera|elijo|quiero|elección|scelgo|prendo|vorrei|scelta|please|bitte)\b[:,]?\s*"""
_PLEASE = r"""(?:please|bitte|thanks|thank\ you|danke|merci|s'il\ (?:vous|te)\ pla[iî]t|por\ favor|gracias|
    per\ favore|grazie)"""
_BETWEEN = r"""\s*(?:[,;+&/]|\b(?:and|und|et|y|e|ed|en|och|og)\b)[\s,]*"""
_NUMBERS = re.compile(
    rf"(?P<choosing>(?:{_CHOOSING}){{0,6}})(?P<label>{_LABEL}{{0,2}})"
    rf"(?P<numbers>f?\d{{1,9}}(?:(?:{_BETWEEN}{_LABEL}?|\s+)f?\d{{1,9}}){{0,50}})[\s,.!]*{_PLEASE}?[\s!.]*",
    re.IGNORECASE | re.VERBOSE,
)
"""A line of numbers with the few words that people put around them, in five languages. From memory."""

_Fit = tuple[str, frozenset[int]]
"""The text as written, and the frames that it fits."""


@dataclass(frozen=True, slots=True)
class InterpretedRow:
    """The outcome for a row. Refused and unsure parts are (text as written, reason)."""

    frames: tuple[int, ...] = ()  # the frames picked
    note: str = ""  # the note to them
    refused: tuple[tuple[str, str], ...] = ()
    unsure: tuple[tuple[str, str], ...] = ()  # in running text, which may not be about frames at all


NOTHING_FOUND = InterpretedRow()


@dataclass(frozen=True, slots=True)
class _Named:
    """The possible references to frames in a row."""

    names: list[_Fit] = field(default_factory=list)
    numbers: list[_Fit] = field(default_factory=list)  # bare numbers
    unknown: list[str] = field(default_factory=list)  # should name a frame and does not


@dataclass(slots=True)
class RowInterpreter:
    """Interprets rows with the indexes of frames and people."""

    frames: FrameIndex
    people: PersonLookup
    owner: Mapping[int, int]  # frame -> person, as matched now
    shown: Mapping[int, str]  # person -> name
    columns: Columns = NO_HEADINGS
    sender: frozenset[int] = frozenset()
    """The person whose mail is being read, where that is known."""

    def interpret(self, row: PickRow) -> InterpretedRow:
        """The frames and the note of a row. A row without frames is empty, unless it should name a frame."""
        whose, why = self.owners_named(row)
        if why:
            return InterpretedRow(refused=((_written(row), why),))
        named = self._named(row)
        note = "; ".join(filter(None, [_cell(row, place) for place in self.columns.notes]))
        if named.numbers and not named.names:
            if row.is_text and whose and not bare_numbers(self._other_words(row)):
                return InterpretedRow(unsure=((" ".join(text for text, _ in named.numbers), _IN_WORDS),))
            return self._by_number(row, named.numbers, whose, note)
        settled = [(text, *self._settled(frames, whose)) for text, frames in named.names]
        frames = tuple(dict.fromkeys(frame for _, frame, _ in settled if frame is not None))
        refused = [(text, why) for text, frame, why in settled if frame is None]
        refused += [(text, "no frame is called that") for text in named.unknown]
        is_blank = self.columns.frames and not any(_cell(row, place) for place in self.columns.frames)
        if whose and not frames and not refused and not row.is_text and not is_blank:
            refused.append((_written(row), "no frame is named in it"))
        return InterpretedRow(frames, note, tuple(refused))

    def owners_named(self, row: PickRow) -> tuple[frozenset[int], str]:
        """(the people a row may be about, empty where it names nobody; why it cannot be taken, or empty)."""
        if row.is_text:
            return self.people.named_in_words(row.cells[0].split())[0] or self.sender, ""
        if self.columns.names_people:
            return self._by_column(row)
        if self.columns.known:
            return frozenset(), ""
        fits = [(cell, self.people.named_in_full(cell)) for cell in row.cells]
        solid = [people for cell, people in fits if people and not cell.isdecimal()]
        return frozenset().union(*(solid or [people for _, people in fits])), ""

    def _other_words(self, row: PickRow) -> str:
        words = self.people.named_in_words(row.cells[0].split())[1]
        return " ".join(word for word in words if word.strip(",:;-–"))

    def is_list(self, row: PickRow) -> bool:
        """Whether a row holds only frames, perhaps after a word such as `Pictures:`."""
        words = _words(row)
        colon = next((place for place, word in enumerate(words[:2]) if word.endswith(":")), None)
        if colon is not None and len(words) > colon + 1:  # in French, a space precedes the colon
            del words[: colon + 1]
        return bool(words) and all(
            self.frames.resolve(word) or self.frames.numbered(word) or self.frames.looks_like_frame(word)
            for word in words
        )

    def _by_column(self, row: PickRow) -> tuple[frozenset[int], str]:
        columns = self.columns
        written = [_cell(row, place) for place in columns.people]
        if columns.given >= 0:
            written.append(f"{_cell(row, columns.given)} {_cell(row, columns.family)}".strip())
        fits = [(text, self.people.named_in_full(text)) for text in written if text]
        known = [people for _, people in fits if people]
        if not known:
            unknown = " · ".join(text for text, _ in fits)
            return frozenset(), f"{unknown} is nobody here" if unknown else ""
        both = frozenset.intersection(*known)
        return both, "" if both else "its columns name different people"

    def _named(self, row: PickRow) -> _Named:
        """The references in a row. Cells that also hold other words, such as notes, do not count."""
        named = _Named()
        for place, cell in enumerate(row.cells):
            if not cell or not self.columns.may_hold_frames(place):
                continue
            is_column = place in self.columns.frames
            parts = self._parts(cell)
            if not (row.is_text or is_column or all(frames or number for _, frames, number in parts)):
                if self.frames.looks_like_frame(cell):
                    named.unknown.append(cell)
                continue
            for part, frames, number in parts:
                if frames:
                    weak = row.is_text and is_frame_id(part)
                    (named.numbers if weak else named.names).extend((part, fit) for fit in frames)
                elif number:
                    (named.names if is_column else named.numbers).append((part, number))
                elif is_column or self.frames.looks_like_frame(part):
                    named.unknown.append(part)
        return named

    def _parts(self, cell: str) -> list[tuple[str, list[frozenset[int]], frozenset[int]]]:
        """(text, frames of that name, frames of that number) for the whole cell, else for each word."""
        whole = self.frames.resolve(cell)
        words = [cell] if whole else [word for word in _BETWEEN_WORDS.split(cell) if word]
        if words == [cell]:
            return [(cell, whole, self.frames.numbered(cell))]
        return [(word, self.frames.resolve(word), self.frames.numbered(word)) for word in words]

    def _settled(self, frames: frozenset[int], whose: frozenset[int]) -> tuple[int | None, str]:
        """(the only frame that fits, empty), or (None, why it is refused)."""
        if whose:
            owned = [frame for frame in frames if self.owner.get(frame) in whose]
            if len(owned) == 1:
                return owned[0], ""
            if owned:
                return None, f"{len(owned)} of their frames are called that; name it by its label or id"
            return None, self._not_owned(whose)
        if len(frames) > 1:
            return None, f"{len(frames)} frames are called that, and the row does not say whose"
        (frame,) = frames
        return (frame, "") if frame in self.owner else (None, "it is under nobody's name")

    def _not_owned(self, whose: frozenset[int]) -> str:
        return f"it is not a frame of {' or '.join(sorted(self.shown[person] for person in whose)[:3])}"

    def _by_number(
        self, row: PickRow, numbers: Sequence[_Fit], whose: frozenset[int], note: str
    ) -> InterpretedRow:
        written = " ".join(text for text, _ in numbers)
        owned = [[frame for frame in frames if self.owner.get(frame) in whose] for _, frames in numbers]
        found = tuple(dict.fromkeys(frames[0] for frames in owned if len(frames) == 1))
        if found and len({self.owner[frame] for frame in found}) == 1 and max(map(len, owned)) == 1:
            return InterpretedRow(found, note)
        if found or any(owned):
            return InterpretedRow(refused=((written, "it can be read in more than one way"),))
        is_all = [text for text, _ in numbers] == _words(row)
        if whose or not is_all:
            why = self._not_owned(whose) if whose else _ANYTHING
            reasons = ((written, why),)
            return InterpretedRow(unsure=reasons) if row.is_text else InterpretedRow(refused=reasons)
        if len(numbers) > 1 and not row.is_text and len(row.cells) > 1:
            return InterpretedRow(refused=((written, _ANYTHING),))
        settled = [(text, *self._settled(frames, whose)) for text, frames in numbers]
        refused = tuple((text, why) for text, frame, why in settled if frame is None)
        return InterpretedRow(tuple(frame for _, frame, _ in settled if frame is not None), note, refused)


def bare_numbers(text: str) -> list[str]:
    """The numbers of a line that holds only numbers and a few words of choosing; empty for other lines, and
    where the number may be a quantity.

    >>> bare_numbers("No. 3 and 5, please"), bare_numbers("2 prints of 3"), bare_numbers("I would like 2")
    (['3', '5'], [], [])
    """
    match = _NUMBERS.fullmatch(text.strip().replace("’", "'"))
    if not match:
        return []
    numbers = re.findall(r"f?\d+", match["numbers"], re.IGNORECASE)
    may_be_how_many = match["choosing"] and not match["label"] and len(numbers) == 1 and len(numbers[0]) < 2
    return [] if may_be_how_many else numbers


def _words(row: PickRow) -> list[str]:
    return [word for cell in row.cells for word in _BETWEEN_WORDS.split(cell) if word]


def _cell(row: PickRow, place: int) -> str:
    return row.cells[place] if place < len(row.cells) else ""


def _written(row: PickRow) -> str:
    return " · ".join(filter(None, row.cells))[:80]
