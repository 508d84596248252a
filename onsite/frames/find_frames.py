"""Finds the frames that references mean: an index of all spellings of all frames."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from sqlmodel import Session, select

from onsite.core.errors import Problem
from onsite.core.file_counter import counter_text, last_counter
from onsite.core.frame_ref import WIDEST_RANGE, CounterRange, FrameRef, format_frame_labels, parse_frame_ref
from onsite.frames.find_frame_files import file_kind_of_name
from onsite.store.schema import Camera, File, FilePlace, Frame
from onsite.store.shoot import Shoot

_HOW = "Use a frame's id (f12), a file name, or counters such as A:1043-1051."

_LISTED = 8
"""Frames that a message lists."""

_NONE: frozenset[int] = frozenset()


@dataclass(slots=True)
class FrameIndex:
    """Every spelling of a frame -> the frames it may mean. Upper and lower case are the same."""

    ids: set[int] = field(default_factory=set)
    by_name: dict[str, set[int]] = field(default_factory=lambda: defaultdict(set))
    """By file name, with and without its ending."""
    by_counter: dict[str, dict[int, set[int]]] = field(default_factory=dict)
    """By the label of the camera, then by counter."""
    by_number: dict[int, set[int]] = field(default_factory=lambda: defaultdict(set))
    """By counter, of any camera."""

    def resolve(self, text: str) -> list[frozenset[int]]:
        """For each frame that a text refers to, the candidates: several where a name is ambiguous. Empty
        where the text is no reference. A bare number is none: see `numbered`."""
        ref = parse_frame_ref(text)
        if ref.id in self.ids:
            return [frozenset({ref.id})]
        if found := self.named(ref):
            return [] if ref.names[-1].isdecimal() else [found]
        return [frames for _, frames in self.counted(ref.counters)] if ref.counters else []

    def named(self, ref: FrameRef) -> frozenset[int]:
        """The frames that have a file of this name."""
        for name in ref.names:
            if found := self.by_name.get(name) or self.by_name.get(_stem(name)):
                return frozenset(found)
        return _NONE

    def counted(self, wanted: CounterRange) -> list[tuple[int, frozenset[int]]]:
        """The counters of a range that there are, each with its frames, in shooting order."""
        of_camera = self.by_counter.get(wanted.camera.casefold(), {})
        counters = wanted.counters(last_counter(of_camera))
        return [(counter, frozenset(of_camera[counter])) for counter in counters if counter in of_camera]

    def numbered(self, text: str) -> frozenset[int]:
        """The frames, of any camera, with the counter that a bare number gives."""
        number = parse_frame_ref(text).number
        return _NONE if number is None else frozenset(self.by_number.get(number, ()))

    def looks_like_frame(self, text: str) -> bool:
        """Whether a text that refers to no frame is written as if it did."""
        ref = parse_frame_ref(text)
        if ref.counters is not None:
            return ref.counters.camera.casefold() in self.by_counter
        return "." in ref.text and file_kind_of_name(ref.text) is not None


def read_frame_index(session: Session) -> FrameIndex:
    """Index all frames by id, file name with and without its ending, and counter."""
    index = FrameIndex()
    for label in session.exec(select(Camera.label)):
        index.by_counter.setdefault(label.casefold(), {})
    for frame, camera, counter, name in session.exec(
        select(Frame.id, Camera.label, Frame.counter, Frame.name).where(Frame.camera_id == Camera.id)
    ):
        assert frame is not None
        index.ids.add(frame)
        _add_name(index, name, frame)
        if counter is not None:
            index.by_counter[camera.casefold()].setdefault(counter, set()).add(frame)
            index.by_number[counter].add(frame)
    for frame, name in session.exec(select(File.frame_id, File.name)):
        _add_name(index, name, frame)
    return index


def _add_name(index: FrameIndex, name: str, frame: int) -> None:
    index.by_name[name.casefold()].add(frame)
    stem = _stem(name.casefold())
    if any(map(str.isdigit, stem)):  # else it is a word, such as a person's name
        index.by_name[stem].add(frame)


def _stem(name: str) -> str:
    """The name without the ending of a picture: "IMG.1043" keeps its dot."""
    return name.rpartition(".")[0] if "." in name and file_kind_of_name(name) is not None else name


def find_frames(session: Session, texts: Sequence[str]) -> list[int]:
    """Return the ids of the frames that `texts` refer to, in order, without repeats.

    Raises Problem where a text matches no frame, or where a file name or counter is ambiguous.
    """
    chosen: dict[int, None] = {}
    index: FrameIndex | None = None
    for text in texts:
        ref = parse_frame_ref(text)
        if ref.id is not None and session.get(Frame, ref.id) is not None:
            chosen[ref.id] = None
        else:
            index = index or read_frame_index(session)
            chosen |= dict.fromkeys(_find(session, index, text.strip(), ref))
    if not chosen:
        raise Problem("No frame was named.", _HOW)
    return list(chosen)


def find_frame(shoot: Shoot, text: str) -> int:
    """Return the id of the single frame that `text` refers to. Raises Problem for none or several."""
    with shoot.reading() as session:
        chosen = find_frames(session, [text])
    if len(chosen) != 1:
        raise Problem(f"{text} is {len(chosen)} frames.", "Name one of them.")
    return chosen[0]


def _find(session: Session, index: FrameIndex, text: str, ref: FrameRef) -> list[int]:
    """Return the frames that a reference matches: file name first, then path, then counters."""
    if "/" in text:
        found = _by_path(session, text)
    else:
        found = index.named(ref)
        if len(found) > 1:  # spelled exactly like one of them
            found = _exactly_named(session, text) or found
    if len(found) > 1:
        kind = "path" if "/" in text else "name"
        these = _labels_text(session, found)
        raise Problem(f"{text!r} is the {kind} of {len(found)} frames: {these}.", "Name one of these.")
    if found:
        return list(found)
    if ref.counters is not None:
        return _by_counter(session, index, text, ref.counters)
    raise Problem(f"No frame is called {text!r}.", _HOW)


def _exactly_named(session: Session, text: str) -> frozenset[int]:
    files = session.exec(select(File.frame_id).where(File.name == text)).all()
    frames = session.exec(select(Frame.id).where(Frame.name == text)).all()
    return frozenset(files or (frame for frame in frames if frame is not None))


def _by_path(session: Session, text: str) -> frozenset[int]:
    """Return the frames of files whose path ends with `text`."""
    ends = "/" + text.strip("/")
    return frozenset(
        session.exec(
            select(File.frame_id)
            .where(FilePlace.file_id == File.id, FilePlace.is_copy.is_(False))
            .where(FilePlace.path.endswith(str(Path(ends)), autoescape=True))
        )
    )


def _by_counter(session: Session, index: FrameIndex, text: str, wanted: CounterRange) -> list[int]:
    """Return the frames of a camera with these counters, over the roll-over. Raises Problem where unclear."""
    camera = wanted.camera
    of_camera = index.by_counter.get(camera.casefold())
    if of_camera is None:
        labels = ", ".join(sorted(session.exec(select(Camera.label))))
        raise Problem(f"There is no camera {camera!r}.", f"Cameras here: {labels or 'none yet'}.")
    if not wanted.counters(last_counter(of_camera)):
        raise Problem(
            f"{text} spans more than {WIDEST_RANGE:,} counters.",
            "Name the range in parts, first counter first.",
        )
    found = index.counted(wanted)
    for counter, frames in found:
        if len(frames) > 1:
            raise Problem(
                f"{text}: counter {counter} was used by several frames of camera {camera}:"
                f" {_labels_text(session, frames)}.",
                "Name them so.",
            )
    if not found:
        raise Problem(
            f"{text}: camera {camera} has no such frames.", "See them with: onsite frames export FILE.csv"
        )
    missing = next((end for end in (wanted.first, wanted.last) if end not in of_camera), None)
    if missing is not None:
        raise Problem(
            f"{text}: camera {camera} has no frame {counter_text(missing)}.",
            "Name a range from one frame to another.",
        )
    return [frame for _, frames in found for frame in frames]


def _labels_text(session: Session, frames: frozenset[int]) -> str:
    labels = frame_labels(session)
    return ", ".join(labels[frame] for frame in sorted(frames)[:_LISTED])


def frame_labels(session: Session) -> dict[int, str]:
    """Return the label of each frame of the shoot, by id (see `format_frame_labels`)."""
    return format_frame_labels(
        session.exec(
            select(Frame.id, Camera.label, Frame.counter, Frame.name).where(Frame.camera_id == Camera.id)
        )
    )
