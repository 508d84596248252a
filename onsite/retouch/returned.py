"""One file that came back: which pick it is by its name, and whether its content bears that out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from onsite.files.saving import sha256_of
from onsite.frames.found import kind_of
from onsite.frames.picture import CannotLook, NotAFrame
from onsite.progress.batches import Out
from onsite.retouch.checks import Trouble, Wrong, faults, remarks
from onsite.retouch.compare import clearly, shown_in
from onsite.retouch.memory import Went
from onsite.retouch.names import meant_by
from onsite.retouch.pictured import Pictured, pictured
from onsite.retouch.same import Comparable

if TYPE_CHECKING:
    from PIL import Image

    from onsite.retouch.compare import Sight


@dataclass(frozen=True, slots=True)
class Returned:
    """A file that came back. `out` is the pick that its name means, or that alone its content shows; `wrong`
    is what keeps it from being accepted; `told` is to be known with it; `known` where it was accepted
    before."""

    path: Path
    sha256: str = ""
    out: Out | None = None
    wrong: tuple[Wrong, ...] = ()
    told: tuple[str, ...] = ()
    known: bool = False


@dataclass(frozen=True)
class Expected:
    """What may come back, and how to look at it. `outs` and `went` are by frame; `owners` says whose each
    frame is now; `refused` are contents that somebody decided against; `sent_sight` is how a pick looked
    when it went out, `frame_sight` how any frame of the shoot looks; `sent_colours` is the pick in colour;
    `called` is what frames are called to people."""

    outs: Mapping[int, Out]
    went: Mapping[int, Went]
    owners: Mapping[int, int | None]
    refused: frozenset[str]
    long_side: int
    sent_sight: Sight
    frame_sight: Sight
    sent_colours: Callable[[int], Image.Image | None]
    called: Mapping[int, str]
    stems: dict[str, int] = field(init=False)

    def __post_init__(self) -> None:
        stems = {Path(out.file).stem: frame for frame, out in self.outs.items()}
        object.__setattr__(self, "stems", stems)

    @cached_property
    def awaited(self) -> tuple[int, ...]:
        return tuple(frame for frame, out in self.outs.items() if out.received is None)

    def others_of(self, out: Out) -> list[int]:
        """The person's other frames, those taken nearest first."""
        theirs = [f for f, owner in self.owners.items() if owner == out.person and f != out.frame]
        return sorted(theirs, key=lambda frame: abs(frame - out.frame))


def check(path: Path, expected: Expected) -> Returned:
    """What a file that came back is. It is only read."""
    try:
        sha256 = sha256_of(path)
    except OSError as error:
        return _unreadable(path, "", error.strerror or str(error))
    kind = kind_of(path)
    stems = meant_by(path.stem, expected.stems)
    out = expected.outs[expected.stems[stems[0]]] if len(stems) == 1 else None
    if out is not None and (before := _settled_before(path, sha256, out, expected)):
        return before
    if kind is None:
        return _unreadable(path, sha256, "this is not a JPEG, TIFF or HEIC", out)
    try:
        seen = pictured(path, kind)
    except (CannotLook, NotAFrame) as error:
        return _unreadable(path, sha256, str(error), out)
    except OSError as error:
        return _unreadable(path, sha256, error.strerror or str(error), out)
    if out is None:
        return _unnamed(path, sha256, stems, seen, expected)
    return _compared(path, sha256, out, seen, expected)


def _unreadable(path: Path, sha256: str, why: str, out: Out | None = None) -> Returned:
    return Returned(path, sha256, out, (Wrong(Trouble.UNREADABLE, why),))


