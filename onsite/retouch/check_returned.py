"""Checks a returned file: which pick its name stands for, whether its content agrees, and what is wrong."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property
from math import sqrt
from pathlib import Path
from typing import TYPE_CHECKING

from onsite.files.atomic_write import sha256_of
from onsite.frames.find_frame_files import file_kind
from onsite.frames.open_frame_picture import NotAPicture, UnreadablePicture
from onsite.retouch.batch_contents import names_matching
from onsite.retouch.decode_returned_file import PictureFacts, picture_facts
from onsite.retouch.retouch_folder import SentFile
from onsite.retouch.same_picture.identify_picture import clear_match, identify_frame
from onsite.retouch.same_picture.picture_likeness import Comparable, Likeness, is_only_resaved
from onsite.status.batch_status import BatchFrame

if TYPE_CHECKING:
    from PIL import Image

    from onsite.retouch.same_picture.identify_picture import Sight


@dataclass(frozen=True, slots=True)
class ReturnedFile:
    """A returned file and the outcome of its check."""

    path: Path
    sha256: str = ""
    out: BatchFrame | None = None  # the pick that its name stands for, or else that its content shows
    wrong: tuple[Fault, ...] = ()  # faults that keep it from being accepted
    remarks: tuple[str, ...] = ()  # worth knowing, without being faults
    known: bool = False  # it was accepted before


@dataclass(frozen=True)
class ExpectedFiles:
    """The picks that may be returned, and access to what they looked like."""

    outs: Mapping[int, BatchFrame]  # by frame
    went: Mapping[int, SentFile]  # by frame
    owners: Mapping[int, int | None]  # frame -> its present person
    refused: frozenset[str]  # SHA-256 of the contents that were sent back
    long_side: int  # agreed size in pixels, 0 for the size sent
    sent_sight: Sight  # a pick as it went out
    frame_sight: Sight  # any frame of the shoot
    sent_colours: Callable[[int], Image.Image | None]  # a pick as it went out, in colour
    labels: Mapping[int, str]
    stems: dict[str, int] = field(init=False)  # sent file name without extension -> frame

    def __post_init__(self) -> None:
        stems = {Path(out.file).stem: frame for frame, out in self.outs.items()}
        object.__setattr__(self, "stems", stems)

    @cached_property
    def awaited(self) -> tuple[int, ...]:
        """The frames that have not been received."""
        return tuple(frame for frame, out in self.outs.items() if out.received is None)

    def others_of(self, out: BatchFrame) -> list[int]:
        """The other frames of the pick's person, nearest in time first."""
        owned = [f for f, owner in self.owners.items() if owner == out.person and f != out.frame]
        return sorted(owned, key=lambda frame: abs(frame - out.frame))


def check_file(path: Path, expected: ExpectedFiles) -> ReturnedFile:
    """Checks a returned file, which is only read."""
    try:
        sha256 = sha256_of(path)
    except OSError as error:
        return _unreadable(path, "", error.strerror or str(error))
    kind = file_kind(path)
    stems = names_matching(path.stem, expected.stems)
    out = expected.outs[expected.stems[stems[0]]] if len(stems) == 1 else None
    if out is not None and (before := _settled_before(path, sha256, out, expected)):
        return before
    if kind is None:
        return _unreadable(path, sha256, "this is not a JPEG, TIFF or HEIC", out)
    try:
        seen = picture_facts(path, kind)
    except (UnreadablePicture, NotAPicture) as error:
        return _unreadable(path, sha256, str(error), out)
    except OSError as error:
        return _unreadable(path, sha256, error.strerror or str(error), out)
    if out is None:
        return _unnamed(path, sha256, stems, seen, expected)
    return _compared(path, sha256, out, seen, expected)


def _unreadable(path: Path, sha256: str, why: str, out: BatchFrame | None = None) -> ReturnedFile:
    return _faulty(path, sha256, out, FaultKind.UNREADABLE, why)


def _faulty(path: Path, sha256: str, out: BatchFrame | None, trouble: FaultKind, text: str) -> ReturnedFile:
    """The outcome for a file with a single fault."""
    return ReturnedFile(path, sha256, out, (Fault(trouble, text),))


