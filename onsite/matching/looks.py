"""The looks of a lane's frames: how far apart they are, and which say nothing, as the flash did not fire.

Looks never say who somebody is. Where the backdrop is far darker than in the rest of its run, the frame says
nothing about who is on it, neither by its colours nor by seeming empty. Where the dark lasts, the backdrop or
the light was changed on purpose, and no frame counts as a misfire.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator, Sequence
from statistics import median_high

import numpy as np
from numpy.typing import NDArray

from onsite.core.colour_signature import NOBODY as NOBODY_THERE
from onsite.core.colour_signature import unpack_signatures
from onsite.matching.cut_runs import Run, places_of
from onsite.matching.evidence import FrameEvidence

NOBODY = 1.0
"""Distance between an empty backdrop and a person: the largest that there is."""
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

Array = NDArray[np.float32]


class ColourSignatures:
    """Colour signatures of one lane's frames, by place in the lane. Distances are Hellinger distances, 0 to
    1.

    Frames at the places `without_light` have no signature, and never count as empty.
    """

    def __init__(self, frames: Sequence[FrameEvidence], without_light: Collection[int] = ()) -> None:
        read = unpack_signatures(
            [None if place in without_light else frame.look for place, frame in enumerate(frames)]
        )
        have = read.presence >= NOBODY_THERE
        self._roots: Array = read.roots
        self._roots[~have] = 0.0
        self._means: dict[tuple[int, ...], Array | None] = {}
        empty = read.empty
        if len(frames) >= _FEW and empty.mean() > _MOST_EMPTY:
            empty = np.zeros_like(empty)
        self._empty: list[bool] = empty.tolist()
        self._without_light = frozenset(without_light)
        self._looked_at: list[bool] = (have | empty).tolist()
        self._has_look: list[bool] = have.tolist()
        self.steps = hellinger_distances(self._roots[:-1], self._roots[1:])
        """Distances from each frame to the next; NaN where either has no signature, `NOBODY` between
        a person and an empty backdrop."""
        self.steps[~(have[:-1] & have[1:])] = np.nan
        self.steps[empty[:-1] ^ empty[1:]] = NOBODY

    def looked_at(self, places: Sequence[int]) -> bool:
        """Whether the look of any of these frames says anything, if only that nobody is in it."""
        return any(self._looked_at[place] for place in places)

    def nobody(self, places: Sequence[int]) -> bool:
        """Whether nobody is in any of these frames, as far as they have a look. Never true in a lane where
        many frames seem empty: there the backdrop was misjudged."""
        return self.looked_at(places) and not any(
            self._looked_at[place] and not self._empty[place] for place in places
        )

    def has_look(self, places: Sequence[int]) -> bool:
        """Whether any of these frames has a colour signature."""
        return any(self._has_look[place] for place in places)

    def mean(self, places: Sequence[int]) -> Array | None:
        """The square roots of the mean shares of some frames; None where none of them has a signature."""
        key = tuple(places)
        if key not in self._means:
            self._means[key] = self._mean([place for place in places if self._has_look[place]])
        return self._means[key]

    def _mean(self, have: Sequence[int]) -> Array | None:
        if len(have) < 2:
            return self._roots[have[0]] if have else None
        in_a_row = have[-1] - have[0] == len(have) - 1
        rows = self._roots[have[0] : have[-1] + 1] if in_a_row else self._roots[have]
        found: Array = np.sqrt(np.einsum("ij,ij->j", rows, rows) / np.float32(len(have)))
        return found

    def distance(self, places: Sequence[int], others: Sequence[int]) -> float | None:
        """Distance between the mean signatures of two groups of frames; None where either has no signature.

        `NOBODY` where there is a person in one and only an empty backdrop in the other.
        """
        first, other = self.mean(places), self.mean(others)
        if first is not None and other is not None:
            return math.sqrt(max(1.0 - float(first @ other), 0.0))
        if first is None and other is None:
            return None
        missing = places if first is None else others
        seen = [place for place in missing if place not in self._without_light]
        return NOBODY if seen and all(self._empty[place] for place in seen) else None


def hellinger_distances(roots: Array, others: Array) -> NDArray[np.float64]:
    """Hellinger distances of one signature, (bins,), to many, (frames, bins), or of rows to rows. All
    are square roots of shares (`onsite.core.colour_signature.SignatureArrays`).

    0 where they are equal, 1 where they have no colour in common.
    After E. Hellinger, Journal für die reine und angewandte Mathematik 136 (1909), as statistics uses it.
    """
    return distances_from_products(np.asarray(np.einsum("...j,...j->...", roots, others)))


def distances_from_products(products: NDArray[np.float32]) -> NDArray[np.float64]:
    """Hellinger distances from the inner products of the square roots of shares."""
    distances: NDArray[np.float64] = np.sqrt(np.clip(1.0 - products.astype(np.float64), 0.0, 1.0))
    return distances


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
