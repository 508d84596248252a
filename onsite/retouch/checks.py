"""What is asked of a returned file beside showing the right picture. Pure: no files."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import sqrt
from typing import TYPE_CHECKING

from onsite.retouch.memory import SentFile
from onsite.retouch.pictured import PictureFacts
from onsite.retouch.resaved import is_only_resaved
from onsite.retouch.same import Likeness

if TYPE_CHECKING:
    from PIL import Image

_NEARLY = 0.99
"""So much of the size asked for will do: crops are whole pixels."""

_WHOLE = 0.99
"""So much of an area is all of it."""

_STRAIGHT = 0.15  # degrees


class FaultKind(StrEnum):
    """Why a returned file is not accepted by itself."""

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
    """One thing that keeps a file from being accepted, in words."""

    trouble: FaultKind
    text: str


def faults(
    seen: PictureFacts, sent: SentFile, like: Likeness, long_side: int, colours: Image.Image | None = None
) -> list[Fault]:
    """What is wrong with a file that shows the right picture. `long_side` is the size asked for, in pixels;
    0 is as large as it went out. `colours` is what was sent, small and in colour, where that is known."""
    wrong = framing(like)
    if seen.pixels == sent.pixels:
        wrong.append(Fault(FaultKind.UNCHANGED, "it is just as it was sent"))
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
    """What is wrong with the framing: neither that of the pick nor a crop of it. Frames beside the pick often
    differ in this alone."""
    wrong = []
    if like.beyond > 1 - _WHOLE:
        text = f"{like.beyond:.0%} of it lies outside of the picture that was sent"
        wrong.append(Fault(FaultKind.FRAMING, text))
    if abs(like.turn) > _STRAIGHT:
        wrong.append(Fault(FaultKind.FRAMING, f"it is turned by {abs(like.turn):.1f}°"))
    return wrong


def size_wanted(seen: PictureFacts, sent: SentFile, like: Likeness, long_side: int) -> int:
    """Pixels on the long side that are asked for: never more than what was sent had of what is shown."""
    shown = max(sent.width * sent.height * like.shown, 1)
    enlarged = sqrt(seen.width * seen.height / shown)  # pixels of it to one of what was sent
    most = round(seen.long_side / enlarged)
    return min(long_side, most) if long_side else most


def remarks(seen: PictureFacts, like: Likeness) -> list[str]:
    """What is to be told of a file and does not stand in its way."""
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
