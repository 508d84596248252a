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
from onsite.matching.day_statistics import Floats
from onsite.matching.evidence import STEPS, FrameEvidence
from onsite.matching.looks import LaneLooks

_FEWEST = 4
"""Impossible changes near each other that show interleaved parts: friends who step into a picture make one or
two."""
_ENOUGH = 2000
"""Pairs of frames by which distances are judged; more would only take time."""
_NEAR = 100
"""Frames within which they are near."""
_AROUND = 40
"""Frames before and after them, which may be interleaved without showing it."""


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
    inside = [pair for run in runs for pair in pairwise(run)][:_ENOUGH]
    across = [(one[-1], other[0]) for one, other in pairwise(run for run in runs if run)][:_ENOUGH]
    if len(at_once) < _FEWEST or not inside or not across:
        return frozenset()
    apart = max(np.quantile(_apart(looks, across), 0.25), 2 * np.median(_apart(looks, inside)))
    steps = _apart(looks, [(place, place + 1) for place in at_once])
    impossible = [place for place, step in zip(at_once, steps, strict=True) if step > apart]
    return frozenset(
        place
        for first, last in zip(impossible, impossible[_FEWEST - 1 :], strict=False)
        if last - first <= _FEWEST * _NEAR
        for place in range(max(first - _AROUND, 0), min(last + _AROUND, len(frames)))
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
