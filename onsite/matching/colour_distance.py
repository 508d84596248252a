"""Distances between the looks of a lane's frames. They never say who somebody is."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence

import numpy as np
from numpy.typing import NDArray

from onsite.core.colour_signature import NOBODY as NOBODY_THERE
from onsite.core.colour_signature import unpack_signatures
from onsite.matching.evidence import FrameEvidence

NOBODY = 1.0
"""Distance between an empty backdrop and a person: the largest that there is."""
_MOST_EMPTY = 0.5
"""Share of a lane's frames that can be empty; with more, the backdrop was misjudged."""
_FEW = 20
"""Frames of a lane that do not show that yet: in the morning all may be test shots."""

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
