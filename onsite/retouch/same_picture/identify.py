"""Whose picture a returned file shows, among those that it could be."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from onsite.retouch.same_picture.likeness import Comparable, Compared, Likeness

Sight = Callable[[int], Compared | None]

SURE = 0.01
"""A picture that moved no more than this is the pick itself; above it the person's other frames are asked."""

_MARGIN = 0.03
"""By how much less the pick must have moved than any other frame of the person."""

_CLOSEST = 12
"""Of many pictures, so many that fit best roughly are compared in full."""

_FITS_WORSE = 0.75
"""A picture that fits so much worse roughly than one that is clearly shown is not compared. Own choice: a
frame beside another fits nearly as well as that one, other people less than half as well."""


def clear_match(like: Likeness, other: Comparable, rivals: Iterable[int], sight: Sight) -> int | None:
    """None where the picture is its pick's beyond doubt; else the frame that it could be as well."""
    if like.moved <= SURE:
        return None
    for frame in rivals:
        seen = sight(frame)
        if seen is None:
            continue
        rival_likeness = other.likeness(seen)
        if rival_likeness.same and rival_likeness.moved < like.moved + _MARGIN:
            return frame
    return None


def identify_frame(other: Comparable, frames: Sequence[int], sight: Sight) -> int | None:
    """The one frame that a picture shows; None where it is none of them, or fits two as well.

    Those that fit best roughly are compared first. Where one has not moved at all, only those are compared
    after it that fit about as well.
    """
    fits = sorted(
        ((other.rough_fit(seen), frame) for frame in frames if (seen := sight(frame)) is not None),
        key=lambda candidate: candidate[0],
        reverse=True,
    )
    found: list[tuple[float, int]] = []
    enough = 0.0
    for fit, frame in fits[:_CLOSEST]:
        seen = sight(frame)
        if fit < enough or seen is None:
            break
        like = other.likeness(seen)
        if like.same:
            found.append((like.moved, frame))
            if like.moved <= SURE:
                enough = max(enough, _FITS_WORSE * fit)
    found.sort()
    if not found or (len(found) > 1 and found[1][0] < found[0][0] + _MARGIN and found[0][0] > SURE):
        return None
    return found[0][1]
