"""Where two parts of the day are interleaved: the clock was set back, and no counter shows what came first.

Frames of two people then lie seconds apart, again and again, as nobody at a set can change places. Pauses and runs
there are not real: nothing is learnt from them, and nothing is named.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from onsite.matching.cut_runs import Run
from onsite.matching.day_looks import distances
from onsite.matching.evidence import STEPS, FrameEvidence
from onsite.matching.looks import LaneLooks

_FEWEST = 4
"""Impossible changes near each other that show interleaved parts: friends who step into a picture make one or
two."""
_NEAR = 100
"""Frames within which they are near."""
_AROUND = 40
"""Frames before and after them, which may be interleaved without showing it."""


def interleaved_places(
    frames: Sequence[FrameEvidence], looks: LaneLooks, cut: Sequence[Run]
) -> frozenset[int]:
    """The places of a lane at which two parts of the day are interleaved."""
    steps = distances(looks.signatures[:-1], looks.signatures[1:])
    steps[looks.empty[:-1] | looks.empty[1:]] = np.nan
    inside = [place for run in cut for place, then in pairwise(run.frames) if then == place + 1]
    runs = [run.frames for run in cut if run.frames]
    across = [(one[-1], other[0]) for one, other in pairwise(runs)]
    if not inside or not across:
        return frozenset()
    before, after = np.array(across).T
    others = distances(looks.signatures[before], looks.signatures[after])
    apart = max(np.nanquantile(others, 0.25), 2 * np.nanmedian(steps[inside]))
    unlike = np.flatnonzero(apart < steps).tolist()  # NaN is not
    impossible = [place for place in unlike if _is_impossible(frames[place], frames[place + 1])]
    return frozenset(
        place
        for first, last in zip(impossible, impossible[_FEWEST - 1 :], strict=False)
        if last - first <= _FEWEST * _NEAR
        for place in range(max(first - _AROUND, 0), min(last + _AROUND, len(frames)))
    )


def _is_impossible(first: FrameEvidence, other: FrameEvidence) -> bool:
    """Whether two people cannot have changed places between two frames that the counter does not show as
    consecutive."""
    if first.taken is None or other.taken is None or other.taken - first.taken >= STEPS:
        return False
    return first.counter is None or other.counter != first.counter + 1