def _settled_before(path: Path, sha256: str, out: Out, expected: Expected) -> Returned | None:
    """The outcome for a file on whose pick or content somebody has decided."""
    if out.received is not None:
        if sha256 == out.sha256:
            return Returned(path, sha256, out, known=True)
        text = (
            f"{expected.called[out.frame]} is back already, with another content;"
            " to have it done again: onsite retouch again"
        )
        return Returned(path, sha256, out, (Wrong(Trouble.BACK_ALREADY, text),))
    if sha256 in expected.refused or sha256 in out.refused:
        text = "it is the version that was sent back"
        return Returned(path, sha256, out, (Wrong(Trouble.REFUSED_BEFORE, text),))
    if expected.owners.get(out.frame) != out.person:
        text = f"{expected.called[out.frame]} is not under the name of the person who picked it any more"
        return Returned(path, sha256, out, (Wrong(Trouble.RENAMED, text),))
    return None


def _unnamed(path: Path, sha256: str, stems: tuple[str, ...], seen: Pictured, expected: Expected) -> Returned:
    """A file whose name means no pick, or several. Its content alone settles nothing, but it is a hint."""
    if stems:
        frames = [expected.stems[stem] for stem in stems]
        trouble, text = Trouble.UNCLEAR, f"its name fits {', '.join(stems)}"
    else:
        frames = list(expected.awaited)
        trouble, text = Trouble.STRANGER, "its name is none that went out"
    frame = shown_in(Comparable(seen.sight), frames, expected.sent_sight)
    if frame is None:
        return Returned(path, sha256, None, (Wrong(trouble, text),))
    wrong = Wrong(trouble, f"{text}; it shows {expected.called[frame]}, {expected.outs[frame].file}")
    return Returned(path, sha256, expected.outs[frame], (wrong,))


def _compared(path: Path, sha256: str, out: Out, seen: Pictured, expected: Expected) -> Returned:
    went, pick = expected.went[out.frame], expected.sent_sight(out.frame)
    if pick is None:
        text = "nobody could look at what went out, so this cannot be compared with it"
        return Returned(path, sha256, out, (Wrong(Trouble.UNCHECKED, text),))
    picture = Comparable(seen.sight)
    like = picture.likeness(pick)
    if not like.same:
        return _another(path, sha256, out, picture, expected)
    wrong = faults(seen, went, like, expected.long_side, expected.sent_colours(out.frame))
    rival = clearly(like, picture, expected.others_of(out), expected.frame_sight)
    if rival is not None:
        wrong.insert(
            0, Wrong(Trouble.NEIGHBOUR, f"it could be {expected.called[rival]} of the same person as well")
        )
    return Returned(path, sha256, out, tuple(wrong), tuple(remarks(seen, like)))


def _another(path: Path, sha256: str, out: Out, picture: Comparable, expected: Expected) -> Returned:
    """What a picture is that does not show the pick that its name means."""
    if _is_turned(out.frame, picture, expected):
        wrong = Wrong(Trouble.SIDEWAYS, "it lies on its side or head, and no tag turns it")
        return Returned(path, sha256, out, (wrong,))
    theirs = shown_in(picture, expected.others_of(out), expected.frame_sight)
    others = [frame for frame in expected.outs if frame != out.frame and frame != theirs]
    swapped = theirs if theirs in expected.outs else shown_in(picture, others, expected.sent_sight)
    named = f"it is named as {expected.called[out.frame]} and shows"
    if swapped is not None:
        text = f"{named} {expected.called[swapped]}, {expected.outs[swapped].file}"
        return Returned(path, sha256, expected.outs[swapped], (Wrong(Trouble.SWAPPED, text),))
    if theirs is not None:
        text = f"{named} {expected.called[theirs]} of the same person"
        return Returned(path, sha256, None, (Wrong(Trouble.NEIGHBOUR, text),))
    wrong = Wrong(Trouble.OTHER, f"it does not show the picture {expected.called[out.frame]} that was sent")
    return Returned(path, sha256, out, (wrong,))


def _is_turned(frame: int, picture: Comparable, expected: Expected) -> bool:
    from PIL.Image import Transpose

    pick = expected.sent_sight(frame)
    turns = (Transpose.ROTATE_90, Transpose.ROTATE_270, Transpose.ROTATE_180)
    return pick is not None and any(
        Comparable(picture.sight.transpose(turn)).likeness(pick).same for turn in turns
    )
