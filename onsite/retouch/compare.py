"""Whose picture a returned file shows, among those that it could be."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING

from onsite.retouch.placing import rough_fit
from onsite.retouch.same import Likeness, likeness

if TYPE_CHECKING:
    from PIL import Image

    Sight = Callable[[int], Image.Image | None]

SURE = 0.01
"""A picture that moved no more than this is the pick itself; above it the person's other frames are asked."""

_MARGIN = 0.03
"""By how much less the pick must have moved than any other frame of the person."""

_CLOSEST = 12
"""Of many pictures, so many that fit best roughly are compared in full."""


def clearly(like: Likeness, other: Image.Image, rivals: Iterable[int], sight: Sight) -> int | None:
    """None where the picture is its pick's beyond doubt; else the frame that it could be as well."""
    if like.moved <= SURE:
        return None
    for frame in rivals:
        seen = sight(frame)
        if seen is None:
            continue
        its = likeness(seen, other)
        if its.same and its.moved < like.moved + _MARGIN:
            return frame
    return None


def shown_in(other: Image.Image, frames: Sequence[int], sight: Sight) -> int | None:
    """The one frame that a picture shows; None where it is none of them, or fits two as well."""
    sights = {frame: seen for frame in frames if (seen := sight(frame)) is not None}
    likely = sorted(sights, key=lambda frame: rough_fit(sights[frame], other), reverse=True)[:_CLOSEST]
    found = [(like.moved, frame) for frame in likely if (like := likeness(sights[frame], other)).same]
    found.sort()
    if not found or (len(found) > 1 and found[1][0] < found[0][0] + _MARGIN and found[0][0] > SURE):
        return None
    return found[0][1]
