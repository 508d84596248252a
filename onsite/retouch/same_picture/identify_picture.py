"""Identifies the frame that a returned picture shows, among the candidates."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from onsite.retouch.same_picture.picture_likeness import Comparable, Compared, Likeness

Sight = Callable[[int], Compared | None]

SURE = 0.01
"""A picture with no more motion than this is certainly the pick; above it, the person's other frames are
compared too."""

_MARGIN = 0.03
"""The pick must show less motion than every other frame of the person, by at least this much."""

_CLOSEST = 12
"""Number of candidates with the best rough fit that are compared in full."""

_FITS_WORSE = 0.75
"""A candidate whose rough fit is below this share of that of a certain match is not compared. Our own choice:
the frame next to a match fits nearly as well, other people less than half as well."""


def clear_match(like: Likeness, other: Comparable, rivals: Iterable[int], sight: Sight) -> int | None:
    """None where a picture is certainly the pick; else the other frame that it could be as well."""
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
    """The frame that a picture shows; None where it is none of `frames`, or two fit equally well.

    Candidates are compared in the order of their rough fit. Once a candidate shows no motion at all, only
    those that fit about as well are still compared.
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