def _settled_before(path: Path, sha256: str, out: BatchFrame, expected: ExpectedFiles) -> ReturnedFile | None:
    """The outcome for a file whose pick or content was decided on before."""
    if out.received is not None:
        if sha256 == out.sha256:
            return ReturnedFile(path, sha256, out, known=True)
        text = (
            f"{expected.labels[out.frame]} is back already, with another content;"
            " to have it done again: onsite retouch again"
        )
        return _faulty(path, sha256, out, FaultKind.BACK_ALREADY, text)
    if sha256 in expected.refused or sha256 in out.refused:
        text = "it is the version that was sent back"
        return _faulty(path, sha256, out, FaultKind.REFUSED_BEFORE, text)
    if expected.owners.get(out.frame) != out.person:
        text = f"{expected.labels[out.frame]} is not under the name of the person who picked it any more"
        return _faulty(path, sha256, out, FaultKind.RENAMED, text)
    return None


def _unnamed(
    path: Path, sha256: str, stems: tuple[str, ...], seen: PictureFacts, expected: ExpectedFiles
) -> ReturnedFile:
    """A file whose name matches no pick or several. Its content is a hint, but settles nothing by itself."""
    if stems:
        frames = [expected.stems[stem] for stem in stems]
        trouble, text = FaultKind.UNCLEAR, f"its name fits {', '.join(stems)}"
    else:
        frames = list(expected.awaited)
        trouble, text = FaultKind.STRANGER, "its name is none that went out"
    frame = identify_frame(Comparable(seen.sight), frames, expected.sent_sight)
    if frame is None:
        return _faulty(path, sha256, None, trouble, text)
    text = f"{text}; it shows {expected.labels[frame]}, {expected.outs[frame].file}"
    return _faulty(path, sha256, expected.outs[frame], trouble, text)


def _compared(
    path: Path, sha256: str, out: BatchFrame, seen: PictureFacts, expected: ExpectedFiles
) -> ReturnedFile:
    went, pick = expected.went[out.frame], expected.sent_sight(out.frame)
    if pick is None:
        text = "nobody could look at what went out, so this cannot be compared with it"
        return _faulty(path, sha256, out, FaultKind.UNCHECKED, text)
    picture = Comparable(seen.sight)
    like = picture.likeness(pick)
    if not like.same:
        return _another(path, sha256, out, picture, expected)
    wrong = faults(seen, went, like, expected.long_side, expected.sent_colours(out.frame))
    rival = clear_match(like, picture, expected.others_of(out), expected.frame_sight)
    if rival is not None:
        wrong.insert(
            0, Fault(FaultKind.NEIGHBOUR, f"it could be {expected.labels[rival]} of the same person as well")
        )
    return ReturnedFile(path, sha256, out, tuple(wrong), tuple(remarks(seen, like)))


def _another(
    path: Path, sha256: str, out: BatchFrame, picture: Comparable, expected: ExpectedFiles
) -> ReturnedFile:
    """The outcome for a picture that does not show the pick that its name stands for."""
    if _is_turned(out.frame, picture, expected):
        text = "it lies on its side or head, and no tag turns it"
        return _faulty(path, sha256, out, FaultKind.SIDEWAYS, text)
    shown_frame = identify_frame(picture, expected.others_of(out), expected.frame_sight)
    others = [frame for frame in expected.outs if frame != out.frame and frame != shown_frame]
    swapped = (
        shown_frame if shown_frame in expected.outs else identify_frame(picture, others, expected.sent_sight)
    )
    named = f"it is named as {expected.labels[out.frame]} and shows"
    if swapped is not None:
        text = f"{named} {expected.labels[swapped]}, {expected.outs[swapped].file}"
        return _faulty(path, sha256, expected.outs[swapped], FaultKind.SWAPPED, text)
    if shown_frame is not None:
        text = f"{named} {expected.labels[shown_frame]} of the same person"
        return _faulty(path, sha256, None, FaultKind.NEIGHBOUR, text)
    text = f"it does not show the picture {expected.labels[out.frame]} that was sent"
    return _faulty(path, sha256, out, FaultKind.OTHER, text)


