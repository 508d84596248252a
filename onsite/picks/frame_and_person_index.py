"""Indexes from every spelling that people use to the frames and people it can refer to."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from sqlmodel import Session, select

from onsite.core.codes import CODE_LENGTH, parse_slate_code
from onsite.frames.find_files import file_kind_of_name
from onsite.roster.find_people import RosterPerson
from onsite.roster.person_names import fold_name
from onsite.store.schema import Camera, File, Frame, Person

_ID = re.compile(r"f(\d{1,12})", re.IGNORECASE)
_COUNTER = re.compile(r"([^:]{1,40}):(\d{1,9})(?:-(\d{1,9}))?")
_BARE = re.compile(r"\d{1,9}", re.ASCII)
_ROUND = 10_000
_WIDEST = 1_000
"""Counters roll over from 9999 to 0001; a range of more frames than `_WIDEST` is a slip of the pen."""

_AROUND = "\"'“”„‘’«»()[]<>*.,;!?"
"""Punctuation around a word in running text."""

_NONE: frozenset[int] = frozenset()


@dataclass(slots=True)
class FrameIndex:
    """Every spelling of a frame -> the frames it matches."""

    ids: set[int] = field(default_factory=set)
    cameras: set[str] = field(default_factory=set)
    by_name: dict[str, set[int]] = field(default_factory=lambda: defaultdict(set))
    by_counter: dict[tuple[str, int], set[int]] = field(default_factory=lambda: defaultdict(set))
    by_number: dict[int, set[int]] = field(default_factory=lambda: defaultdict(set))

    def resolve(self, text: str) -> list[frozenset[int]]:
        """For each frame that a text refers to, the candidates: several where a name is ambiguous. Empty
        where the text is no reference. A bare number is none: see `numbered`."""
        text = _bare(text)
        if text[:1] in ("f", "F") and (match := _ID.fullmatch(text)) and int(match[1]) in self.ids:
            return [frozenset({int(match[1])})]
        name = text.replace("\\", "/").rpartition("/")[2].casefold()
        if found := self.by_name.get(name) or self.by_name.get(_stem(name)):
            return [] if _BARE.fullmatch(name) else [frozenset(found)]
        if ":" in text and (match := _COUNTER.fullmatch(text)):
            return self._range(match[1].strip().casefold(), int(match[2]), int(match[3] or match[2]))
        return []

    def _range(self, camera: str, first: int, last: int) -> list[frozenset[int]]:
        if (last - first) % _ROUND > _WIDEST:
            return []
        counters = [first]
        if last != first:  # across the roll-over, if need be
            counters = [(first + step) % _ROUND for step in range((last - first) % _ROUND + 1)]
        found = [self.by_counter.get((camera, counter)) for counter in counters]
        return [frozenset(frames) for frames in found if frames]

    def is_id(self, text: str) -> bool:
        """Whether a text is written like an id, such as f2; in running text that may be anything."""
        return _ID.fullmatch(text.strip(_AROUND)) is not None

    def looks_like_frame(self, text: str) -> bool:
        """Whether a text that refers to no frame is written as if it did."""
        text = _bare(text)
        if ":" in text and (counter := _COUNTER.fullmatch(text)):
            return counter[1].strip().casefold() in self.cameras
        return "." in text and file_kind_of_name(text) is not None

    def numbered(self, text: str) -> frozenset[int]:
        """The frames, of any camera, with the counter that a bare number gives."""
        text = _bare(text)
        return frozenset(self.by_number.get(int(text), ())) if _BARE.fullmatch(text) else _NONE


def read_frame_index(session: Session, labels: Mapping[int, str]) -> FrameIndex:
    """Indexes all frames by id, label, file name with and without its extension, and counter."""
    names = FrameIndex()
    for frame, camera, counter, name in session.exec(
        select(Frame.id, Camera.label, Frame.counter, Frame.name).where(Frame.camera_id == Camera.id)
    ):
        names.ids.add(frame)
        for text in (name, labels.get(frame, "")):
            if text and ":" not in text:
                _put(names, text, frame)
        names.cameras.add(camera.casefold())
        if counter is not None:
            names.by_counter[(camera.casefold(), counter)].add(frame)
            names.by_number[counter].add(frame)
    for frame, name in session.exec(select(File.frame_id, File.name)):
        _put(names, name, frame)
    return names


def _put(names: FrameIndex, text: str, frame: int) -> None:
    names.by_name[text.casefold()].add(frame)
    stem = _stem(text.casefold())
    if any(map(str.isdigit, stem)):  # else it is a word, such as a person's name
        names.by_name[stem].add(frame)


def _stem(name: str) -> str:
    """The name without the extension of a picture: "IMG.1043" keeps its dot."""
    return name.rpartition(".")[0] if "." in name and file_kind_of_name(name) is not None else name


def _bare(text: str) -> str:
    """The word without the punctuation around it."""
    return text.strip().strip(_AROUND)


class PeopleIndex:
    """Every exact spelling of a person -> the people it matches. Similarity is never enough."""

    def __init__(self, people: Iterable[RosterPerson]) -> None:
        self._of: dict[str, set[int]] = defaultdict(set)
        self._longest: dict[str, int] = defaultdict(int)
        """First word -> the number of words in the longest name that begins with it."""
        for person in people:
            for text in (person.key, person.code, *_ways(person)):
                if words := fold_name(text).split():
                    self._of[" ".join(words)].add(person.id)
                    self._longest[words[0]] = max(self._longest[words[0]], len(words))

    def resolve(self, text: str) -> frozenset[int]:
        """The people with this key, code or full name."""
        if len(text) > 200 or not text.strip():
            return _NONE
        found = self._of.get(fold_name(text))
        if found is None and len(text) >= CODE_LENGTH and (code := parse_slate_code(text)) is not None:
            found = self._of.get(fold_name(code.text))
        return frozenset(found) if found else _NONE

    def in_words(self, words: Sequence[str]) -> tuple[frozenset[int], list[str]]:
        """(people named in running text, the words that name nobody). Numbers in it are not taken as keys."""
        plain = [fold_name(word).strip(_AROUND + ":") for word in words]
        found: set[int] = set()
        naming: set[int] = set()
        for start, word in enumerate(plain):
            for end in range(start + 1, start + 1 + self._longest.get(word, 0)):
                text = " ".join(plain[start:end])
                if not text.isdecimal() and text in self._of:
                    found |= self._of[text]
                    naming.update(range(start, end))
        return frozenset(found), [word for place, word in enumerate(words) if place not in naming]


def _ways(person: RosterPerson) -> list[str]:
    given, family = person.given, person.family
    both = [f"{given} {family}", f"{family} {given}", f"{family}, {given}"] if given and family else []
    return [person.name, *both]


def read_addresses(session: Session) -> dict[str, int]:
    """The e-mail addresses of the roster that belong to one person only -> that person's id."""
    people_of: dict[str, set[int]] = {}
    for person, email in session.exec(select(Person.id, Person.email)):
        for address in re.split(r"[,;\s]+", email or ""):
            if person is not None and "@" in address:
                people_of.setdefault(address.casefold().strip("<>"), set()).add(person)
    return {address: next(iter(ids)) for address, ids in people_of.items() if len(ids) == 1}
