"""Where two parts of the day are mixed up: the clock was set back, and no counter tells what came first.

Frames of two people then lie seconds apart, again and again, as no one at a set can change places. What such
a stretch shows of pauses and runs is not so, and nothing is named there.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from onsite.matching.evidence import FrameEvidence
from onsite.matching.looks import NOBODY, ColourSignatures, ColourStatistics
from onsite.matching.usual import STEPS

_UNLIKE = 2.5  # times what one person's frames are apart
_FEWEST = 4  # such changes near each other: friends who step into a picture make one or two
_NEAR = 100  # frames
_BETWEEN = 200  # frames between two such groups that are mixed up, too
_AROUND = 40  # frames before and after, which may be mixed up and do not show it


def interleaved_places(
    frames: Sequence[FrameEvidence], looks: ColourSignatures, statistics: ColourStatistics
) -> frozenset[int]:
    """The places of a lane at which two parts of the day are mixed up."""
    apart = max(statistics.others.quantile(0.25), _UNLIKE * statistics.single_frame.quantile(0.5))
    unlike = np.flatnonzero((apart < looks.steps) & (looks.steps < NOBODY)).tolist()
    impossible = [place for place in unlike if _is_impossible(frames[place], frames[place + 1])]
    surely = [place for group in _groups(impossible, _NEAR) if len(group) >= _FEWEST for place in group]
    return frozenset(
        place
        for group in _groups(surely, _BETWEEN)
        for place in range(max(group[0] - _AROUND, 0), min(group[-1] + _AROUND, len(frames)))
    )


def _is_impossible(first: FrameEvidence, other: FrameEvidence) -> bool:
    """Whether two people cannot have changed places between the two, and the camera did not count that it
    took one right after the other."""
    if first.taken is None or other.taken is None or other.taken - first.taken >= STEPS:
        return False
    return first.counter is None or other.counter != first.counter + 1


def _groups(places: Sequence[int], near: int) -> list[list[int]]:
    groups: list[list[int]] = []
    for place in places:
        if groups and place - groups[-1][-1] <= near:
            groups[-1].append(place)
        else:
            groups.append([place])
    return groups
