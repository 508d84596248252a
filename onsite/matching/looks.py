"""What a lane's frames show: who is there at all, and which say nothing, as the flash did not fire.

Looks never say who somebody is. Where the backdrop is far darker than in the rest of its run, the frame says
nothing about who is on it, neither by its colours nor by seeming empty. Where the dark lasts, the backdrop or
the light was changed on purpose, and no frame counts as a misfire.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from statistics import median_high

import numpy as np
from numpy.typing import NDArray

from onsite.core.colour_signature import NOBODY as NOBODY_THERE
from onsite.core.colour_signature import SignatureArrays, unpack_signatures
from onsite.matching.cut_runs import Run, places_of
from onsite.matching.evidence import FrameEvidence

_MOST_EMPTY = 0.5
"""Share of a lane's frames that can be empty; with more, the backdrop was misjudged."""
_FEW = 20
"""Frames of a lane that do not show that yet: in the morning all may be test shots."""
DARKER = 12.0
"""L* below the median from which on a backdrop is much darker; before one that is darker than this itself, no
misfire is seen. Our own choice: clothes, poses and light fall-off make smaller differences; a flash that
stays off in a lit room makes far larger ones."""
MOST_MISFIRES = 3
"""Largest number of consecutive misfires. Our own choice: by then somebody has looked up."""


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


def lane_looks(
    lanes: Sequence[Sequence[FrameEvidence]], without_light: Sequence[Collection[int]]
) -> list[LaneLooks]:
    """The looks of the frames of each lane, as signatures of one version. Frames at the places `without_light`
    say nothing, and never count as empty."""
    read = unpack_signatures(
        [
            None if place in dark else frame.look
            for frames, dark in zip(lanes, without_light, strict=True)
            for place, frame in enumerate(frames)
        ]
    )
    has_look, empty = read.presence >= NOBODY_THERE, read.empty
    read.stored[~has_look] = 0
    found, start = [], 0
    for frames in lanes:
        own = slice(start, start := start + len(frames))
        misjudged = len(frames) >= _FEW and empty[own].mean() > _MOST_EMPTY
        signatures = SignatureArrays(read.stored[own], read.presence[own])
        found.append(LaneLooks(signatures, has_look[own], empty[own] & (not misjudged)))
    return found


def flash_misfires(frames: Sequence[FrameEvidence], cut: Sequence[Run]) -> frozenset[int]:
    """The places in a lane of the frames in which the flash did not fire, slates included.

    Frames whose backdrop is unknown are left out. A slate counts only where it is darker than the lane's
    slates as well: some are always held up beside the light.
    """
    slates = frozenset(place for run in cut for place in places_of(run.after))
    typical = _median_backdrop(frames, slates)
    return frozenset(
        place
        for run in cut
        for place in _misfires(frames, run)
        if place not in slates or (typical is not None and _is_darker(frames[place], typical))
    )


def _misfires(frames: Sequence[FrameEvidence], cut_run: Run) -> Iterator[int]:
    """Misfires in a run and the slate before it. The slate after it may show that the light came back."""
    run = (*places_of(cut_run.before), *cut_run.frames)
    typical = _median_backdrop(frames, run)
    if typical is None:
        return
    dark: list[int] = []
    for place in (*run, *places_of(cut_run.after)):
        if _is_darker(frames[place], typical):
            dark.append(place)
        elif frames[place].backdrop is not None:
            if len(dark) <= MOST_MISFIRES:
                yield from dark
            dark = []
    if cut_run.after is None and len(dark) == 1:  # the camera's last frame: light may still come back
        yield from dark


def _is_darker(frame: FrameEvidence, typical: float) -> bool:
    return frame.backdrop is not None and frame.backdrop < typical - DARKER


def _median_backdrop(frames: Sequence[FrameEvidence], places: Iterable[int]) -> float | None:
    known = [lightness for place in places if (lightness := frames[place].backdrop) is not None]
    return median_high(known) if known else None
