"""Clock slates: each camera photographs the door's time before its first frame, and after its last."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from onsite.core.codes import clock_code
from onsite.matching.evidence import FrameEvidence, Symbol
from onsite.simulator.accident_days.camera_faults import LAST_COUNTER, Body, evident
from onsite.simulator.accident_days.ground_truth import Truth
from onsite.simulator.accident_days.simulated_shots import Staged
from onsite.simulator.accident_days.simulated_turns import What

BEFORE = 25.0
"""Seconds between a clock slate and the day's first frame, or its last."""
IDS = 90_000
"""What the ids of clock slates are above the body's first id."""


def with_clock_slates(
    body: Body,
    lane: Sequence[Staged],
    frames: Sequence[FrameEvidence],
    truth: Mapping[int, Truth],
    mark: str,
    count: int,
) -> tuple[list[FrameEvidence], dict[int, Truth]]:
    """A body's frames and their truth with one clock slate before them, or another after them as well."""
    counters = body.counters([one.at for one in lane])
    first = _clock_slate(body, lane[0].at - BEFORE, (counters[0] - 1) or LAST_COUNTER, mark, 0)
    last = _clock_slate(body, lane[-1].at + BEFORE, counters[-1] % LAST_COUNTER + 1, mark, 1)
    slates = [first, last][:count]
    facts = {
        frame.id: Truth(body.number, -1, at, What.SLATE, frozenset(), False, None, ()) for frame, at in slates
    }
    ordered = [first[0], *frames, *(frame for frame, _ in slates[1:])]
    return ordered, {**truth, **facts}


def _clock_slate(body: Body, at: float, counter: int, mark: str, number: int) -> tuple[FrameEvidence, float]:
    ident = body.number * 100_000 + IDS + number
    frame = FrameEvidence(ident, 0, "", None, None, symbols=(Symbol(clock_code(mark, int(at))),))
    return replace(frame, **evident(body, ident, at, counter)), at
