"""References to frames as people write them and as the program writes them.

A reference is a frame's id (f12), a file name or path, or a camera with counters (A:1043, A:1043-1051).
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from onsite.core.file_counter import counter_distance, counter_text, last_counter

WIDEST_RANGE = 1_000
"""Counters; a wider range is a slip of the pen."""

PUNCTUATION = "\"'“”„‘’«»()[]<>*.,;!?"
"""May stand around a word in running text."""

_ID = re.compile(r"f(\d{1,12})", re.IGNORECASE)
_COUNTERS = re.compile(r"([^:]{1,40}):(\d{1,9})(?:-(\d{1,9}))?")
_NUMBER = re.compile(r"\d{1,9}", re.ASCII)


@dataclass(frozen=True, slots=True)
class CounterRange:
    """The counters of a camera from `first` to `last`, perhaps over the roll-over."""

    camera: str
    first: int
    last: int

    def counters(self, end: int) -> list[int]:
        """The counters in shooting order, of a body whose last counter is `end`; none where there are too
        many."""
        end = max(end, last_counter((self.first, self.last)))
        distance = counter_distance(self.first, self.last, end)
        return (
            [(self.first + step) % (end + 1) for step in range(distance + 1)]
            if distance <= WIDEST_RANGE
            else []
        )


@dataclass(frozen=True, slots=True)
class FrameRef:
    """A text, and all that it may refer to."""

    text: str
    """Without white space and punctuation around it."""
    names: tuple[str, ...]
    """File names without their folder, in lower case: as written, and without the punctuation."""
    id: int | None = None
    counters: CounterRange | None = None
    is_range: bool = False
    """Whether two counters are written."""
    number: int | None = None
    """The number, where nothing else is written."""


def parse_frame_ref(text: str) -> FrameRef:
    """What a text may refer to; which of it exists, an index of the frames says.

    >>> parse_frame_ref("(f12)").id, parse_frame_ref(r"DCIM\\\\IMG_1043.JPG,").names[-1]
    (12, 'img_1043.jpg')
    >>> parse_frame_ref("a:9998-0002").counters
    CounterRange(camera='a', first=9998, last=2)
    """
    written = text.strip()
    bare = written.strip(PUNCTUATION)
    names = tuple(
        dict.fromkeys(word.replace("\\", "/").rpartition("/")[2].casefold() for word in (written, bare))
    )
    frame = _ID.fullmatch(bare)
    counters = _COUNTERS.fullmatch(bare)
    return FrameRef(
        bare,
        names,
        id=int(frame[1]) if frame else None,
        counters=CounterRange(counters[1].strip(), int(counters[2]), int(counters[3] or counters[2]))
        if counters
        else None,
        is_range=counters is not None and counters[3] is not None,
        number=int(bare) if _NUMBER.fullmatch(bare) else None,
    )


def is_frame_id(text: str) -> bool:
    """Whether a text is written like an id, such as f2; in running text that may be anything."""
    return _ID.fullmatch(text.strip(PUNCTUATION)) is not None


def frame_id_text(frame: int) -> str:
    """A frame's id as in JSON, exports and names of files: `f12`. People read `format_frame_labels`."""
    return f"f{frame}"


def counter_label(camera: str, counter: int) -> str:
    """A camera and counter as people read them: `A:1043`."""
    return f"{camera}:{counter_text(counter)}"


def format_frame_labels(frames: Iterable[tuple[int | None, str, int | None, str]]) -> dict[int, str]:
    """A unique label for each frame, by id: camera and counter, such as A:1043, where that is unique.

    Else the file name without ending where that is unique, else the id, f12. All of them are references.
    `frames` are all frames of the shoot: id, label of the camera, counter, name.
    """
    rows = list(frames)
    counted = {
        frame: counter_label(camera, counter) for frame, camera, counter, _ in rows if counter is not None
    }
    names = {frame: name for frame, _, _, name in rows}
    once, once_named = _unique_labels(counted), _unique_labels(names)
    return {
        frame: once.get(frame) or once_named.get(frame) or frame_id_text(frame)
        for frame in names
        if frame is not None
    }


def _unique_labels(labels: Mapping[int | None, str]) -> dict[int | None, str]:
    """Only the labels that occur once."""
    count = Counter(labels.values())
    return {frame: label for frame, label in labels.items() if count[label] == 1}