def _is_turned(frame: int, picture: Comparable, expected: ExpectedFiles) -> bool:
    from PIL.Image import Transpose

    pick = expected.sent_sight(frame)
    turns = (Transpose.ROTATE_90, Transpose.ROTATE_270, Transpose.ROTATE_180)
    return pick is not None and any(
        Comparable(picture.sight.transpose(turn)).likeness(pick).same for turn in turns
    )


# Faults of a file that shows the right picture. Pure: no files

_NEARLY = 0.99
"""Tolerated share of the size asked for: crops are whole pixels."""

_WHOLE = 0.99
"""An area larger than this share counts as all of it."""

_STRAIGHT = 0.15  # degrees


AS_SENT = "it is just as it was sent"
"""Why a file that nobody worked on is held."""


class FaultKind(StrEnum):
    """Why a returned file is not accepted automatically."""

    UNREADABLE = "unreadable"
    STRANGER = "stranger"
    UNCLEAR = "unclear name"
    DOUBLED = "doubled"
    SWAPPED = "swapped"
    NEIGHBOUR = "another frame"
    OTHER = "not the same picture"
    SIDEWAYS = "on its side"
    FRAMING = "framing"
    UNCHANGED = "unchanged"
    SAVED_AGAIN = "saved again"
    SMALL = "too small"
    CMYK = "cmyk"
    REFUSED_BEFORE = "sent back before"
    BACK_ALREADY = "back already"
    RENAMED = "not theirs any more"
    UNCHECKED = "cannot be compared"
    SPOT = "spot check"
    NOT_KEPT = "not kept"


@dataclass(frozen=True, slots=True)
class Fault:
    """A reason that keeps a file from being accepted, and its text for people."""

    trouble: FaultKind
    text: str


def faults(
    seen: PictureFacts, sent: SentFile, like: Likeness, long_side: int, colours: Image.Image | None = None
) -> list[Fault]:
    """The faults of a file that shows the right picture. `long_side` is the size asked for in pixels, 0 for
    the size sent. `colours` is the sent picture, small and in colour, where that is known."""
    wrong = framing(like)
    if seen.pixels == sent.pixels:
        wrong.append(Fault(FaultKind.UNCHANGED, AS_SENT))
    elif colours is not None and is_only_resaved(colours, seen.colours):
        wrong.append(Fault(FaultKind.SAVED_AGAIN, "it was saved again without a visible change"))
    wanted = size_wanted(seen, sent, like, long_side)
    if seen.long_side < wanted * _NEARLY:
        text = f"its long side has {seen.long_side} pixels, {wanted} are asked for"
        wrong.append(Fault(FaultKind.SMALL, text))
    if seen.mode == "CMYK":
        wrong.append(Fault(FaultKind.CMYK, "it is in CMYK: ask for RGB"))
    return wrong


def framing(like: Likeness) -> list[Fault]:
    """The faults in the framing, which must be that of the pick or a crop of it. Often this is all that
    distinguishes the pick from the frames next to it."""
    wrong = []
    if like.beyond > 1 - _WHOLE:
        text = f"{like.beyond:.0%} of it lies outside of the picture that was sent"
        wrong.append(Fault(FaultKind.FRAMING, text))
    if abs(like.turn) > _STRAIGHT:
        wrong.append(Fault(FaultKind.FRAMING, f"it is turned by {abs(like.turn):.1f}°"))
    return wrong


def size_wanted(seen: PictureFacts, sent: SentFile, like: Likeness, long_side: int) -> int:
    """Pixels on the long side to ask for: never more than the sent file had of the area shown."""
    shown = max(sent.width * sent.height * like.shown, 1)
    enlarged = sqrt(seen.width * seen.height / shown)  # returned pixels per sent pixel
    most = round(seen.long_side / enlarged)
    return min(long_side, most) if long_side else most


def remarks(seen: PictureFacts, like: Likeness) -> list[str]:
    """What is worth knowing about a file without being a fault."""
    found = []
    if seen.bits > 8:
        found.append(f"{seen.bits} bits a colour, of which finished files keep 8")
    if not seen.profile:
        found.append("no colour profile: taken as sRGB")
    elif not seen.profile.casefold().startswith("srgb"):
        found.append(f"colours in {seen.profile}")
    if seen.turned:
        found.append("turned by its tag")
    if like.shown < _WHOLE:
        found.append(f"a crop: {like.shown:.0%} of the picture")
    return found
