"""What a lane's frames show, and how far apart looks are. Looks never say who somebody is.

Where a clock was set back, and no counter shows what came first, two parts of the day may be interleaved:
frames of two people lie seconds apart, again and again, as nobody at a set can change places. Pauses and runs
there are not real: nothing is learnt from them, and nothing is named.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from onsite.core.colour_signature import NOBODY as NOBODY_THERE
from onsite.core.colour_signature import SignatureArrays, unpack_signatures
from onsite.matching.cut_runs import Run
from onsite.matching.day_statistics import Floats
from onsite.matching.evidence import STEPS, FrameEvidence

_MOST_EMPTY = 0.5
"""Share of a lane's frames that can be empty; with more, the backdrop was misjudged."""
_FEW = 20
"""Frames of a lane that do not show that yet: in the morning all may be test shots."""
NOBODY = 1.0
"""Distance between an empty backdrop and a person: the largest that there is."""
_FEWEST = 4
"""Impossible changes near each other that show interleaved parts: friends who step into a picture make one or
two."""
_NEAR = 40
"""Frames from one to the next within which they are near; as many before and after them may be interleaved
without showing it."""


@dataclass(frozen=True, eq=False)
class LaneLooks:
    """What the colour signatures of one lane's frames show, by place in the lane."""

    signatures: SignatureArrays
    has_look: NDArray[np.bool_]
    """Where a frame says something of who is on it; the signatures of the others are zeros."""
    empty: NDArray[np.bool_]
    """Where nobody is to be seen."""

    def looked_at(self, places: Sequence[int]) -> bool:
        """Whether the look of any of these frames says anything, if only that nobody is in it."""
        return any(self.has_look[place] or self.empty[place] for place in places)

    def nobody(self, places: Sequence[int]) -> bool:
        """Whether nobody is in any of these frames, as far as they have a look. Never true in a lane where
        many frames seem empty: there the backdrop was misjudged."""
        return self.looked_at(places) and not any(
            self.has_look[place] and not self.empty[place] for place in places
        )


def lane_looks(lanes: Sequence[Sequence[FrameEvidence]]) -> list[LaneLooks]:
    """The looks of the frames of each lane, as signatures of one version."""
    read = unpack_signatures([frame.look for frames in lanes for frame in frames])
    has_look, empty = read.presence >= NOBODY_THERE, read.empty
    read.stored[~has_look] = 0
    found, start = [], 0
    for frames in lanes:
        own = slice(start, start := start + len(frames))
        misjudged = len(frames) >= _FEW and empty[own].mean() > _MOST_EMPTY
        signatures = SignatureArrays(read.stored[own], read.presence[own])
        found.append(LaneLooks(signatures, has_look[own], empty[own] & (not misjudged)))
    return found


def distances(looks: Floats, others: Floats) -> Floats:
    """Distances between sums of coordinates, (..., directions): 0 where they point the same way, 1 where they
    are opposite. NaN where one is 0, which is no look."""
    with np.errstate(invalid="ignore", divide="ignore"):
        lengths = np.sqrt(
            np.einsum("...j,...j->...", looks, looks) * np.einsum("...j,...j->...", others, others)
        )
        return np.asarray(
            np.sqrt(np.clip(1.0 - np.einsum("...j,...j->...", looks, others) / lengths, 0.0, 2.0) / 2)
        )


def interleaved_places(
    frames: Sequence[FrameEvidence], looks: LaneLooks, cut: Sequence[Run]
) -> frozenset[int]:
    """The places of a lane at which two parts of the day are interleaved."""
    seen = looks.has_look & ~looks.empty
    at_once = [
        place
        for place, (frame, following) in enumerate(pairwise(frames))
        if _is_at_once(frame, following) and seen[place] and seen[place + 1]
    ]
    runs = [[place for place in run.frames if seen[place]] for run in cut]
    inside = [pair for run in runs for pair in pairwise(run)]
    across = [(one[-1], other[0]) for one, other in pairwise(run for run in runs if run)]
    if len(at_once) < _FEWEST or not inside or not across:
        return frozenset()
    apart = max(np.quantile(_apart(looks, across), 0.25), 2 * np.median(_apart(looks, inside)))
    steps = _apart(looks, [(place, place + 1) for place in at_once])
    impossible = [place for place, step in zip(at_once, steps, strict=True) if step > apart]
    return frozenset(
        place
        for first, last in zip(impossible, impossible[_FEWEST - 1 :], strict=False)
        if last - first <= _FEWEST * _NEAR
        for place in range(max(first - _NEAR, 0), min(last + _NEAR, len(frames)))
    )


def _is_at_once(first: FrameEvidence, other: FrameEvidence) -> bool:
    """Whether two people cannot have changed places between two frames that the counter does not show as
    consecutive."""
    if first.taken is None or other.taken is None or other.taken - first.taken >= STEPS:
        return False
    return first.counter is None or other.counter != first.counter + 1


def _apart(looks: LaneLooks, pairs: Sequence[tuple[int, int]]) -> Floats:
    """How far apart the signatures of two frames are, (pairs,)."""
    one, other = np.array(pairs).T
    return distances(looks.signatures.roots(one), looks.signatures.roots(other))
