"""Frames in which the flash did not fire: their backdrop is far darker than in the rest of their run.

Such a frame says nothing about who is on it, neither by its colours nor by seeming empty. Where the dark
lasts, the backdrop or the light was changed on purpose, and no frame counts as a misfire.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from statistics import median_high

from onsite.matching.cut_runs import Run, places_of
from onsite.matching.evidence import FrameEvidence

DARKER = 12.0
"""L* below the median from which on a backdrop is much darker; before one that is darker than this itself, no
misfire is seen. Our own choice: clothes, poses and light fall-off make smaller differences; a flash that
stays off in a lit room makes far larger ones."""

MOST = 3
"""Largest number of consecutive misfires. Our own choice: by then somebody has looked up."""


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
            if len(dark) <= MOST:
                yield from dark
            dark = []
    if cut_run.after is None and len(dark) == 1:  # the camera's last frame: light may still come back
        yield from dark


def _is_darker(frame: FrameEvidence, typical: float) -> bool:
    return frame.backdrop is not None and frame.backdrop < typical - DARKER


def _median_backdrop(frames: Sequence[FrameEvidence], places: Iterable[int]) -> float | None:
    known = [lightness for place in places if (lightness := frames[place].backdrop) is not None]
    return median_high(known) if known else None
